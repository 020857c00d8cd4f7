package batch

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"humdiff/fft/capture"
	"humdiff/fft/estimate"
	"humdiff/fft/fault"
	"humdiff/fft/note"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
	"humdiff/report/model"
	"humdiff/report/session"
	"humdiff/report/wire"
)

const rate = 1000

// record writes a capture of one second whose channels stand still at values from
// -1 to 1.
func record(t testing.TB, path string, channels ...float64) {
	t.Helper()
	var samples [][]float64
	for _, x := range channels {
		samples = append(samples, slices.Repeat([]float64{x}, rate))
	}
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: rate, Bits: 24}, samples...))
}

// bench measures captures by their first sample: that is the amplitude of their hum,
// 0 is none, -1 nothing recorded.
type bench struct {
	measured atomic.Int64
	lines    int
	fails    string // a file that can't be measured
	before   func() // each measurement
}

func (x *bench) measure(ctx context.Context, at capture.Address, how How) (*model.Measure, error) {
	x.measured.Add(1)
	if x.before != nil {
		x.before()
	}
	if filepath.Base(at.Path) == x.fails {
		return nil, &fault.Error{File: at.Path, What: "it is torn", Hint: "record it again"}
	}
	f, err := capture.Open(at)
	if err != nil {
		return nil, err
	}
	hash, err := f.Hash(ctx)
	if err != nil {
		return nil, err
	}
	text, err := os.ReadFile(at.Path)
	if err != nil {
		return nil, err
	}
	m := &model.Measure{Head: model.Head{Schema: model.MeasureSchema}, Settings: settings(), Warnings: []model.Warning{
		{Note: note.New("scale_unknown")}, {Note: note.New("short", "seconds", 1), File: at.Path, Channel: 1}}}
	data := text[len(text)-6*rate:] // of two channels of 24 bits
	for ch := range 2 {
		level := float64(int32(uint32(data[3*ch])<<8|uint32(data[3*ch+1])<<16|uint32(data[3*ch+2])<<24)) / (1 << 31)
		if at.Channel != 0 && at.Channel != ch+1 || level == -1 {
			continue
		}
		m.Captures = append(m.Captures, x.capture(at, ch+1, hash, level, how.Around))
	}
	how.Progress(rate, rate)
	return m, ctx.Err()
}

func (x *bench) capture(at capture.Address, channel int, hash string, level, around float64) model.Capture {
	end := at.End
	if math.IsInf(end, 1) || end == 0 {
		end = 1
	}
	c := model.Capture{Side: model.Side{File: at.Path, Channel: channel, StartS: at.Start, EndS: end, RateHz: rate, Bits: 24, SHA256: hash, Decoded: fmt.Sprint(channel, level, at.Start, end)},
		Mains: model.Mains{Detected: level > 0, Hz: 50.02, NominalHz: 50}, AroundHz: model.None}
	if level == 0 {
		c.Mains.Hz, c.Decoded = model.None, fmt.Sprint(hash, at.Start) // noise is never twice the same
		if around > 0 {
			c.AroundHz = model.Num(around)
		}
	}
	for h := 1; h <= max(1, x.lines); h++ {
		c.Lines = append(c.Lines, model.Line{Harmonic: h, Hz: model.Num(50 * h), Level: estimate.Of(model.Places(20*math.Log10(math.Max(level, 1e-9)), 4), -200, 0)})
	}
	c.Trace.Hz, c.Trace.LoDBFS, c.Trace.HiDBFS = []model.Num{1, 2}, []model.Num{-3, -4}, []model.Num{-1, -2}
	return c
}

func settings() model.Settings { return model.Settings{Mains: "50", UpToHz: 1000, Window: "nuttall"} }

// sat is a session of a quiet run without hum and two near runs.
func sat(t testing.TB, roles string) (dir string, x *bench, open func() *Batch) {
	t.Helper()
	dir = t.TempDir()
	record(t, filepath.Join(dir, "q.wav"), 0, 0.001)
	record(t, filepath.Join(dir, "n1.wav"), 0.1, 0.002)
	record(t, filepath.Join(dir, "n2.wav"), 0.2, 0.003)
	list := "cable,condition,exposure,repeat,file\nGrebe,quiet,,1,q.wav#ch=1\nGrebe,near,beside,1,n1.wav#ch=1\nGrebe,near,beside,2,n2.wav#ch=1\n"
	os.WriteFile(filepath.Join(dir, "runs.csv"), []byte(list), 0o666)
	path := filepath.Join(dir, "session.toml")
	os.WriteFile(path, []byte("runs = 'runs.csv'\n"+roles), 0o666)
	x = &bench{}
	return dir, x, func() *Batch {
		f := kit.Must(session.Load(path))(t)
		store := kit.Must(NewStore(filepath.Join(dir, "kept"), "test"))(t)
		return &Batch{File: f, Settings: settings(), Measurer: x.measure, Store: store}
	}
}

