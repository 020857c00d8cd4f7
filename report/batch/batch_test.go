package batch

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"humdiff/fixtures/bench"
	"humdiff/fixtures/wavfile"
	"humdiff/report/formula"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/verdict"
)

const rate = 4000

// record writes a capture whose channels hold hum at levels in dBFS.
func record(t testing.TB, path string, seed int64, levels ...float64) {
	t.Helper()
	var channels [][]float64
	for i, dbfs := range levels {
		c := bench.Comb{Rate: rate, Seconds: 6, Track: bench.Steady(50.02), FloorDBFSHz: -130, Seed: seed + int64(i)*1000}
		if dbfs > -200 {
			c.Lines = []bench.LineSpec{{Harmonic: 1, PowerDBFS: dbfs}, {Harmonic: 3, PowerDBFS: dbfs - 10}}
		}
		made, err := c.Make()
		if err != nil {
			t.Fatal(err)
		}
		channels = append(channels, made.Samples)
	}
	if err := wavfile.Write(path, wavfile.Format{Rate: rate, Bits: 24}, channels...); err != nil {
		t.Fatal(err)
	}
}

// sat is a session of a quiet run without hum, two near runs and a residual.
func sat(t testing.TB, roles string) (dir string, b func() *Batch) {
	t.Helper()
	dir = t.TempDir()
	record(t, filepath.Join(dir, "q.wav"), 1, -999, -999)
	record(t, filepath.Join(dir, "n1.wav"), 2, -80, -110)
	record(t, filepath.Join(dir, "n2.wav"), 3, -81, -110)
	text := "[bench]\nmains_hz = 50\nfull_scale = \"2.0V\"\n" + roles
	for i, r := range []string{"quiet\"\nfile = \"q.wav#ch=1", "near\"\nexposure = \"beside\"\nfile = \"n1.wav#ch=1", "near\"\nexposure = \"beside\"\nrepeat = 2\nfile = \"n2.wav#ch=1"} {
		text += fmt.Sprintf("[[run]]\nnote = \"%d\"\ncable = \"Grebe\"\ncondition = \"%s\"\n", i, r)
	}
	path := filepath.Join(dir, "session.toml")
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return dir, func() *Batch {
		s, err := session.Load(path)
		if err != nil {
			t.Fatal(err)
		}
		store, err := NewStore(filepath.Join(dir, "kept"), "test")
		if err != nil {
			t.Fatal(err)
		}
		b := &Batch{Session: s, Store: store, Version: "test"}
		b.Options.Nominal = 50
		if b.Scale, err = Calibrated(t.Context(), s); err != nil {
			t.Fatal(err)
		}
		return b
	}
}

func measure(t testing.TB, b *Batch) *Batch {
	t.Helper()
	if err := b.Measure(t.Context()); err != nil {
		t.Fatal(err)
	}
	return b
}

// A run without hum is measured around the mains of its neighbour; the idle
// channel comes with the cable's; voltages are on the session's scale; files are
// named as the session names them.
func TestMeasure(t *testing.T) {
	_, open := sat(t, "[roles]\nidle_channel = 2\n")
	b := measure(t, open())
	in := b.Input()
	q, n := in.Runs[0], in.Runs[1]
	if q.Capture.Mains.Detected || !(q.Capture.AroundHz > 50.01 && q.Capture.AroundHz < 50.03) {
		t.Errorf("quiet: %+v, around %v", q.Capture.Mains, q.Capture.AroundHz)
	}
	if n.Capture.Channel != 1 || n.Idle == nil || n.Idle.Channel != 2 || n.Capture.File != "n1.wav" {
		t.Errorf("near: %+v, idle %+v", n.Capture.Side, n.Idle)
	}
	if v := float64(n.Capture.Lines[0].Volts); !(v > 1.9e-4 && v < 2.1e-4) { // -80 dB of 2 V
		t.Errorf("line 1 of near is %g V", v)
	}
	if len(n.Capture.Trace.Hz) != 0 {
		t.Error("spectra are held")
	}
	whole, err := b.Capture(2)
	if err != nil || len(whole.Trace.Hz) == 0 || whole.File != "n1.wav" {
		t.Errorf("whole: %+v, %v", whole.Side, err)
	}
	if in.Session.Path != "session.toml" {
		t.Errorf("path %s", in.Session.Path)
	}
}

