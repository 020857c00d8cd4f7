package measure

import (
	"context"
	"errors"
	"math"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/estimate"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
	"humdiff/report/model"
)

// hum is ten seconds of lines 1 and 3 at a level over a floor of -130 dBFS/Hz;
// at -Inf it is noise alone.
func hum(t *testing.T, f0, dBFS float64, seed int64) []float64 {
	t.Helper()
	c := bench.Comb{Rate: rate, Seconds: 10, Track: bench.Steady(f0), FloorDBFSHz: -130, Seed: seed}
	if !math.IsInf(dBFS, -1) {
		c.Lines = []bench.LineSpec{{Harmonic: 1, PowerDBFS: dBFS}, {Harmonic: 3, PowerDBFS: dBFS - 10}}
	}
	made := kit.Must(c.Make())(t)
	return made.Samples
}

var noHum = math.Inf(-1)

func write(t *testing.T, name string, channels ...[]float64) capture.Address {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: rate, Bits: 24}, channels...))
	return capture.Address{Path: path}
}

func pairOf(t *testing.T, quiet, near capture.Address) []Sides {
	t.Helper()
	return kit.Must(Pair(t.Context(), quiet, near, Options{}))(t)
}

// leftOut is what is said of channels that are in no result: file, why, which.
func leftOut(list []model.Warning) (said []string) {
	for _, w := range list {
		if w.Code == "left_out" {
			said = append(said, filepath.Base(w.File)+" "+w.Text("why"))
		}
	}
	return said
}

func TestPairKnowsWhereItRead(t *testing.T) {
	q := write(t, "q.wav", hum(t, 50.02, -90, 1))
	n := write(t, "n.wav", hum(t, 50.02, -70, 2))
	n.Start, n.End = 1, 9
	got := pairOf(t, q, n)[0].Near
	want := model.Side{File: n.Path, Channel: 1, StartS: 1, EndS: 9, RateHz: rate, Bits: 24}
	want.SHA256, _ = capture.Hash(context.Background(), n.Path)
	want.Decoded, want.Sketch = got.Decoded, got.Sketch
	if !reflect.DeepEqual(got.Side, want) || got.Decoded == "" || got.Sketch.Seconds() < 6 || len(want.SHA256) != 64 {
		got.Sketch.Data, want.Sketch.Data = nil, nil
		t.Errorf("got %+v, want %+v", got.Side, want)
	}
}

// Where the mains was found on one side alone, the other's lines are sought
// around it, and are as many.
func TestPairSeeksLinesAroundTheOthersMains(t *testing.T) {
	with, without := write(t, "hum.wav", hum(t, 50.1, -80, 1)), write(t, "none.wav", hum(t, 50.1, noHum, 2))
	for _, p := range []Sides{pairOf(t, without, with)[0], pairOf(t, with, without)[0]} {
		lost, found := p.Quiet, p.Near
		if lost.Mains.Detected {
			lost, found = found, lost
		}
		if lost.Mains.Detected || len(lost.Lines) != len(found.Lines) || len(lost.Lines) == 0 || lost.AroundHz != found.Mains.Hz {
			t.Fatalf("detected %v, %d lines around %v; the other has %d of %v", lost.Mains.Detected, len(lost.Lines), lost.AroundHz, len(found.Lines), found.Mains.Hz)
		}
		_, bounded := lost.Lines[0].Level.Upper()
		if l := lost.Lines[0]; !(math.Abs(float64(l.Hz)-50.1) < 0.01) || l.Method != mains.MethodSearch || !bounded || l.Level.Measured() {
			t.Errorf("line 1 is %+v, want one sought at 50.1 Hz", l)
		}
	}
}