func measure(t testing.TB, b *Batch) model.Sitting {
	t.Helper()
	kit.OK(t, b.Measure(t.Context()))
	s, _ := b.Sitting(t.Context())
	return s
}

// same takes absent numbers for equal, and empty lists.
var same = cmp.Options{
	cmpopts.EquateEmpty(),
	cmp.Comparer(func(a, b model.Num) bool { return a == b || !a.Ok() && !b.Ok() }),
	cmp.Comparer(func(a, b estimate.Estimate) bool { return a.String() == b.String() }),
}

// A run without hum is measured around the mains of its neighbour; the idle
// channel comes with the cable's; files are named as the session names them, and
// spectra aren't held.
func TestMeasure(t *testing.T) {
	_, _, open := sat(t, "[roles]\nidle_channel = 2\n")
	b := open()
	s := measure(t, b)
	q, n := s.Runs[0], s.Runs[1]
	if q.Capture.Mains.Detected || q.Capture.AroundHz != 50.02 {
		t.Errorf("quiet: %+v, around %v", q.Capture.Mains, q.Capture.AroundHz)
	}
	if n.Capture.Channel != 1 || n.IdleCapture == nil || n.IdleCapture.Channel != 2 || n.Capture.File != "n1.wav" || len(n.Capture.Trace.Hz) != 0 {
		t.Errorf("near: %+v, idle %+v", n.Capture, n.IdleCapture)
	}
	if v, ok := n.Capture.Lines[0].Level.Value(); !ok || math.Abs(v+20) > 1e-3 {
		t.Errorf("line 1 of near is %v", n.Capture.Lines[0].Level)
	}
	whole, err := b.Whole(t.Context(), 2)
	if err != nil || len(whole.Trace.Hz) == 0 || whole.File != "n1.wav" {
		t.Errorf("whole: %+v, %v", whole.Side, err)
	}
	_, said := b.Sitting(t.Context())
	if len(said) != 3 || said[1].File != "n1.wav" || said[0].Code != "short" {
		t.Errorf("warnings: %+v", said)
	}
}

// What was kept isn't measured again, and a changed file is; a torn or foreign
// entry counts as absent, another one's copied over its name too.
func TestKept(t *testing.T) {
	dir, x, open := sat(t, "")
	count := func(want int64, what string) model.Sitting {
		t.Helper()
		before := x.measured.Load()
		s := measure(t, open())
		if n := x.measured.Load() - before; n != want {
			t.Errorf("%d measured %s, want %d", n, what, want)
		}
		return s
	}
	first := count(4, "at first") // quiet twice: by itself, and around near's mains
	kit.Alike(t, first, count(0, "again"), same)
	record(t, filepath.Join(dir, "n2.wav"), 0.5, 0)
	changed := count(1, "after one file changed")
	all := kept(t, dir)
	for i, path := range all {
		switch i % 3 {
		case 0:
			os.WriteFile(path, []byte("12 a\n"), 0o666)
		case 1:
			os.Truncate(path, 1000)
		default:
			other, _ := os.ReadFile(all[(i+1)%len(all)])
			os.WriteFile(path, other, 0o666)
		}
	}
	again := measure(t, open())
	kit.Alike(t, changed, again, same)
	copied(t, all[0], all[1])
	copied(t, all[2], all[1])
	kit.Alike(t, changed, measure(t, open()), same)
}

func copied(t *testing.T, from, to string) {
	t.Helper()
	text, err := os.ReadFile(from)
	if err == nil {
		err = os.WriteFile(to, text, 0o666)
	}
	kit.OK(t, err)
}

func kept(t *testing.T, dir string) []string {
	t.Helper()
	return kit.Must(filepath.Glob(filepath.Join(dir, "kept", "*")))(t)
}