// What was kept isn't measured again, and a changed file is; a torn or foreign
// file counts as absent.
func TestKept(t *testing.T) {
	dir, open := sat(t, "")
	count := func(b *Batch) int {
		measured, mu := map[string]bool{}, sync.Mutex{}
		b.Progress = func(_, _ int64, what string) { mu.Lock(); measured[what] = true; mu.Unlock() }
		before := files(t, dir)
		measure(t, b)
		return len(files(t, dir)) - len(before)
	}
	if n := count(open()); n != 4 { // quiet twice: by itself, and around near's mains
		t.Errorf("%d kept at first", n)
	}
	first := open()
	if n := count(first); n != 0 {
		t.Errorf("%d kept at second", n)
	}
	record(t, filepath.Join(dir, "n2.wav"), 4, -75, -110)
	changed := open()
	if n := count(changed); n != 1 {
		t.Errorf("%d kept after one file changed", n)
	}
	if d := float64(changed.Input().Runs[2].Capture.Lines[0].DBFS); !(d > -75.2 && d < -74.8) {
		t.Errorf("the changed file reads %g dBFS", d)
	}
	for i, path := range files(t, dir) {
		if i%2 == 0 {
			os.WriteFile(path, []byte(`{"sha256":"","measure":{}}`), 0o666)
		} else {
			os.Truncate(path, 100)
		}
	}
	again := measure(t, open())
	if d := cmp.Diff(changed.Input().Runs, again.Input().Runs, sameNum); d != "" {
		t.Error(d)
	}
}

// sameNum takes absent numbers for equal.
var sameNum = cmp.Comparer(func(a, b result.Num) bool { return a == b || !a.Ok() && !b.Ok() })

