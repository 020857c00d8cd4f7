package health_test

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/health"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/trials"
)

// draw makes a sound capture: rate, depth, hum, floor and its shape, all
// as benches have them.
func draw(t *testing.T, seed uint64, seconds float64) *bench.Capture {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 42))
	pick := func(x ...float64) float64 { return x[r.IntN(len(x))] }
	c := bench.Comb{
		Rate: pick(8000, 44100, 48000, 96000), Seconds: seconds, RandomPhase: true, Seed: int64(seed),
		Track:       bench.Track{Hz: 50 + 0.02*r.NormFloat64(), WanderHz: 0.02, WanderSeconds: 20},
		FloorDBFSHz: -155 + 40*r.Float64(),
		Shape:       bench.Shape{CornerHz: pick(0, 0, 20, 200), LowCutHz: pick(0, 0, 5, 20)},
		Bits:        int(pick(0, 16, 24, 24)), DC: pick(0, 1e-4, -3e-3),
	}
	c.Dither = c.Bits == 16
	loudest := -95 + 70*r.Float64()
	for h := 1; h <= 40; h++ {
		level := loudest - 25*math.Log10(float64(h)) - 6*r.Float64()
		if h%2 == 0 {
			level -= 15
		}
		c.Lines = append(c.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: level})
	}
	if r.IntN(3) == 0 {
		c.Tones = []bench.ToneSpec{{Hz: 300 + 3000*r.Float64(), PowerDBFS: loudest - 20}}
	}
	return kit.Must(c.Make())(t)
}

func facts(t *testing.T, src capture.Source) health.Facts {
	t.Helper()
	f := kit.Must(health.Of(context.Background(), src))(t)
	return f[0]
}

// Sound captures get no warning. Each accumulator's own rate of false alarms is
// far below one in a million captures (see its constants), so none may come.
func TestSound(t *testing.T) {
	t.Parallel()
	for seed := range uint64(trials.Count(300)) {
		c := draw(t, seed, 3)
		for _, w := range facts(t, c.Source()).Warnings() {
			t.Errorf("seed %d: %v", seed, w)
		}
	}
}

// Real recordings of a grid, of 8 to 12 minutes each, are sound.
func TestRealRecordingsAreSound(t *testing.T) {
	files, _ := filepath.Glob("../../../shared/data/mains-recordings/*.wav")
	if len(files) == 0 {
		t.Skip("the real mains recordings are not here")
	}
	for _, file := range files {
		src := kit.Must(capture.Open(capture.Address{Path: file, End: math.Inf(1)}))(t)
		f := facts(t, src)
		for _, w := range f.Warnings() {
			t.Errorf("%s: %v", filepath.Base(file), w)
		}
		kit.Same(t, f.Bits, 16, "%s: bits", filepath.Base(file))
	}
	kit.Must(os.Stat(files[0]))(t)
}

