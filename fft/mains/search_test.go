package mains_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"humdiff/fft"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/situation"
	"humdiff/fixtures/trials"
)

// What the search takes for mains, and what not.
func TestSearch(t *testing.T) {
	line := func(h int, dbfs float64) bench.LineSpec { return bench.LineSpec{Harmonic: h, PowerDBFS: dbfs} }
	tone := func(hz, dbfs float64) bench.ToneSpec { return bench.ToneSpec{Hz: hz, PowerDBFS: dbfs} }
	for _, c := range []struct {
		name      string
		hz        float64
		lines     []bench.LineSpec
		tones     []bench.ToneSpec
		options   mains.Options
		nominal   float64 // 0: nothing found
		ambiguous bool
	}{
		{name: "fundamental alone", hz: 50.3, lines: []bench.LineSpec{line(1, -100)}, nominal: 50},
		{name: "60 Hz", hz: 59.6, lines: []bench.LineSpec{line(1, -110), line(3, -110)}, nominal: 60},
		{name: "no fundamental", hz: 49.9, lines: []bench.LineSpec{line(7, -110), line(11, -110)}, nominal: 50},
		{name: "one loud tone above the third line", hz: 50, tones: []bench.ToneSpec{tone(349, -40)}},
		{name: "a bus's kilohertz", hz: 50, tones: []bench.ToneSpec{tone(1000, -60)}},
		{name: "two tones that are no comb", hz: 50, tones: []bench.ToneSpec{tone(440, -60), tone(523.3, -60)}},
		{name: "a very strong fundamental", hz: 50.02, lines: []bench.LineSpec{line(1, -6), line(3, -40)}, nominal: 50},
		{name: "multiples of 300 Hz", hz: 50, lines: []bench.LineSpec{line(6, -90), line(12, -90)}, nominal: 50, ambiguous: true},
		{name: "the same, 60 Hz said", hz: 50, lines: []bench.LineSpec{line(6, -90), line(12, -90)}, options: mains.Options{Nominal: 60}, nominal: 60},
		{name: "a generator, looked for as mains", hz: 47, lines: []bench.LineSpec{line(1, -90), line(3, -90)}},
		{name: "a generator", hz: 47, lines: []bench.LineSpec{line(1, -90), line(3, -90)}, options: mains.Options{Wide: true}, nominal: 50},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			m, truth := measure(t, bench.Comb{
				Rate: 4000, Seconds: 20, Track: bench.Track{Hz: c.hz, WanderHz: 0.01, WanderSeconds: 20}, RandomPhase: true,
				Lines: c.lines, Tones: c.tones, FloorDBFSHz: -130, Seed: 3,
			}, c.options)
			if m.Mains.Detected != (c.nominal != 0) || c.nominal != 0 && !c.ambiguous && m.Mains.Nominal != c.nominal {
				t.Fatalf("%+v, want nominal %g", m.Mains, c.nominal)
			}
			kit.Same(t, has(m.Warnings, "mains_ambiguous"), c.ambiguous, "warnings %v", m.Warnings)
			if want := truth.F0 * m.Mains.Nominal / 50; c.nominal == 50 && math.Abs(m.Mains.Hz-want) > 0.003 {
				t.Errorf("f0 %.4f Hz, want %.4f", m.Mains.Hz, want)
			}
		})
	}
}

// The broad lines of a short capture aren't taken for those of both nominal
// frequencies.
func TestShortIsNotAmbiguous(t *testing.T) {
	t.Parallel()
	for seed := range uint64(12) {
		for _, seconds := range []float64{1.6, 2, 3, 4} {
			c := benchComb(seed, seconds)
			c.FloorDBFSHz, c.Rate = -145, []float64{8000, 12000, 48000}[seed%3]
			m, _ := measure(t, c, mains.Options{})
			if !m.Mains.Detected || math.Abs(m.Mains.Nominal-c.Track.Hz) > 1 || has(m.Warnings, "mains_ambiguous") {
				t.Errorf("seed %d, %g s of %.2f Hz: %+v, %v", seed, seconds, c.Track.Hz, m.Mains, m.Warnings)
			}
		}
	}
}

// A thump beside the first line, in a capture too short to leave it out, doesn't lead
// away from the others: f0 is theirs, and nothing is said to lie below a limit that it
// doesn't. (One within a quarter of a bin of it is the line, for all one sees.)
func TestThumpLeadsNotAway(t *testing.T) {
	t.Parallel()
	above, found, all := 0, 0, 0
	for seed := range int64(40) {
		hz := 48.5 + 0.075*float64(seed)
		if math.Abs(hz-50.01) < 0.2 {
			continue
		}
		made, err := bench.Comb{Rate: 4000, Seconds: 8, Track: bench.Steady(50.01), FloorDBFSHz: -130, RandomPhase: true, Seed: seed,
			Lines: []bench.LineSpec{{Harmonic: 2, PowerDBFS: -95}, {Harmonic: 3, PowerDBFS: -90}, {Harmonic: 5, PowerDBFS: -95}, {Harmonic: 9, PowerDBFS: -100}}}.Make()
		kit.OK(t, err)
		made.Thump(1+0.15*float64(seed), 1e-3, hz, 0.3)
		m := measureSamples(t, 4000, made.Samples, mains.Options{Nominal: 50})
		all++
		if math.Abs(m.Mains.Hz-50.01) < 0.001 {
			found++
		}
		for _, line := range made.Truth.Lines {
			if got := m.Lines[line.Harmonic-1]; !got.Detected && got.Limit < line.Power {
				above++
			}
		}
	}
	// Limits hold in 97.5 %: more than 9 of 140 are above by chance once in 200 times.
	if above > 9 || found < all {
		t.Errorf("f0 found in %d of %d; %d of %d lines above their limits", found, all, above, 4*all)
	}
}

// What is about a converter's step leaves samples of −1, 0 and 1: much of it is nothing,
// or repeats to the bit, and is what a transform rounds to. Two that share no code say the
// same of it.
func TestEnginesAgreeOnSteps(t *testing.T) {
	kit.Unraced(t)
	kinds := situation.Singles()
	r := rand.New(rand.NewPCG(31, 7))
	for range trials.Count(200) {
		kind, seed, height := kinds[r.IntN(len(kinds))], r.Uint64N(1e9), 0.4+1.4*r.Float64()
		c := kind.Draw(seed)
		peak := max(slices.Max(c.Samples), -slices.Min(c.Samples))
		for i, x := range c.Samples {
			c.Samples[i] = math.Round(x/peak*height) / (1 << 15)
		}
		a := measureSamples(t, c.Rate, c.Samples, mains.Options{UpTo: 500})
		b := measureSamples(t, c.Rate, c.Samples, mains.Options{UpTo: 500, Engine: fft.NewReferenceEngine})
		if math.Abs(a.Mains.Hz-b.Mains.Hz) > 1e-6*a.Mains.Hz || len(a.Lines) != len(b.Lines) || len(a.Tones) != len(b.Tones) ||
			len(a.Warnings) != len(b.Warnings) || !slices.Equal(a.Mains.Doubt, b.Mains.Doubt) {
			t.Errorf("%s, seed %d, %.2f steps:\n%+v %v\n%+v %v", kind.Name, seed, height, a.Mains, a.Warnings, b.Mains, b.Warnings)
		}
	}
}