func files(t *testing.T, dir string) []string {
	t.Helper()
	all, err := filepath.Glob(filepath.Join(dir, "kept", "*"))
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// Batches that run at once on one folder come to the same.
func TestAtOnce(t *testing.T) {
	dir, open := sat(t, "")
	var all [4]*Batch
	var wait sync.WaitGroup
	for i := range all {
		all[i] = open()
		wait.Add(1)
		go func() {
			defer wait.Done()
			if err := all[i].Measure(context.Background()); err != nil {
				t.Error(err)
			}
		}()
	}
	wait.Wait()
	for _, b := range all[1:] {
		if d := cmp.Diff(all[0].Input().Runs, b.Input().Runs, sameNum); d != "" {
			t.Error(d)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "kept", ".part-*")); len(left) > 0 {
		t.Errorf("left %v", left)
	}
}

// A batch that is stopped keeps what it had measured.
func TestStopped(t *testing.T) {
	dir, open := sat(t, "")
	ctx, cancel := context.WithCancel(t.Context())
	b := open()
	b.Workers = 1
	b.Progress = func(done, total int64, _ string) {
		if done > total/2 {
			cancel()
		}
	}
	if err := b.Measure(ctx); err == nil {
		t.Error("not stopped")
	}
	if n := len(files(t, dir)); n == 0 || n > 2 {
		t.Errorf("%d kept", n)
	}
	measure(t, open())
}

func TestFailures(t *testing.T) {
	dir, open := sat(t, "")
	os.WriteFile(filepath.Join(dir, "n1.wav"), []byte("no sound"), 0o666)
	b := measure(t, open())
	f := b.Failures()
	if len(f) != 1 || f[0].Run != 2 || !strings.Contains(f[0].Err.Error(), "n1.wav") || b.Input().Runs[2].Capture == nil || b.Input().Runs[1].Why == "" {
		t.Errorf("%+v", f)
	}
}

// A run that is left out is measured where it can be, so that it can be said what
// would follow with it; where its file is gone that is no failure.
func TestLeftOut(t *testing.T) {
	dir, open := sat(t, "")
	b := open()
	b.Session.Runs[1].LeftOut, b.Session.Runs[2].LeftOut = "a door slammed", "a door slammed"
	os.Remove(filepath.Join(dir, "n2.wav"))
	in := measure(t, b).Input()
	if len(b.Failures()) > 0 || in.Runs[1].Capture == nil || in.Runs[2].Capture != nil || in.Runs[2].Why == "" {
		t.Errorf("%+v, %+v", b.Failures(), in.Runs[2])
	}
	s := verdict.Judge(in)
	if s.Runs[1].Used || s.Runs[1].Capture == nil || s.Runs[2].Failed || s.Runs[2].LeftOut != "a door slammed" {
		t.Errorf("%+v, %+v", s.Runs[1], s.Runs[2])
	}
}

// Which channel is the cable's has to be said where two carry a signal.
func TestWhichChannel(t *testing.T) {
	_, open := sat(t, "")
	b := open()
	b.Session.Runs[1].Address.Channel = 0
	measure(t, b)
	if f := b.Failures(); len(f) != 1 || !strings.Contains(f[0].Err.Error(), "2 channels carry a signal") {
		t.Errorf("%+v", f)
	}
}

func TestKey(t *testing.T) {
	path := filepath.Join(t.TempDir(), "key.toml")
	cables := []string{"Grebe", "Grebe Mk II", "W", "Rail"}
	made, err := NewKey(path, cables)
	if err != nil {
		t.Fatal(err)
	}
	read, err := LoadKey(path, cables)
	if d := cmp.Diff(made, read); err != nil || d != "" {
		t.Errorf("%v %s", err, d)
	}
	if _, err := LoadKey(path, append(cables, "Egret")); err == nil {
		t.Error("a key without Egret's letter was taken")
	}
	h := made.hider(session.Session{})
	for said, want := range map[string]string{
		"grebe mk ii beside Grebe, W: wide (RAIL)": fmt.Sprintf("%s beside %s, %s: wide (%s)", made.letter("Grebe Mk II"), made.letter("Grebe"), made.letter("W"), made.letter("Rail")),
		"GrebeMkII, grebe_mk-ii":                   fmt.Sprintf("%s, %[1]s", made.letter("Grebe Mk II")),
		"é W é":                                    "é " + made.letter("W") + " é",
		"éWé, Ä":                                   "éWé, Ä",
	} {
		if got := h.text("here", said); got != want {
			t.Errorf("%q became %q, want %q", said, got, want)
		}
	}
	for _, cable := range []string{"A", "C"} {
		if _, err := NewKey(filepath.Join(t.TempDir(), "k"), []string{"Grebe", "Rail", cable}); err == nil {
			t.Errorf("a cable called %s was taken", cable)
		}
	}
}

// Nothing that people write about a session leaves part of a cable's name in a
// blind result, wherever they write it; what tells nothing stays. What the program
// reads of it, such as conditions, stays too, though a cable is called so.
func TestBlindTexts(t *testing.T) {
	dir, open := sat(t, "")
	cables := []string{"Grebe Mk2 cable", "Old Wire cable", "near cable"}
	key, err := NewKey(filepath.Join(dir, "key.toml"), cables)
	if err != nil {
		t.Fatal(err)
	}
	b := open()
	s := &b.Session
	s.Title = "The Grebe against an old wire: near and far"
	s.Bench.Notes, s.Bench.Photos = "MK2-plug loose; nothing wired; the cable lay flat", []string{"grebe.jpg"}
	s.Bench.Calibration = []string{"tone-grebe.wav=1V"}
	for i := range s.Runs {
		s.Runs[i].Cable = cables[0]
	}
	s.Runs[1].Note, s.Runs[2].LeftOut = "see n1.wav of Grebes", "wire moved"
	s.Runs[1].Exposure, s.Runs[2].Exposure = "on Grebe", "on wire"
	s.Claims = []session.Claim{{Name: "the grebe", Says: "Grebe Mk2 cable is best", By: "Grebe Ltd", Kind: session.Below, Cable: cables[0], Volts: 1, Termination: math.NaN(), Exposure: "on wire"}}
	os.WriteFile(filepath.Join(dir, "n2.wav"), []byte("no sound"), 0o666)
	s.Runs[2].LeftOut = ""
	in := measure(t, b).Input()
	in.Settings.Scales[0].Said = "2V by grebe"
	in.Settings.FullScaleSaid = in.Settings.Scales[0].Said
	in.Warnings = append(in.Warnings, result.Warning{Code: "scale_unknown", File: "n1.wav", Message: "n1.wav of Grebe Mk2 cable"})
	judged, partly := key.Judge(in)
	text, err := json.Marshal(judged)
	if err != nil {
		t.Fatal(err)
	}
	for _, word := range []string{"grebe", "mk2", "wire", "n1.wav", "n2.wav", dir} {
		if strings.Contains(strings.ToLower(string(text)), strings.ToLower(word)) {
			t.Errorf("%q is in the result", word)
		}
	}
	if judged.Runs[1].Condition != "near" || judged.Claims[0].Exposure != judged.Runs[2].Exposure || judged.Runs[1].Exposure == judged.Runs[2].Exposure {
		t.Errorf("%+v, %+v", judged.Runs[1], judged.Claims[0])
	}
	if want := "[…]-plug loose; nothing […]; the cable lay flat"; judged.Bench.Notes != want || !slices.Contains(partly, "the bench's notes") {
		t.Errorf("notes %q, partly %q", judged.Bench.Notes, partly)
	}
	if want := key.letter(cables[0]) + " is best"; judged.Claims[0].Says != want {
		t.Errorf("says %q, want %q", judged.Claims[0].Says, want)
	}
}

// A session that was recorded blind, its cables letters, is judged with its key:
// as it is, or with the names.
func TestRecordedBlind(t *testing.T) {
	dir, open := sat(t, "")
	made, err := NewKey(filepath.Join(dir, "key.toml"), []string{"Grebe", "Rail"})
	if err != nil {
		t.Fatal(err)
	}
	letter := made.letter("Grebe")
	b := open()
	for i := range b.Session.Runs {
		b.Session.Runs[i].Cable = letter
	}
	b.Session.Roles.Witness = letter
	b.Session.Claims = []session.Claim{{Name: "a", Kind: session.Below, Cable: letter, Volts: 1, Termination: math.NaN()}}
	key, err := LoadKey(filepath.Join(dir, "key.toml"), b.Session.Cables())
	if err != nil {
		t.Fatal(err)
	}
	in := measure(t, b).Input()
	if s, _ := key.Judge(in); s.Runs[0].Cable != letter || s.Witness != letter || s.Claims[0].Cable != letter {
		t.Errorf("blind: %+v", s.Runs[0])
	}
	open2 := key.Open(in)
	if s := verdict.Judge(open2); s.Runs[0].Cable != "Grebe" || s.Witness != "Grebe" || s.Claims[0].Cable != "Grebe" || in.Session.Runs[0].Cable != letter {
		t.Errorf("open: %+v", s.Runs[0])
	}
}

// Names of captures and what they tell; "common practice, no source".
func TestGuess(t *testing.T) {
	for name, c := range map[string]struct{ files, want []string }{
		"one of each": {
			[]string{"Grebe_4k7ohm_near_wrapped_02", "grebe-open-quiet", "Rail 20R dead p2", "residual", "Rail 4.7kohm near loaded isolated"},
			[]string{"Grebe, 4700 ohms, wrapped, near, repeat 2", "Rail, 20 ohms, beside, dead, repeat 1", "grebe, open, quiet, repeat 1", "residual, repeat 1",
				"Rail, 4700 ohms, beside, near, repeat 1"}},
		"names of several words": {
			[]string{"grebe-mk2-1.5m-quiet", "grebe-mk2-1.5m-window-near", "rail-twin-quiet-laid-beside", "rail-twin-near-laid-beside"},
			[]string{"grebe mk2 1.5m, quiet, repeat 1", "grebe mk2 1.5m, window, near, repeat 1", "rail twin, laid beside, quiet, repeat 1", "rail twin, laid beside, near, repeat 1"}},
		"the cable comes last": {
			[]string{"quiet grebe mk2 1", "near across grebe mk2 1"},
			[]string{"grebe mk2, quiet, repeat 1", "grebe mk2, across, near, repeat 1"}},
		"no formulas": {
			[]string{"=grebe quiet", "+grebe near @home"},
			[]string{"grebe, quiet, repeat 1", "grebe, home, near, repeat 1"}},
		"dates are no repeats": {
			[]string{"20260302_0915 grebe quiet", "run017 20260302_0917 grebe near"},
			[]string{"grebe, quiet, repeat 1", "grebe, beside, near, repeat 1"}},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			os.WriteFile(filepath.Join(dir, "notes.txt"), nil, 0o666)
			for _, file := range c.files {
				record(t, filepath.Join(dir, file+".wav"), 1, -90)
			}
			s, err := Guess(dir, false)
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, r := range s.Runs {
				got = append(got, r.Name())
				if r.Start.IsZero() != slices.Contains(r.Guessed, session.StartKey) {
					t.Errorf("%s: start %v, guessed %v", r.Name(), r.Start, r.Guessed)
				}
			}
			slices.Sort(got)
			slices.Sort(c.want)
			if d := cmp.Diff(c.want, got); d != "" {
				t.Error(d)
			}
			if err := session.Write(s); err != nil {
				t.Fatal(err)
			}
			text, err := os.ReadFile(filepath.Join(dir, s.RunsFile))
			if err != nil {
				t.Fatal(err)
			}
			for cell := range strings.FieldsFuncSeq(string(text), func(r rune) bool { return r == ',' || r == '\n' }) {
				if formula.Opens(cell) {
					t.Errorf("a spreadsheet takes %q for a formula", cell)
				}
			}
		})
	}
}

