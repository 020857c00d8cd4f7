package mains_test

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/trials"
)

func stepsOf(t *testing.T, c bench.Comb, chosen ...int) mains.Steps {
	t.Helper()
	made := kit.Must(c.Make())(t)
	s := kit.Must(mains.MeasureSteps(context.Background(), made.Source(), mains.Options{Nominal: 50}, chosen))(t)
	return s[0]
}

var wanderingComb = bench.Comb{Rate: 8000, Seconds: 100, FloorDBFSHz: -130,
	Track: bench.Track{Hz: 50.02, WanderHz: 0.02, WanderSeconds: 20}}

// Each step's interval or limit holds for hum of any strength, and so does the
// mean's; in noise alone hardly a step finds hum. In a step, in Hann's 7.5 Hz,
// noise reads -121.2 dBFS.
func TestStepLevelsHold(t *testing.T) {
	kit.Unraced(t)
	for seed, dbfs := range []float64{-60, -90, -105, -112, -116, -120, -126} {
		c := wanderingComb
		c.Seed, c.Lines = int64(seed), []bench.LineSpec{{Harmonic: 3, PowerDBFS: dbfs}, {Harmonic: 20, PowerDBFS: dbfs - 3}}
		s := stepsOf(t, c, 3, 20)
		if n := len(s.Hum); n != 500 || math.Abs(s.Seconds-0.2) > 2e-4 || s.Harmonics != 20 {
			t.Fatalf("%d steps of %g s, %d lines", n, s.Seconds, s.Harmonics)
		}
		for name, of := range map[string]struct {
			steps []mains.StepLevel
			want  float64
		}{"line 3": {s.Lines[3], dbfs}, "line 20": {s.Lines[20], dbfs - 3}, "sum": {s.Hum, dbfs + 1.7643}} { // 10·lg(1 + 10^−0.3)
			held := 0
			for _, l := range of.steps {
				if holds(l.Level, of.want) {
					held++
				}
			}
			// 93 % less 3.5 standard errors of 500.
			if held < 447 {
				t.Errorf("%s at %g dBFS: %d of 500 steps hold", name, of.want, held)
			}
			mean := mains.MeanOfSteps(of.steps)
			if mean.Detected && math.Abs(db(mean.Power)-of.want) > 3*math.Max(db(mean.Hi)-db(mean.Power), 0.05) || !mean.Detected && db(mean.Limit) < of.want {
				t.Errorf("%s at %g dBFS: the mean reads %+v", name, of.want, mean)
			}
		}
	}
}

func holds(l mains.Level, dbfs float64) bool {
	if !l.Detected {
		return db(l.Limit) >= dbfs
	}
	return db(l.Lo) <= dbfs && dbfs <= db(l.Hi)
}

// Of steps of noise alone 1 in 1000 finds hum, of the sum and of each line: in
// 2500 steps more than 10 come once in 10000 times.
func TestStepsOfNoise(t *testing.T) {
	sum, line := 0, 0
	for seed := range 5 {
		c := wanderingComb
		c.Seed = int64(seed)
		s := stepsOf(t, c, 1)
		for i := range s.Hum {
			if s.Hum[i].Detected {
				sum++
			}
			if s.Lines[1][i].Detected {
				line++
			}
		}
	}
	if sum > 10 || line > 10 {
		t.Errorf("of 2500 steps without hum, %d find a sum and %d line 1", sum, line)
	}
}

// A thump raises the noise of its steps, and finds no hum.
func TestStepsSurviveThumps(t *testing.T) {
	c := wanderingComb
	made := kit.Must(c.Make())(t)
	burst := kit.Must(bench.Comb{Rate: 8000, Seconds: 1, Track: c.Track, FloorDBFSHz: -90, Seed: 3}.Make())(t)
	for i, v := range burst.Samples {
		made.Samples[400000+i] += v
	}
	s := kit.Must(mains.MeasureSteps(context.Background(), capture.Samples(8000, made.Samples), mains.Options{Nominal: 50}, nil))(t)
	for i, l := range s[0].Hum {
		if at := float64(i) * s[0].Seconds; l.Detected && at > 49 && at < 52 {
			t.Errorf("hum of %.1f dBFS at %.1f s, where there is a thump", db(l.Power), at)
		}
	}
}

// A tone beside a line is no hum of it.
func TestStepsLeaveTonesOut(t *testing.T) {
	c := wanderingComb
	c.Lines = []bench.LineSpec{{Harmonic: 1, PowerDBFS: -90}}
	c.Tones = []bench.ToneSpec{{Hz: 157, PowerDBFS: -70}}
	s := stepsOf(t, c)
	if len(s.LeftOut) != 1 || s.LeftOut[0] != 3 {
		t.Errorf("left out %v, want the third", s.LeftOut)
	}
	if l := mains.MeanOfSteps(s.Hum); math.Abs(db(l.Power)+90) > 0.3 {
		t.Errorf("hum %.2f dBFS, want -90", db(l.Power))
	}
}

// The longest stretch without a thump holds none, and all that lies between.
func TestCleanStretch(t *testing.T) {
	comb := bench.Comb{Rate: 8000, Seconds: 40, Track: bench.Steady(50.02), FloorDBFSHz: -120, Seed: 5,
		Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -70}, {Harmonic: 3, PowerDBFS: -80}}}
	made := kit.Must(comb.Make())(t)
	thumped := made.Thump(7, 0.01, 30, 0.2).Thump(31, 0.01, 30, 0.2)
	all := kit.Must(mains.Measure(context.Background(), capture.Samples(8000, thumped.Samples), mains.Options{}))(t)
	h := all[0].Health
	if h.Bursts != 2 {
		t.Fatalf("%d bursts", h.Bursts)
	}
	// A block that holds a thump reaches some two seconds before and after it.
	if c := h.Clean; !(c.Start > 7.2 && c.Start < 11 && c.End > 27 && c.End < 31) {
		t.Errorf("clean from %.1f to %.1f s, thumps at 7 and 31 s", c.Start, c.End)
	}
	again := kit.Must(mains.Measure(context.Background(), capture.Samples(8000, thumped.Samples[int(h.Clean.Start*8000):int(h.Clean.End*8000)]), mains.Options{}))(t)
	kit.Same(t, again[0].Health.Bursts, 0, "bursts in the stretch without")
}