// Batches that run at once on one folder come to the same, and leave nothing
// half written.
func TestAtOnce(t *testing.T) {
	dir, _, open := sat(t, "")
	var all [4]*Batch
	var wait sync.WaitGroup
	for i := range all {
		all[i] = open()
		wait.Go(func() {
			if err := all[i].Measure(context.Background()); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	want, _ := all[0].Sitting(t.Context())
	for _, b := range all[1:] {
		got, _ := b.Sitting(t.Context())
		kit.Alike(t, want, got, same)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "kept", parts)); len(left) > 0 {
		t.Errorf("left %v", left)
	}
}

// A batch that is stopped keeps what it had measured.
func TestStopped(t *testing.T) {
	dir, x, open := sat(t, "")
	ctx, cancel := context.WithCancel(t.Context())
	b := open()
	b.Workers = 1
	x.before = func() {
		if x.measured.Load() == 3 {
			cancel()
		}
	}
	if err := b.Measure(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("not stopped: %v", err)
	}
	kit.Same(t, len(kept(t, dir)), 2, "kept")
	x.before = nil
	measure(t, open())
}

// What can't be measured is a failure and doesn't stop the rest; where files lie
// isn't told.
func TestFailures(t *testing.T) {
	dir, x, open := sat(t, "")
	x.fails = "n1.wav"
	b := open()
	s := measure(t, b)
	if f := b.Failures(); len(f) != 1 || f[0].Run != 2 || !strings.Contains(f[0].Err.Error(), "n1.wav") {
		t.Errorf("%+v", f)
	}
	r := s.Runs[1]
	if !r.Failed || r.Unused.Code != model.NotMeasured || r.Unused.Text("error") != "n1.wav: it is torn" || r.Unused.Text("hint") != "record it again" || s.Runs[2].Capture == nil {
		t.Errorf("%+v", r)
	}
	kit.Lacks(t, "the folder is in the sitting", fmt.Sprintf("%+v", s), dir)
}

// A run that is left out is measured where it can be, so that it can be said what
// would follow with it; where its file is gone that is no failure.
func TestLeftOut(t *testing.T) {
	dir, _, open := sat(t, "")
	b := open()
	b.File.Sitting.Runs[1].LeftOut, b.File.Sitting.Runs[2].LeftOut = "a door slammed", "a door slammed"
	os.Remove(filepath.Join(dir, "n2.wav"))
	s := measure(t, b)
	if len(b.Failures()) > 0 || s.Runs[1].Capture == nil || s.Runs[2].Capture != nil || s.Runs[2].Failed || s.Runs[2].Unused.Code != model.NotMeasured {
		t.Errorf("%+v, %+v", b.Failures(), s.Runs[2])
	}
}

// Which channel is the cable's has to be said where two carry a signal.
func TestWhichChannel(t *testing.T) {
	_, _, open := sat(t, "")
	b := open()
	b.File.Sitting.Runs[1].Address = "n1.wav"
	measure(t, b)
	if f := b.Failures(); len(f) != 1 || !strings.Contains(f[0].Err.Error(), "2 channels carry a signal") || !strings.Contains(fault.Hint(f[0].Err), "n1.wav#ch=1") {
		t.Errorf("%+v", f)
	}
}

// Two runs with one recording are refused before anything is judged, whatever
// their files are called and however they are stored; not where the spans lie
// apart, or one of them is left out.
func TestOneRecording(t *testing.T) {
	dir, _, open := sat(t, "")
	record(t, filepath.Join(dir, "n2.wav"), 0.1, 0.7) // the first channel is n1's
	b := open()
	err := b.Measure(t.Context())
	const want = "runs.csv: runs 2 and 3 (lines 3 and 4: Grebe, beside, near, repeat 1; Grebe, beside, near, repeat 2) are one recording: n1.wav and n2.wav hold the same samples"
	if err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	for _, apart := range []func(*Batch){
		func(b *Batch) { b.File.Sitting.Runs[2].LeftOut = "a copy" },
		func(b *Batch) {
			b.File.Sitting.Runs[1].Address, b.File.Sitting.Runs[2].Address = "n1.wav#t=0,0.5&ch=1", "n2.wav#t=0.5,1&ch=1"
		},
	} {
		b := open()
		apart(b)
		if err := b.Measure(t.Context()); err != nil {
			t.Error(err)
		}
	}
}

// A run may name a measurement made elsewhere, with the session's settings.
func TestElsewhere(t *testing.T) {
	dir, x, open := sat(t, "")
	m := kit.Must(x.measure(t.Context(), capture.Address{Path: filepath.Join(dir, "n1.wav"), Channel: 1}, How{Progress: func(_, _ int64) {}}))(t)
	put := func() {
		text := kit.Must(wire.Write(m))(t)
		os.WriteFile(filepath.Join(dir, "n1.json"), text, 0o666)
	}
	put()
	b := open()
	b.File.Sitting.Runs[1].Address, b.File.Sitting.Runs[1].Measured = "", "n1.json"
	if s := measure(t, b); s.Runs[1].Capture == nil || s.Runs[1].Failed {
		t.Errorf("%+v", s.Runs[1])
	}
	if whole, err := b.Whole(t.Context(), 2); err != nil || len(whole.Trace.Hz) == 0 {
		t.Errorf("%+v, %v", whole.Side, err)
	}
	m.Settings.UpToHz = 500
	put()
	measure(t, b)
	if f := b.Failures(); len(f) != 1 || !strings.Contains(f[0].Err.Error(), "lines up to 500 Hz") {
		t.Errorf("%+v", f)
	}
	os.WriteFile(filepath.Join(dir, "n1.json"), []byte(`{"schema":"humdiff/measure/1"}`), 0o666)
	measure(t, b)
	if f := b.Failures(); len(f) != 1 || !strings.Contains(f[0].Err.Error(), "it is no measurement") {
		t.Errorf("%+v", f)
	}
}

// What is held of many runs is their lines alone: of a thousand some 25 MiB.
func TestFlat(t *testing.T) {
	const runs, each = 200, 30 << 10
	dir, x, open := sat(t, "")
	x.lines = 100
	b := open()
	b.File.Sitting.Runs = nil
	for i := range runs {
		r := session.BlankRun()
		r.Number, r.Cable, r.Condition, r.Address = i+1, "Grebe", model.Quiet, fmt.Sprintf("q.wav#t=%g,%g&ch=1", float64(i)/runs, float64(i+1)/runs)
		b.File.Sitting.Runs = append(b.File.Sitting.Runs, r)
	}
	before := heap()
	measure(t, b)
	if n := len(b.Failures()); n > 0 {
		t.Fatal(b.Failures()[0].Err)
	}
	if held := heap() - before; held > runs*each {
		t.Errorf("%d bytes are held of each run of 100 lines", held/runs)
	}
	kit.Same(t, len(kept(t, dir)), runs, "kept")
	runtime.KeepAlive(b)
}

// heap is what is in use, bytes.
func heap() int64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

func TestKey(t *testing.T) {
	path := filepath.Join(t.TempDir(), "key.toml")
	made := kit.Must(NewKey(path, []string{"Grebe", "Grebe Mk II", "W", "Rail"}))(t)
	read, err := LoadKey(path, []string{"A", "D"})
	if d := cmp.Diff(made, read); err != nil || d != "" {
		t.Errorf("%v %s", err, d)
	}
	for _, cable := range []string{"E", "Grebe"} {
		if _, err := LoadKey(path, []string{"A", cable}); err == nil {
			t.Errorf("a key without the letter %q was taken", cable)
		}
	}
	if _, err := LoadKey(path+"x", nil); !errors.Is(err, os.ErrNotExist) {
		t.Error(err)
	}
	if _, err := NewKey(path, []string{"Grebe"}); err == nil {
		t.Error("a key was written over")
	}
	for _, cable := range []string{"A", "C"} {
		if _, err := NewKey(filepath.Join(t.TempDir(), "k"), []string{"Grebe", "Rail", cable}); err == nil {
			t.Errorf("a cable called %s was taken", cable)
		}
	}
}

// A session that was recorded blind, its cables letters, is judged with its key: as
// it is, or with the names.
func TestRecordedBlind(t *testing.T) {
	made := kit.Must(NewKey(filepath.Join(t.TempDir(), "key.toml"), []string{"Grebe", "Rail"}))(t)
	s := model.Session{Sitting: model.Sitting{Control: "B", Runs: []model.Run{{Cable: "A"}}, Claims: []model.Claim{{Cable: "B", Than: "A"}, {Cable: "A"}}},
		Passport: &model.CableNumbers{Runs: []model.DrivenRun{{DrivenRow: model.DrivenRow{Cable: "A"}}}, Cables: []model.CablePassport{{Cable: "A"}}}}
	blind, said := made.Blind(s)
	if !blind.Blind || blind.Runs[0].Cable != "A" || said.Text("sha256") != made.Hash || s.Blind {
		t.Errorf("blind: %+v, %+v", blind, said)
	}
	open, said := made.Open(s)
	a, b := made.Cables["A"], made.Cables["B"]
	if open.Blind || open.Runs[0].Cable != a || open.Control != b || open.Claims[0].Than != a || open.Claims[1].Than != "" || s.Runs[0].Cable != "A" ||
		open.Passport.Runs[0].Cable != a || open.Passport.Cables[0].Cable != a || s.Passport.Cables[0].Cable != "A" {
		t.Errorf("open: %+v", open)
	}
	kit.Alike(t, []string{a, b}, said.Get("cables"))
}