// Order comes from the captures' metadata where all hold it; from when files were
// last changed only where it's asked for, and they can't all be copies.
func TestGuessOrder(t *testing.T) {
	dir := t.TempDir()
	at := time.Date(2026, 3, 2, 10, 0, 0, 0, time.Local)
	names := []string{"c quiet.wav", "a near.wav", "b quiet.wav"} // as recorded, 6 s each
	for i, name := range names {
		path := filepath.Join(dir, name)
		record(t, path, 1, -90)
		if err := os.Chtimes(path, at, at.Add(time.Duration(i)*time.Minute)); err != nil {
			t.Fatal(err)
		}
	}
	order := func(s session.Session) (all []string) {
		for _, r := range s.Runs {
			all = append(all, r.Address.Path)
		}
		return all
	}
	s, err := Guess(dir, false)
	if err != nil || !slices.IsSorted(order(s)) || len(s.Guessed()) == 0 || s.Missing()[len(s.Missing())-1] != (session.KeyCount{Key: "start", Runs: 3}) {
		t.Errorf("%v, %v, missing %v", order(s), err, s.Missing())
	}
	if s, err = Guess(dir, true); err != nil || !slices.Equal(order(s), names) {
		t.Errorf("%v, %v", order(s), err)
	}
	if r := s.Runs[1]; !r.Start.Equal(time.Date(2026, 3, 2, 10, 0, 54, 0, time.UTC)) || !slices.Contains(r.Guessed, session.StartKey) {
		t.Errorf("%v, %v", r.Start, r.Guessed)
	}
	os.Chtimes(filepath.Join(dir, names[1]), at, at.Add(time.Second))
	if _, err = Guess(dir, true); err == nil || !strings.Contains(err.Error(), "of copies") {
		t.Errorf("copies were taken for recordings: %v", err)
	}
	for i, name := range names {
		c, err := bench.Comb{Rate: rate, Seconds: 6, Track: bench.Steady(50), FloorDBFSHz: -130}.Make()
		if err != nil {
			t.Fatal(err)
		}
		f := wavfile.Format{Rate: rate, Bits: 24, Before: []wavfile.Chunk{wavfile.Broadcast{Began: at.Add(time.Duration(i) * time.Minute)}.Chunk()}}
		if err := wavfile.Write(filepath.Join(dir, name), f, c.Samples); err != nil {
			t.Fatal(err)
		}
	}
	s, err = Guess(dir, false)
	if err != nil || !slices.Equal(order(s), names) || slices.Contains(s.Runs[0].Guessed, session.StartKey) {
		t.Errorf("%v, %v", order(s), err)
	}
}