// Lost samples take part of a cycle out of the mains' advance. f0's interval has it.
func TestHzOverLostSamples(t *testing.T) {
	t.Parallel()
	held, told, n := 0, 0, trials.Count(200)
	for seed := range int64(n) {
		comb := bench.Comb{Rate: 8000, Seconds: 40, Track: bench.Track{Hz: 50.02, WanderHz: 0.005, WanderSeconds: 20}, FloorDBFSHz: -120, RandomPhase: true, Seed: seed,
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -60}, {Harmonic: 3, PowerDBFS: -70}}}
		made := kit.Must(comb.Make())(t)
		f0 := made.Truth.F0
		m := measureSamples(t, 8000, made.Lose(20.3, 25+20*int(seed)/n).Samples, mains.Options{})
		if len(m.Health.Jumps) == 0 {
			continue
		}
		told++
		if math.Abs(m.Mains.Hz-f0) <= m.Mains.U95 {
			held++
		}
	}
	if told < n*3/4 || held < told-n/10 {
		t.Errorf("jumps told in %d of %d, f0's interval holds in %d of them", told, n, held)
	}
}

// Where samples are lost near an end, or twice within two seconds, noise is read elsewhere.
func TestNoiseBesideLostSamples(t *testing.T) {
	t.Parallel()
	held, right, n := 0, 0, trials.Count(200)
	r := rand.New(rand.NewPCG(1, 1))
	for seed := range int64(n) {
		comb := bench.Comb{Rate: 8000, Seconds: 16, Track: bench.Track{Hz: 50.02, WanderHz: 0.005, WanderSeconds: 20}, FloorDBFSHz: -120, RandomPhase: true, Seed: seed,
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -55}, {Harmonic: 3, PowerDBFS: -65}}}
		made := kit.Must(comb.Make())(t)
		at := []float64{1.3 + 0.5*r.Float64()}
		switch r.IntN(3) {
		case 0:
			at[0] = 16 - at[0]
		case 1:
			at[0] += 5
			at = append(at, at[0]-0.9-r.Float64())
		}
		f0 := made.Truth.F0
		for _, s := range at { // the later one first
			made.Lose(s, 20+r.IntN(40))
		}
		m := measureSamples(t, 8000, made.Samples, mains.Options{})
		if math.Abs(m.Mains.Hz-f0) <= m.Mains.U95 {
			held++
		}
		if math.Abs(10*math.Log10(between(m))+120) < 0.5 {
			right++
		}
	}
	if held < n*9/10 || right < n*9/10 {
		t.Errorf("f0's interval holds in %d, noise is right in %d of %d", held, right, n)
	}
}

// between is the mean density outside of what is occupied.
func between(m mains.Measurement) float64 {
	sum, n := 0.0, 0.0
	for j, density := range m.Spectrum.Density {
		hz := float64(j) * m.Spectrum.BinHz()
		if !slices.ContainsFunc(m.Occupied, func(b mains.Band) bool { return b.Lo <= hz && hz <= b.Hi }) {
			sum, n = sum+density, n+1
		}
	}
	return sum / n
}

// A step that no other line confirms, as where one line alone stands out, may be lost
// samples: f0's interval has it.
func TestHzOverAStepOfOneLine(t *testing.T) {
	t.Parallel()
	held, n := 0, trials.Count(200)
	for seed := range int64(n) {
		comb := bench.Comb{Rate: 8000, Seconds: 16, Track: bench.Track{Hz: 50.02, WanderHz: 0.005, WanderSeconds: 20}, FloorDBFSHz: -120, RandomPhase: true, Seed: seed,
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -86}}}
		made := kit.Must(comb.Make())(t)
		f0 := made.Truth.F0
		m := measureSamples(t, 8000, made.Lose(3+10*float64(seed)/float64(n), 14).Samples, mains.Options{}) // 0.55 rad
		if math.Abs(m.Mains.Hz-f0) <= m.Mains.U95 {
			held++
		}
	}
	if held < n*9/10 {
		t.Errorf("f0's interval holds in %d of %d", held, n)
	}
}

// A capture that stands still at one value has no spectrum to divide by: what is
// no number there must not be taken for a place in a table, whatever the processor
// makes of it.
func TestStandingStill(t *testing.T) {
	for _, value := range []float64{0, 0.25, -1, 1e-9} {
		x := make([]float64, 8000*12)
		for i := range x {
			x[i] = value
		}
		m := measureSamples(t, 8000, x, mains.Options{})
		if m.Mains.Detected || !m.Health.Silent || len(m.Warnings) != 1 || m.Warnings[0].Code != "silent" {
			t.Errorf("%g: mains %+v, %v", value, m.Mains, m.Warnings)
		}
		steps, err := mains.MeasureSteps(context.Background(), capture.Samples(8000, x), mains.Options{}, nil)
		if err != nil || len(steps[0].Hum) != 0 || steps[0].Mains.Detected {
			t.Errorf("%g, in steps: %v, %d, mains %+v", value, err, len(steps[0].Hum), steps[0].Mains)
		}
	}
}