// Each fault is found, where and as often as it is there, and passes for no other.
func TestFaults(t *testing.T) {
	t.Parallel()
	near := func(t *testing.T, what string, got, want float64) {
		kit.Near(t, what, got, want, 0.002)
	}
	cases := map[string]struct {
		code string
		do   func(*bench.Capture)
		see  func(*testing.T, health.Facts, *bench.Capture)
	}{
		"clipped": {"clipped", func(c *bench.Capture) {
			c.Gain("gain", to(1.5, c)).Clip(1)
		}, func(t *testing.T, f health.Facts, c *bench.Capture) {
			// All that is held at full scale, but for single samples.
			if held := c.Truth.Faults[1].Samples; f.Clipped > held+2 || f.Clipped < held*8/10 {
				t.Errorf("%d clipped of %d", f.Clipped, held)
			}
		}},
		"cut off at half of full scale": {"flat_tops", func(c *bench.Capture) {
			c.Gain("gain", to(0.6, c)).Clip(0.5)
		}, func(t *testing.T, f health.Facts, c *bench.Capture) {
			if f.FlatTops.Samples < int64(c.Truth.Faults[1].Samples)*8/10 || math.Abs(f.FlatLevel) != 0.5 {
				t.Errorf("%+v at %g", f.FlatTops, f.FlatLevel)
			}
		}},
		"zero": {"digital_zero", func(c *bench.Capture) { c.Zero(1.2, 256).Zero(2, 1000) }, func(t *testing.T, f health.Facts, c *bench.Capture) {
			near(t, "zeros", f.Zeros.First, 1.2)
			if f.Zeros.Count != 2 || f.Zeros.Samples < 1256 || f.Zeros.Samples > 1262 {
				t.Errorf("%+v", f.Zeros)
			}
		}},
		"zero beside an offset": {"digital_zero", func(c *bench.Capture) {
			for i := range c.Samples {
				c.Samples[i] += 0.125 // all above zero
			}
			c.Zero(2, 256)
		}, func(t *testing.T, f health.Facts, c *bench.Capture) { near(t, "zeros", f.Zeros.First, 2) }},
		"zero at first": {"digital_zero", func(c *bench.Capture) { c.Zero(0, 1000) }, func(t *testing.T, f health.Facts, c *bench.Capture) {
			if f.Zeros.Count != 1 || f.Zeros.First != 0 {
				t.Errorf("%+v", f.Zeros)
			}
		}},
		"stuck": {"stuck", func(c *bench.Capture) { c.Stick(0.7, 400) }, func(t *testing.T, f health.Facts, c *bench.Capture) {
			near(t, "stuck", f.Stuck.First, 0.7)
		}},
		"repeated": {"repeated_block", func(c *bench.Capture) { c.Repeat(0.5, 512).Repeat(1.8, 512) }, func(t *testing.T, f health.Facts, c *bench.Capture) {
			near(t, "repeat", f.Repeats.First, 0.5+512/c.Truth.Rate)
			if f.Repeats.Count != 2 || math.Abs(float64(f.Repeats.Samples)-1024) > 8 {
				t.Errorf("%+v", f.Repeats)
			}
		}},
		"click": {"clicks", func(c *bench.Capture) { c.Click(1.5, 0.02) }, func(t *testing.T, f health.Facts, c *bench.Capture) {
			near(t, "click", f.Clicks.First, 1.5)
			kit.Same(t, f.Clicks.Count, 1, "%+v", f.Clicks)
		}},
		"lost": {"clicks", func(c *bench.Capture) { c.Lose(1.3, 100) }, func(t *testing.T, f health.Facts, c *bench.Capture) {
			near(t, "break", f.Clicks.First, 1.3)
		}},
		"scaled 14 bit": {"code_gaps", func(c *bench.Capture) { c.Round(14, 0.7).Round(24, 1) }, func(t *testing.T, f health.Facts, c *bench.Capture) {
			if want := 0.7 * 1024; math.Abs(f.Comb-want) > 1 {
				t.Errorf("one code in %.0f, want %.0f", f.Comb, want)
			}
		}},
	}
	for name, tc := range cases {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for seed := range uint64(6) {
				rate := []float64{44100, 48000, 96000}[seed%3]
				c, err := bench.Comb{Rate: rate, Seconds: 3, Track: bench.Steady(50.01), FloorDBFSHz: -140, RandomPhase: true, Seed: int64(seed), Bits: 24,
					Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -40}, {Harmonic: 3, PowerDBFS: -50}}}.Make()
				kit.OK(t, err)
				tc.do(c)
				f := facts(t, c.Source())
				found := false
				for _, w := range f.Warnings() {
					found = found || w.Code == tc.code
					// A break in the waveform goes with some of the others.
					if w.Code != tc.code && w.Code != "clicks" && !(w.Code == "dc_offset" && math.Abs(f.DC) > 0.1) && !(tc.code == "code_gaps" && w.Code == "flat_tops") {
						t.Errorf("seed %d: %v", seed, w)
					}
				}
				if !found {
					t.Errorf("seed %d: not found: %+v", seed, f)
				}
				tc.see(t, f, c)
			}
		})
	}
}

// to is the gain that brings a capture's peak to a level.
func to(level float64, c *bench.Capture) func(float64) float64 {
	peak := max(slices.Max(c.Samples), -slices.Min(c.Samples))
	return func(float64) float64 { return level / peak }
}

// Waves that hold values or fit themselves by nature: noise-free sines, whole
// and coarse, tops that are flat, hum of a few codes, next to nothing.
func TestNoFault(t *testing.T) {
	t.Parallel()
	const rate = 48000
	waves := map[string]func(i int) float64{
		"whole periods":      func(i int) float64 { return 0.1 * math.Sin(2*math.Pi*50*float64(i)/rate) },
		"a sine off a whole": func(i int) float64 { return 0.1 * math.Sin(2*math.Pi*50.013*float64(i)/rate) },
		"thirty codes":       func(i int) float64 { return 30.2 / 32768 * math.Sin(2*math.Pi*50.013*float64(i)/rate) },
		"an eighth of it":    func(i int) float64 { return 0.1 * math.Sin(2*math.Pi*6000*float64(i)/rate) },
		"three codes":        func(i int) float64 { return 3.1 / 32768 * math.Sin(2*math.Pi*50.013*float64(i)/rate) },
		"flattened tops": func(i int) float64 {
			s := math.Sin(2 * math.Pi * 50.01 * float64(i) / rate)
			return 0.01 * (s + math.Sin(3*math.Asin(s))/9)
		},
		"next to nothing": func(i int) float64 {
			if i%70001 < 3 {
				return 1.0 / 32768
			}
			return 0
		},
	}
	for name, wave := range waves {
		x := make([]float64, 4*rate)
		for i := range x {
			x[i] = math.Round(wave(i)*32768) / 32768
		}
		for _, w := range facts(t, capture.Samples(rate, x)).Warnings() {
			t.Errorf("%s: %v", name, w)
		}
	}
}