// A batch of 100 pairs of 10 s, 48 kHz stereo. Its peak memory is that of as
// many captures as are measured at once.
func BenchmarkHundredPairs(b *testing.B) {
	dir := b.TempDir()
	text := "[bench]\nmains_hz = 50\n[roles]\nidle_channel = 2\n"
	for i := range 200 {
		name := fmt.Sprintf("c%d.wav", i)
		c, err := bench.Comb{Rate: 48000, Seconds: 10, Track: bench.Steady(50.02), FloorDBFSHz: -140, Seed: int64(i % 8),
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -90 + 20*float64(i%2)}, {Harmonic: 3, PowerDBFS: -100}}}.Make()
		if err != nil {
			b.Fatal(err)
		}
		c.Samples[i] += 1e-4 // so that no two are alike
		if err := wavfile.Write(filepath.Join(dir, name), wavfile.Format{Rate: 48000, Bits: 24}, c.Samples, c.Samples); err != nil {
			b.Fatal(err)
		}
		kind := "quiet\""
		if i%2 == 1 {
			kind = "near\"\nexposure = \"beside\""
		}
		text += fmt.Sprintf("[[run]]\ncable = \"Grebe\"\ncondition = %q\nrepeat = %d\nfile = %q\n", "", i/2+1, name)
		text = strings.Replace(text, `condition = ""`, `condition = "`+kind, 1)
	}
	path := filepath.Join(dir, "session.toml")
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		b.Fatal(err)
	}
	s, err := session.Load(path)
	if err != nil {
		b.Fatal(err)
	}
	runtime.GC()
	for n := 0; b.Loop(); n++ {
		store, err := NewStore(filepath.Join(dir, fmt.Sprint("kept", n)), "test")
		if err != nil {
			b.Fatal(err)
		}
		x := &Batch{Session: s, Store: store}
		peak := watch()
		measure(b, x)
		b.ReportMetric(float64(peak())/(1<<20), "MiB-peak-heap")
		if len(x.Failures()) > 0 {
			b.Fatal(x.Failures()[0].Err)
		}
	}
}

// watch follows the heap in use until its result is called, which is the most.
func watch() func() uint64 {
	stop, done := make(chan bool), make(chan uint64)
	go func() {
		var most uint64
		for {
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapSys-m.HeapReleased)
			select {
			case <-stop:
				done <- most
				return
			case <-time.After(20 * time.Millisecond):
			}
		}
	}()
	return func() uint64 { close(stop); return <-done }
}
