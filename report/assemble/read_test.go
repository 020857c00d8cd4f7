package assemble

import (
	"context"
	"errors"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/wavfile"
	"humdiff/report/result"
	"humdiff/report/volts"
)

const rate = 4000

// hum is ten seconds of lines 1 and 3 at a level over a floor of -130 dBFS/Hz;
// at -Inf it is noise alone.
func hum(t *testing.T, f0, dBFS float64, seed int64) []float64 {
	t.Helper()
	c := bench.Comb{Rate: rate, Seconds: 10, Track: bench.Steady(f0), FloorDBFSHz: -130, Seed: seed}
	if !math.IsInf(dBFS, -1) {
		c.Lines = []bench.LineSpec{{Harmonic: 1, PowerDBFS: dBFS}, {Harmonic: 3, PowerDBFS: dBFS - 10}}
	}
	made, err := c.Make()
	if err != nil {
		t.Fatal(err)
	}
	return made.Samples
}

var noHum = math.Inf(-1)

func write(t *testing.T, name string, channels ...[]float64) capture.Address {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := wavfile.Write(path, wavfile.Format{Rate: rate, Bits: 24}, channels...); err != nil {
		t.Fatal(err)
	}
	return capture.Address{Path: path}
}

func readPair(t *testing.T, quiet, near capture.Address) []Pair {
	t.Helper()
	pairs, err := ReadPair(context.Background(), quiet, near, mains.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return pairs
}

func TestReadPairKnowsWhereItRead(t *testing.T) {
	q := write(t, "q.wav", hum(t, 50.02, -90, 1))
	n := write(t, "n.wav", hum(t, 50.02, -70, 2))
	n.Start, n.End = 1, 9
	p := readPair(t, q, n)[0]
	want := result.Side{File: n.Path, Channel: 1, StartS: 1, EndS: 9, RateHz: rate, Bits: 24}
	want.SHA256, _ = capture.Hash(context.Background(), n.Path)
	if p.Near.Side != want || len(want.SHA256) != 64 {
		t.Errorf("got %+v, want %+v", p.Near.Side, want)
	}
	d := Compare("", noVolt, []Pair{p}).Pairs[0].Hum.Delta
	if !(math.Abs(float64(d.DB)-20) < 0.3) {
		t.Errorf("hum delta %+v, want 20 dB", d)
	}
}

// 39 lines of 50.02 Hz reach up to half the rate less the window, 40 of 49.5:
// the totals must be over the same lines.
func TestReadPairHasTheSameLinesOnBothSides(t *testing.T) {
	for _, f := range [][2]float64{{49.5, 50.5}, {50.5, 49.5}} {
		pairs := readPair(t, write(t, "q.wav", hum(t, f[0], -90, 1)), write(t, "n.wav", hum(t, f[1], -70, 2)))
		q, n := pairs[0].Quiet, pairs[0].Near
		p := Compare("", noVolt, pairs).Pairs[0]
		if len(q.Lines)+len(n.Lines) != 79 || len(p.Lines) != 39 || p.Hum.Lines != 39 || p.Hum.Delta.State != result.Measured {
			t.Errorf("%v Hz: %d lines in quiet, %d in near, %d in both, hum %+v", f, len(q.Lines), len(n.Lines), len(p.Lines), p.Hum)
		}
	}
}

func TestReadPairSeeksLinesAroundTheOthersMains(t *testing.T) {
	with, without := write(t, "hum.wav", hum(t, 50.1, -80, 1)), write(t, "none.wav", hum(t, 50.1, noHum, 2))
	for name, p := range map[string]Pair{
		"quiet": readPair(t, without, with)[0],
		"near":  readPair(t, with, without)[0],
	} {
		lost, found := p.Quiet, p.Near
		if name == "near" {
			lost, found = found, lost
		}
		if lost.Mains.Detected || len(lost.Lines) != len(found.Lines) || len(lost.Lines) == 0 {
			t.Fatalf("%s: detected %v, %d lines; the other has %d", name, lost.Mains.Detected, len(lost.Lines), len(found.Lines))
		}
		if l := lost.Lines[0]; !(math.Abs(l.Hz-50.1) < 0.01) || l.Method != mains.MethodSearch || !(l.Limit > 0) {
			t.Errorf("%s: line 1 is %+v, want one sought at 50.1 Hz", name, l)
		}
		r := Compare("", noVolt, []Pair{p})
		if !slices.Contains(codes(r.Warnings), "mains_from_other") {
			t.Errorf("%s: warnings %v", name, codes(r.Warnings))
		}
		want := map[string]string{"quiet": result.AtLeast, "near": result.AtMost}[name]
		if got := r.Pairs[0].Lines[0].Delta.State; got != want {
			t.Errorf("%s: delta is %s, want %s", name, got, want)
		}
	}
}

func TestReadPairWithoutAnyMains(t *testing.T) {
	p := readPair(t, write(t, "q.wav", hum(t, 50, noHum, 1)), write(t, "n.wav", hum(t, 50, noHum, 2)))[0]
	r := Compare("", noVolt, []Pair{p})
	if p.Quiet.Mains.Detected || p.Near.Mains.Detected || !slices.Contains(codes(r.Warnings), "no_mains") {
		t.Errorf("warnings %v", codes(r.Warnings))
	}
}

// Four channels: the second silent everywhere, the third in quiet alone, the
// fourth missing in near.
func TestReadPairChoosesChannels(t *testing.T) {
	signal, silence := hum(t, 50, -80, 1), make([]float64, 10*rate)
	quiet := write(t, "q.wav", signal, silence, silence, signal)
	near := write(t, "n.wav", signal, silence, signal)
	channels := func(pairs []Pair) (c [][2]int) {
		for _, p := range pairs {
			c = append(c, [2]int{p.Quiet.Side.Channel, p.Near.Side.Channel})
		}
		return c
	}
	pairs := readPair(t, quiet, near)
	if got := channels(pairs); !slices.Equal(got, [][2]int{{1, 1}, {3, 3}}) {
		t.Errorf("got channels %v", got)
	}
	var said []string
	for _, w := range Compare("", noVolt, pairs).Warnings {
		if w.Code == "left_out" {
			said = append(said, filepath.Base(w.File)+": "+w.Message)
		}
	}
	if want := []string{
		"q.wav: Left out: channel 4, without a counterpart in near.",
		"n.wav: Left out: channel 2, silent from end to end, in quiet too.",
	}; !slices.Equal(said, want) {
		t.Errorf("got %q, want %q", said, want)
	}

	quiet.Channel = 4
	near.Channel = 1
	if got := channels(readPair(t, quiet, near)); !slices.Equal(got, [][2]int{{4, 1}}) {
		t.Errorf("quiet 4, near 1: got %v", got)
	}
	quiet.Channel = 0
	if got := channels(readPair(t, quiet, near)); !slices.Equal(got, [][2]int{{1, 1}}) {
		t.Errorf("near 1: got %v", got)
	}
	if p := Compare("", onVolts, pairs).Pairs[1]; p.Noise.QuietDBFS.Ok() || !p.Noise.NearDBFS.Ok() {
		t.Errorf("channel 3, silent in quiet: noise %+v", p.Noise)
	}
	// A silent channel that was asked for is measured: that it is silent is the result.
	quiet.Channel, near.Channel = 2, 2
	if r := Compare("", noVolt, readPair(t, quiet, near)); len(r.Pairs) != 1 || !slices.Contains(codes(r.Warnings), "silent") {
		t.Errorf("silence asked for: %d pairs, warnings %v", len(r.Pairs), codes(r.Warnings))
	}
}

func TestReadLeavesOutSilentChannels(t *testing.T) {
	addr := write(t, "q.wav", hum(t, 50, -80, 1), make([]float64, 10*rate))
	got, err := Read(context.Background(), []capture.Address{addr}, mains.Options{})
	if err != nil || len(got) != 1 || got[0].Side.Channel != 1 {
		t.Fatalf("%v, %d channels", err, len(got))
	}
	if w := Measure("", onVolts, got).Warnings; !slices.Contains(codes(w), "left_out") {
		t.Errorf("warnings %v", codes(w))
	}
}

func TestReadKeepsTheOrder(t *testing.T) {
	var captures []capture.Address
	for i := range 5 {
		captures = append(captures, write(t, "a.wav", hum(t, 50, -80, int64(i))))
	}
	got, err := Read(context.Background(), captures, mains.Options{})
	if err != nil || len(got) != len(captures) {
		t.Fatalf("%v, %d channels", err, len(got))
	}
	for i := range got {
		if got[i].Side.File != captures[i].Path {
			t.Errorf("capture %d is %s, want %s", i, got[i].Side.File, captures[i].Path)
		}
	}
}

func TestReadErrorsNameTheFile(t *testing.T) {
	good := write(t, "good.wav", hum(t, 50, -80, 1))
	short := write(t, "short.wav", make([]float64, rate/10))
	missing := capture.Address{Path: filepath.Join(t.TempDir(), "missing.wav")}
	for _, bad := range []capture.Address{short, missing} {
		for _, pair := range [][2]capture.Address{{good, bad}, {bad, good}} {
			_, err := ReadPair(context.Background(), pair[0], pair[1], mains.Options{})
			if err == nil || !strings.HasPrefix(err.Error(), bad.Path+": ") {
				t.Errorf("got %v, want an error that names %s", err, bad.Path)
			}
		}
		if _, err := Read(context.Background(), []capture.Address{good, bad}, mains.Options{}); err == nil || !strings.HasPrefix(err.Error(), bad.Path+": ") {
			t.Errorf("got %v, want an error that names %s", err, bad.Path)
		}
	}
}

func TestReadStopsWithItsContext(t *testing.T) {
	addr := write(t, "a.wav", hum(t, 50, -80, 1))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Read(ctx, []capture.Address{addr}, mains.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	if _, err := ReadPair(ctx, addr, addr, mains.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

func TestProgressAddsUp(t *testing.T) {
	addr := write(t, "a.wav", hum(t, 50, -80, 1))
	var last, most atomic.Int64
	_, err := ReadPair(context.Background(), addr, addr, mains.Options{Progress: func(done, total int64) {
		if done > total {
			t.Errorf("%d of %d frames", done, total)
		}
		last.Store(done)
		most.Store(total)
	}})
	if err != nil || last.Load() != 2*10*rate || most.Load() != 2*10*rate {
		t.Errorf("%v; ended at %d of %d frames, want %d", err, last.Load(), most.Load(), 2*10*rate)
	}
}

func TestSettingsSayWhatWasAsked(t *testing.T) {
	got := Settings(mains.Options{})
	if got.Mains != "auto" || got.UpToHz != 5000 || got.Window != "nuttall" || got.FullScaleVolts.Ok() || got.Confidence != 0.95 || got.WideMains {
		t.Errorf("default: %+v", got)
	}
	stated, err := volts.Stated("2.0V", "40dB")
	if err != nil {
		t.Fatal(err)
	}
	got = Settings(mains.Options{Nominal: 60, UpTo: 2000, Wide: true}, stated)
	if got.Mains != "60" || got.UpToHz != 2000 || math.Abs(float64(got.FullScaleVolts)-0.02) > 1e-12 || got.FullScaleSaid != "2.0V less 40 dB of gain" || !got.WideMains {
		t.Errorf("all said: %+v", got)
	}
}

// A residual without hum has its lines sought around near's mains, and says
// where they lie below; channels that near has and it hasn't are an error.
func TestReadResidual(t *testing.T) {
	near := [][]float64{hum(t, 50.02, -70, 2), hum(t, 50.02, -72, 3)}
	pairs := readPair(t, write(t, "q.wav", hum(t, 50.02, -90, 1), hum(t, 50.02, -91, 4)), write(t, "n.wav", near...))
	one := write(t, "residual.wav", hum(t, 50.02, noHum, 5))
	if err := ReadResidual(t.Context(), one, pairs, mains.Options{}); err != nil {
		t.Fatal(err)
	}
	for _, p := range Compare("v1", onVolts, pairs).Pairs {
		r := p.Residual
		if r == nil || r.File != one.Path || r.Mains.Detected || float64(r.AroundHz) != float64(p.Mains.NearHz) {
			t.Fatalf("residual of channel %d: %+v", p.Near.Channel, r)
		}
		if !(r.Hum.LimitDBFS < -110) || len(r.Lines) < len(p.Lines) {
			t.Errorf("%d lines, their total below %v dBFS", len(r.Lines), r.Hum.LimitDBFS)
		}
	}
	three := write(t, "three.wav", near[0], near[1], near[0])
	if err := ReadResidual(t.Context(), three, pairs, mains.Options{}); err != nil || pairs[1].Residual.Channel != 2 {
		t.Errorf("%v; near's channel 2 has the residual's %d", err, pairs[1].Residual.Channel)
	}
	pairs[1].Near.Channel = 4
	if err := ReadResidual(t.Context(), three, pairs, mains.Options{}); err == nil || !strings.Contains(err.Error(), "no channel 4") {
		t.Errorf("a channel that it hasn't: %v", err)
	}
}

// Of a file too short to measure its samples still say what they can.
func TestCheckTooShort(t *testing.T) {
	addr := write(t, "blip.wav", hum(t, 50.02, -20, 1)[:200])
	all, err := Check(t.Context(), []capture.Address{addr}, mains.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := CheckResult("v1", all)
	f := r.Files[0]
	if !strings.Contains(f.Problem.What, "too short") || len(f.Channels) != 1 {
		t.Fatalf("%+v", f)
	}
	// Two lines of -20 and -30 dBFS reach at most 20·lg(√2·(0.1+0.0316)) + 3 dB of full scale.
	if p := float64(f.Channels[0].Health.PeakDBFS); !(p > -20 && p < -14) || f.Channels[0].Mains.Detected {
		t.Errorf("peak %v, mains %+v", p, f.Channels[0].Mains)
	}
}