// Noise that is cut off anywhere says so, though next to no two of its samples that are cut
// follow each other; noise that isn't never does, be it of a few codes.
func TestClippedNoise(t *testing.T) {
	t.Parallel()
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 8))
		x := make([]float64, 100_000)
		level := []float64{1, 0.3 + 0.6*r.Float64()}[seed%2]
		sd, step := level/(2.6+0.6*r.Float64()), math.Exp2(-15-8*r.Float64())
		for i := range x {
			x[i] = step * math.Round(sd*r.NormFloat64()/step)
		}
		whole := facts(t, capture.Samples(8000, slices.Clone(x)))
		for i := range x {
			x[i] = max(-level, min(level, x[i]))
		}
		f := facts(t, capture.Samples(8000, x))
		if whole.FlatTops.Count > 0 || level < 1 && f.FlatTops.Samples < 100 || level == 1 && f.Clipped < 100 {
			t.Errorf("seed %d: cut off at %.2f, %+v of %d clipped; left whole, %+v", seed, level, f.FlatTops, f.Clipped, whole.FlatTops)
		}
	}
}

// Channels that are copies are told from those that only begin alike.
func TestTwins(t *testing.T) {
	const n = 50000
	r := rand.New(rand.NewPCG(1, 2))
	x := make([][]float64, 5)
	for c := range x {
		x[c] = make([]float64, n)
	}
	for i := range n {
		a, b := r.NormFloat64()/100, r.NormFloat64()/100
		x[0][i], x[1][i], x[2][i], x[3][i], x[4][i] = a, a, b, b, a
		if i < n/2 {
			x[2][i] = a // like the first half of channel 1
		}
		if i == n-1 {
			x[4][i] = 0
		}
	}
	f := kit.Must(health.Of(context.Background(), capture.Samples(8000, x...)))(t)
	for c, want := range []int{0, 1, 0, 0, 0} {
		kit.Same(t, f[c].SameAs, want, "channel %d is the same as", c+1)
	}
}

// Facts of captures of no length and of one sample are no crash.
func TestTiny(t *testing.T) {
	for n := range 5 {
		f := facts(t, capture.Samples(48000, make([]float64, n)))
		kit.Same(t, f.Samples, int64(n), "%d samples: %+v", n, f)
	}
}

// A click stands out of both sides; where a gate opens or closes, what lies on one side is
// as sharp. Neither a block's end nor the cut of a file hides a click or makes one.
func TestClicksStandOut(t *testing.T) {
	t.Parallel()
	const rate, block = 8000, 8192
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 7))
		x := make([]float64, 4*block)
		shut, length, phase := math.Pow(10, -1-3*r.Float64()), 2000+r.IntN(9000), r.IntN(9000)
		for i := range x {
			g := 1.0
			if (i+phase)/length%2 == 1 {
				g = shut
			}
			x[i] = g * 1e-4 * r.NormFloat64()
		}
		if f := facts(t, capture.Samples(rate, x)); f.Clicks.Count > 0 {
			t.Errorf("seed %d: a gate clicks: %+v", seed, f.Clicks)
		}
		for i := range x {
			x[i] = 1e-4 * r.NormFloat64()
		}
		at := block*(1+r.IntN(3)) - 24 + r.IntN(48)
		x[at] += 0.01
		if f := facts(t, capture.Samples(rate, x)); f.Clicks.Count != 1 || math.Abs(f.Clicks.First*rate-float64(at)) > 0.5 {
			t.Errorf("seed %d: a click at sample %d: %+v", seed, at, f.Clicks)
		}
	}
}