// Four channels: the second silent everywhere, the third in quiet alone, the
// fourth missing in near.
func TestPairChoosesChannels(t *testing.T) {
	signal, silence := hum(t, 50, -80, 1), make([]float64, 10*rate)
	quiet := write(t, "q.wav", signal, silence, silence, signal)
	near := write(t, "n.wav", signal, silence, signal)
	channels := func(pairs []Sides) (c [][2]int) {
		for _, p := range pairs {
			c = append(c, [2]int{p.Quiet.Channel, p.Near.Channel})
		}
		return c
	}
	pairs := pairOf(t, quiet, near)
	if got := channels(pairs); !slices.Equal(got, [][2]int{{1, 1}, {3, 3}}) {
		t.Errorf("got channels %v", got)
	}
	if got, want := leftOut(pairs[0].Warnings), []string{"q.wav no_counterpart_in_near", "n.wav silent_in_both"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if q, n := pairs[1].Quiet.Noise, pairs[1].Near.Noise; q.DBFS.Ok() || !n.DBFS.Ok() || q.BandHz != n.BandHz {
		t.Errorf("channel 3, silent in quiet: noise %+v, %+v", q, n)
	}
	quiet.Channel, near.Channel = 4, 1
	if got := channels(pairOf(t, quiet, near)); !slices.Equal(got, [][2]int{{4, 1}}) {
		t.Errorf("quiet 4, near 1: got %v", got)
	}
	quiet.Channel = 0
	if got := channels(pairOf(t, quiet, near)); !slices.Equal(got, [][2]int{{1, 1}}) {
		t.Errorf("near 1: got %v", got)
	}
	// A silent channel that was asked for is measured: that it is silent is the result.
	quiet.Channel, near.Channel = 2, 2
	if p := pairOf(t, quiet, near); len(p) != 1 || !p[0].Near.Health.Silent {
		t.Errorf("silence asked for: %d pairs", len(p))
	}
}

// Noise is that of the band which captures of two rates both have.
func TestPairOfTwoRates(t *testing.T) {
	quiet, near := write(t, "q.wav", hum(t, 50, -80, 1)), write(t, "n.wav", hum(t, 50, -80, 2))
	kit.OK(t, wavfile.Write(near.Path, wavfile.Format{Rate: 2 * rate, Bits: 24}, hum(t, 50, -80, 2)))
	p := pairOf(t, quiet, near)[0]
	if want := [2]float64{20, 0.49 * rate}; p.Quiet.Noise.BandHz != want || p.Near.Noise.BandHz != want {
		t.Errorf("bands %v and %v, want %v", p.Quiet.Noise.BandHz, p.Near.Noise.BandHz, want)
	}
}

// A residual without hum has its lines sought around near's mains; channels that
// near has and it hasn't are an error.
func TestResidual(t *testing.T) {
	near := [][]float64{hum(t, 50.02, -70, 2), hum(t, 50.02, -72, 3)}
	pairs := pairOf(t, write(t, "q.wav", hum(t, 50.02, -90, 1), hum(t, 50.02, -91, 4)), write(t, "n.wav", near...))
	one := write(t, "residual.wav", hum(t, 50.02, noHum, 5))
	kit.OK(t, Residual(t.Context(), one, pairs, Options{}))
	for _, p := range pairs {
		r := p.Residual
		limit, _ := r.Hum.Level.Upper()
		if r.File != one.Path || r.Mains.Detected || r.AroundHz != p.Near.Mains.Hz || !(limit < -110) || len(r.Lines) < len(p.Near.Lines) {
			t.Fatalf("residual of channel %d: %+v", p.Near.Channel, r)
		}
	}
	three := write(t, "three.wav", near[0], near[1], near[0])
	if err := Residual(t.Context(), three, pairs, Options{}); err != nil || pairs[1].Residual.Channel != 2 {
		t.Errorf("%v; near's channel 2 has the residual's %d", err, pairs[1].Residual.Channel)
	}
	pairs[1].Near.Channel = 4
	if err := Residual(t.Context(), three, pairs, Options{}); err == nil || !strings.Contains(err.Error(), "no channel 4") {
		t.Errorf("a channel that it hasn't: %v", err)
	}
}

func TestCapturesKeepTheirOrderAndLeaveOutSilence(t *testing.T) {
	var captures []capture.Address
	for i := range 4 {
		captures = append(captures, write(t, "a.wav", hum(t, 50, -80, int64(i)), make([]float64, 10*rate)))
	}
	got, said, err := Captures(t.Context(), captures, Options{})
	if err != nil || len(got) != len(captures) || len(leftOut(said)) != len(captures) {
		t.Fatalf("%v, %d captures, %v", err, len(got), said)
	}
	for i := range got {
		if got[i].File != captures[i].Path || got[i].Channel != 1 || len(got[i].SHA256) != 64 {
			t.Errorf("capture %d is %+v, want %s", i, got[i].Side, captures[i].Path)
		}
	}
	lines, _, err := Captures(t.Context(), captures[:1], Options{LinesOnly: true})
	if err != nil || lines[0].SHA256 != "" || lines[0].Noise.DBFS.Ok() || len(lines[0].Trace.Hz) > 0 || lines[0].Hum.Level != got[0].Hum.Level {
		t.Errorf("lines alone: %+v, %v", lines[0].Hum, err)
	}
}

// More channels than are measured at a time: each says the same as alone, and twins
// are found however far they lie apart.
func TestManyChannels(t *testing.T) {
	var channels [][]float64
	for i := range together + 2 {
		channels = append(channels, hum(t, 50, -80+float64(i), int64(i)))
	}
	channels[together+1] = channels[0]
	addr := write(t, "many.wav", channels...)
	got, said, err := Captures(t.Context(), []capture.Address{addr}, Options{})
	if err != nil || len(got) != together+2 {
		t.Fatalf("%d channels, %v", len(got), err)
	}
	addr.Channel = together + 1
	alone, _, err := Captures(t.Context(), []capture.Address{addr}, Options{})
	if err != nil || !reflect.DeepEqual(alone[0].Lines[0].Level, got[together].Lines[0].Level) {
		t.Errorf("channel %d: %v, alone %v (%v)", together+1, got[together].Lines[0].Level, alone[0].Lines[0].Level, err)
	}
	if at := got[together+1]; at.Health.SameAs != 1 || at.Channel != together+2 || len(at.SHA256) != 64 {
		t.Errorf("the last: %+v, same as %d", at.Side, at.Health.SameAs)
	}
	twins := slices.DeleteFunc(said, func(w model.Warning) bool { return w.Code != "channels_identical" })
	if len(twins) != 1 || twins[0].Channel != together+2 || twins[0].Num("channel") != 1 {
		t.Errorf("said %v", twins)
	}
}

func TestErrorsNameTheFile(t *testing.T) {
	good := write(t, "good.wav", hum(t, 50, -80, 1))
	short := write(t, "short.wav", make([]float64, rate/10))
	missing := capture.Address{Path: filepath.Join(t.TempDir(), "missing.wav")}
	for _, bad := range []capture.Address{short, missing} {
		for _, pair := range [][2]capture.Address{{good, bad}, {bad, good}} {
			if _, err := Pair(t.Context(), pair[0], pair[1], Options{}); err == nil || !strings.HasPrefix(err.Error(), bad.Path+": ") {
				t.Errorf("got %v, want an error that names %s", err, bad.Path)
			}
		}
		if _, _, err := Captures(t.Context(), []capture.Address{good, bad}, Options{}); err == nil || !strings.HasPrefix(err.Error(), bad.Path+": ") {
			t.Errorf("got %v, want an error that names %s", err, bad.Path)
		}
	}
}

func TestReadingStopsWithItsContext(t *testing.T) {
	addr := write(t, "a.wav", hum(t, 50, -80, 1))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Pair(ctx, addr, addr, Options{})
	_, _, alone := Captures(ctx, []capture.Address{addr}, Options{})
	_, _, checked := Check(ctx, []capture.Address{addr}, Options{})
	for _, err := range []error{err, alone, checked} {
		if !errors.Is(err, context.Canceled) {
			t.Errorf("got %v", err)
		}
	}
}

func TestProgressAddsUp(t *testing.T) {
	var many [][]float64
	for range together + 1 {
		many = append(many, hum(t, 50, -80, 1))
	}
	for _, addr := range []capture.Address{write(t, "a.wav", many[0]), write(t, "many.wav", many...)} {
		var last, most atomic.Int64
		opt := Options{}
		opt.Progress = func(done, total int64) {
			if done > total {
				t.Errorf("%d of %d frames", done, total)
			}
			last.Store(done)
			most.Store(total)
		}
		_, err := Pair(t.Context(), addr, addr, opt)
		if err != nil || last.Load() != 2*10*rate || most.Load() != 2*10*rate {
			t.Errorf("%v; ended at %d of %d frames, want %d", err, last.Load(), most.Load(), 2*10*rate)
		}
	}
}

// Of a file too short to measure its samples still say what they can; one that
// isn't there stops nothing.
func TestCheck(t *testing.T) {
	blip := write(t, "blip.wav", hum(t, 50.02, -20, 1)[:200])
	sound := write(t, "sound.wav", hum(t, 50.02, -20, 1))
	missing := capture.Address{Path: filepath.Join(t.TempDir(), "missing.wav")}
	files, _, err := Check(t.Context(), []capture.Address{blip, missing, sound}, Options{})
	kit.OK(t, err)
	f := files[0]
	if !strings.Contains(f.Problem.What, "too short") || len(f.Channels) != 1 || len(f.SHA256) != 64 {
		t.Fatalf("%+v", f)
	}
	// Two lines of -20 and -30 dBFS reach at most 20·lg(√2·(0.1+0.0316)) + 3 dB of full scale.
	if p := float64(f.Channels[0].Health.PeakDBFS); !(p > -20 && p < -14) || f.Channels[0].Mains.Detected {
		t.Errorf("peak %v, mains %+v", p, f.Channels[0].Mains)
	}
	if f := files[1]; f.File != missing.Path || f.Problem.What == "" || f.RateHz.Ok() || len(f.Channels) != 0 {
		t.Errorf("missing: %+v", f)
	}
	if f := files[2]; f.Problem.What != "" || f.RateHz != rate || f.FileS != 10 || !f.Channels[0].Mains.Detected {
		t.Errorf("sound: %+v", f)
	}
}

// A survey of hum that rises by 20 dB after 10 s: two spans, the second the
// loudest, with an address that compare can read.
func TestTrend(t *testing.T) {
	x := append(hum(t, 50.02, -90, 1), hum(t, 50.02, -70, 2)...)
	addr := write(t, "survey.wav", x)
	all, said, err := Trend(t.Context(), addr, []int{3}, Options{})
	if err != nil || len(all) != 1 || len(said) > 0 && said[0].Code == "no_mains" {
		t.Fatalf("%v, %v", err, said)
	}
	c := all[0]
	if len(c.Spans) != 2 || c.Loudest != 1 || len(c.Steps) < 95 || len(c.Steps[0].Lines) != 1 {
		t.Fatalf("%+v, loudest %d, %d steps", c.Spans, c.Loudest, len(c.Steps))
	}
	kit.Near(t, "edge", float64(c.Spans[0].EndS), 10, 0.4)
	hum, _ := c.Spans[1].Hum.Value()
	third, _ := c.Spans[1].Lines[0].Value()
	kit.Near(t, "hum", hum, -70+10*math.Log10(1.1), 0.1)
	kit.Near(t, "line 3", third, -80, 0.1)
	if a, err := capture.ParseAddress(c.Spans[1].Address); err != nil || a.Path != addr.Path || a.Start < 10 || a.Channel != 1 {
		t.Errorf("address %s, %v", c.Spans[1].Address, err)
	}
}

func TestNotesComeOnce(t *testing.T) {
	var all [][]model.Warning
	for range 2 {
		all = append(all, at(model.Side{File: "a.wav"}, note.New("open_size", "read_s", math.NaN())),
			at(model.Side{File: "a.wav", Channel: 2}, note.New("clipped", "samples", 3), note.New("clipped", "samples", 4)))
	}
	if got := model.Once(all...); len(got) != 3 {
		t.Errorf("%v", got)
	}
}

// A mains of which no line was found, or one far weaker than the other capture's at another
// frequency, may be noise's; the other's own, and a strong second comb, aren't.
func TestPerhapsNoise(t *testing.T) {
	side := func(hz float64, hum model.Estimate) *channel {
		c := &channel{mainsHz: hz}
		c.Hum.Level = hum
		return c
	}
	at := func(dbfs float64) model.Estimate { return estimate.Of(dbfs, dbfs-1, dbfs+1) }
	near, none := side(50.01, at(-80)), side(0, estimate.Below(-120.))
	for _, c := range []struct {
		what  string
		quiet *channel
		want  bool
	}{
		{"no line", side(59.98, estimate.Below(-120.)), true},
		{"far weaker", side(59.98, at(-115)), true},
		{"a display", side(59.94, at(-85)), false},
		{"the same mains, weaker", side(50.02, at(-115)), false},
		{"none", none, false},
	} {
		if c.quiet.perhapsNoise(near) != c.want {
			t.Errorf("%s: perhaps noise is %t", c.what, !c.want)
		}
	}
	if !side(59.98, estimate.Below(-120.)).perhapsNoise(none) || side(59.98, at(-115)).perhapsNoise(none) {
		t.Error("beside none, a mains with a line found is kept, one without isn't")
	}
}