// What is steady and for times gone is hushed, as by a gate; what is of all levels, or
// steady with clicks in it, isn't.
func TestHushed(t *testing.T) {
	t.Parallel()
	const rate, seconds = 8000, 12
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 9))
		noise := func(gain func(at float64) float64) health.Facts {
			x := make([]float64, rate*seconds)
			for i := range x {
				at := float64(i) / rate
				x[i] = gain(at) * (1e-4*r.NormFloat64() + 1e-3*math.Sin(2*math.Pi*50.01*at))
			}
			for range r.IntN(20) { // clicks
				x[r.IntN(len(x))] += 0.01 * r.NormFloat64()
			}
			return facts(t, capture.Samples(rate, x))
		}
		if f := noise(func(float64) float64 { return 1 }); f.Hushed > 0 {
			t.Errorf("seed %d: steady, yet hushed for %.2f s", seed, f.Hushed)
		}
		shut, from, to := math.Pow(10, -0.7-2*r.Float64()), 1+4*r.Float64(), 6+5*r.Float64()
		gated := noise(func(at float64) float64 {
			if at > from && at < to {
				return shut
			}
			return 1
		})
		if want := to - from; math.Abs(gated.Hushed-want) > 0.4 || math.Abs(gated.HushedFirst-from) > 0.3 {
			t.Errorf("seed %d: hushed for %.2f s from %.2f s, want %.2f from %.2f", seed, gated.Hushed, gated.HushedFirst, want, from)
		}
		if want := math.Pow(shut*1e-4, 2); math.Abs(10*math.Log10(gated.HushedNoise/want)) > 0.6 {
			t.Errorf("seed %d: hushed to %.3g, want %.3g", seed, gated.HushedNoise, want)
		}
		held, levels := 2+2*r.Float64(), make([]float64, 20*seconds)
		for i := range levels {
			levels[i] = math.Pow(10, -1.5*r.Float64())
		}
		if f := noise(func(at float64) float64 { return levels[int(20*at)] }); f.Hushed > 0 {
			t.Errorf("seed %d: of all levels, yet hushed for %.2f s", seed, f.Hushed)
		}
		// A note is held for seconds, and the others lie 6 to 30 dB below it.
		if f := noise(func(at float64) float64 {
			if at < held {
				return 1
			}
			return 0.5 * math.Pow(levels[int(20*at)], 0.8)
		}); f.Hushed > 0 {
			t.Errorf("seed %d: a held note, yet hushed for %.2f s", seed, f.Hushed)
		}
	}
}

// Bursts of noise in each half cycle, few samples each, are uneven by chance: no floor
// moves. Noise that rises does.
func TestBurstsMoveNoFloor(t *testing.T) {
	t.Parallel()
	const rate = 8000
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 10))
		share, rise := 0.01+0.04*r.Float64(), 3+10*r.Float64()
		bursts, rising := make([]float64, 12*rate), make([]float64, 12*rate)
		for i := range bursts {
			bursts[i] = 1e-4 * r.NormFloat64()
			if _, in := math.Modf(100.02 * float64(i) / rate); in < share {
				bursts[i] += 1e-2 * r.NormFloat64()
			}
			rising[i] = 1e-4 * r.NormFloat64() * math.Pow(10, rise*float64(i/(6*rate))/20)
		}
		if f := facts(t, capture.Samples(rate, bursts)); f.FloorMoves > 0 {
			t.Errorf("seed %d: bursts of %.3f, yet the floor moves by %.1f dB", seed, share, f.FloorMoves)
		}
		if f := facts(t, capture.Samples(rate, rising)); math.Abs(f.FloorMoves-rise) > 1 {
			t.Errorf("seed %d: the floor moves by %.1f dB, want %.1f", seed, f.FloorMoves, rise)
		}
	}
}

// Where a gate shuts, what is left are a few codes, a wave's: they come again by chance, and
// go on nearly alike. What is handed over twice ends at once.
func TestFewCodesRepeatByChance(t *testing.T) {
	const code, length, alike = 1.0 / (1 << 23), 400, 60
	r := rand.New(rand.NewPCG(1, 2))
	few := func() float64 { return code * float64(r.IntN(3)-1) }
	for _, twice := range []bool{false, true} {
		loud := func() float64 { return 0.1 * r.NormFloat64() }
		var x []float64
		add := func(n int, next func() float64) {
			for range n {
				x = append(x, next())
			}
		}
		add(4000, loud)
		add(length, few)
		add(4000, loud)
		again := x[4000 : 4000+alike]
		x = append(x, again...)
		if twice {
			add(4000, loud)
		} else {
			for k := range length - alike { // three of five are the same
				v := x[4000+alike+k]
				if r.IntN(5) < 2 {
					v = few()
				}
				x = append(x, v)
			}
			add(4000, loud)
		}
		if f := facts(t, capture.Samples(8000, x)); (f.Repeats.Count > 0) != twice {
			t.Errorf("handed over twice: %v; found %+v", twice, f.Repeats)
		}
	}
}
