package mains_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
)

func db(power float64) float64 { return 10 * math.Log10(power) }

func measure(t *testing.T, c bench.Comb, o mains.Options) (mains.Measurement, bench.Truth) {
	t.Helper()
	made := kit.Must(c.Make())(t)
	ms := kit.Must(mains.Measure(context.Background(), made.Source(), o))(t)
	return ms[0], made.Truth
}

// Captures as benches make them, with known truth: every line with ρ ≥ 30 dB
// within 4 predicted standard deviations and 0.05 dB in the mean, every floor
// within 4 of its own.
func TestKnownTruth(t *testing.T) {
	t.Parallel()
	type bench1 struct {
		rate    float64
		bits    int // 0: float
		nominal float64
		seconds float64
		track   bench.Track
	}
	wander := func(hz float64) bench.Track { return bench.Track{Hz: hz, WanderHz: 0.02, WanderSeconds: 20} }
	cases := []bench1{
		{44100, 16, 50, 10, wander(50.01)},
		{44100, 24, 60, 30, wander(59.98)},
		{48000, 16, 60, 60, bench.Track{Hz: 60.01, Slope: 0.001}},
		{48000, 24, 50, 10, bench.Track{Hz: 49.97, Walk: 0.01}},
		{48000, 0, 50, 60, wander(49.99)},
		{96000, 24, 60, 10, wander(60)},
		{96000, 16, 50, 30, bench.Track{Hz: 50.02, Slope: -0.01}},
		{96000, 0, 60, 20, bench.Track{Hz: 60.02, SwingHz: 0.02, SwingSeconds: 15}},
		{192000, 24, 50, 10, wander(50)},
		{192000, 0, 60, 10, bench.Steady(59.99)},
	}
	if testing.Short() {
		cases = cases[:4]
	}
	sum, n := 0.0, 0.0
	for i, c := range cases {
		t.Run(fmt.Sprintf("%g Hz %d bit %g Hz mains %g s", c.rate, c.bits, c.nominal, c.seconds), func(t *testing.T) {
			floor := -140.0
			if c.bits == 16 {
				floor = -130
			}
			comb := bench.Comb{
				Rate: c.rate, Seconds: c.seconds, Track: c.track, RandomPhase: true, Seed: int64(i + 1),
				FloorDBFSHz: floor, Bits: c.bits, Dither: true,
			}
			harmonics := int(5000/c.nominal) - 1
			for h := 1; h <= harmonics; h++ {
				// ρ from 30 to 60 dB, most of them low.
				rho := 31 + 30*math.Pow(float64((h*37)%harmonics)/float64(harmonics), 2)
				comb.Lines = append(comb.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: floor - db(c.seconds) + rho})
			}
			m, truth := measure(t, comb, mains.Options{})
			if !m.Mains.Tracked || m.Mains.Nominal != c.nominal {
				t.Fatalf("mains: %+v", m.Mains)
			}
			kit.Near(t, "f0", m.Mains.Hz, truth.F0, 2*m.Mains.U95)
			for _, want := range truth.Lines {
				got := m.Lines[want.Harmonic-1]
				if !got.Detected {
					t.Errorf("line %d at %.1f dBFS not found", want.Harmonic, db(want.Power))
					continue
				}
				e := db(got.Power / want.Power)
				sum, n = sum+e, n+1
				if sd := db(got.Hi/got.Lo) / (2 * 1.96); math.Abs(e) > 4*sd {
					t.Errorf("line %d off by %.3f dB, %.1f predicted standard deviations (%s)", want.Harmonic, e, math.Abs(e)/sd, got.Method)
				}
				e = db(got.Floor / truth.Floor(want.Hz))
				if sd := 10 / math.Ln10 * math.Sqrt(2/got.FloorDOF); math.Abs(e) > 4*sd {
					t.Errorf("floor at line %d off by %.2f dB, %.1f of its standard deviations", want.Harmonic, e, math.Abs(e)/sd)
				}
			}
		})
	}
	t.Logf("mean error of %.0f lines: %.4f dB", n, sum/n)
	kit.Near(t, fmt.Sprintf("mean error of %.0f lines", n), sum/n, 0, 0.05)
}

// Of lines at −149 dBFS in 60 s at −150 dBFS/Hz, 99 % are found.
func TestWeakLinesAreFound(t *testing.T) {
	kit.Unraced(t)
	t.Parallel()
	found, all := 0, 0
	for seed := range int64(6) {
		comb := bench.Comb{
			Rate: 12000, Seconds: 60, Track: bench.Track{Hz: 50.01, WanderHz: 0.02, WanderSeconds: 20},
			FloorDBFSHz: -150, RandomPhase: true, Seed: 100 + seed,
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -90}, {Harmonic: 3, PowerDBFS: -100}},
		}
		for h := 4; h <= 99; h++ {
			comb.Lines = append(comb.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: -149})
		}
		m, _ := measure(t, comb, mains.Options{})
		for _, l := range m.Lines[3:99] {
			all++
			if l.Detected {
				found++
			}
		}
	}
	t.Logf("%d of %d found", found, all)
	if share := float64(found) / float64(all); share < 0.99 {
		t.Errorf("%d of %d lines found, %.1f %%; want 99 %%", found, all, 100*share)
	}
}

// Noise alone: no more captures with a false mains or a false line than the
// stated 1 % allow (of 100, three or fewer in 98 % of such experiments).
func TestNoiseAlone(t *testing.T) {
	kit.Unraced(t)
	t.Parallel()
	falseMains, falseLines := 0, 0
	for seed := range int64(100) {
		m, _ := measure(t, bench.Comb{Rate: 6000, Seconds: 10, Track: bench.Steady(50), FloorDBFSHz: -120, Seed: 1000 + seed}, mains.Options{Around: 50.01})
		if m.Mains.Detected {
			falseMains++
		}
		for _, l := range m.Lines {
			if l.Detected {
				falseLines++
			}
		}
	}
	t.Logf("%d captures with false mains, %d false lines in 100 captures", falseMains, falseLines)
	if falseMains+falseLines > 3 {
		t.Errorf("%d captures with false mains, %d false lines in 100 captures; stated: 1", falseMains, falseLines)
	}
}

// A quiet capture whose own mains can't be found is measured around another
// capture's f0: limits, no numbers; and the limits hold for lines that are there.
func TestAroundAnothersFrequency(t *testing.T) {
	kit.Unraced(t)
	t.Parallel()
	comb := bench.Comb{Rate: 12000, Seconds: 30, Track: bench.Steady(49.98), FloorDBFSHz: -140, RandomPhase: true}
	level := -140 - db(30) + 8 // ρ = 8 dB: half a decibel above the floor at most
	for _, h := range []int{2, 7, 31, 60} {
		comb.Lines = append(comb.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: level})
	}
	held, all := 0, 0
	for seed := range int64(20) {
		comb.Seed = seed
		m, truth := measure(t, comb, mains.Options{Around: 50.01}) // 30 mHz off
		if m.Mains.Detected {
			continue // found after all, which a search may
		}
		if m.Mains.Hz != 50.01 || m.Mains.Nominal != 50 || len(m.Lines) != 100 {
			t.Fatalf("sought around %+v, %d lines", m.Mains, len(m.Lines))
		}
		for _, l := range m.Lines {
			if l.Detected == !math.IsNaN(l.Limit) || l.Detected == math.IsNaN(l.Power) {
				t.Fatalf("line %d: %+v has both or neither of level and limit", l.Harmonic, l)
			}
			if want := truth.Line(l.Harmonic); want.Power > 0 {
				all++
				if l.Detected || l.Limit >= want.Power {
					held++
				}
			}
		}
	}
	t.Logf("limit held for %d of %d lines", held, all)
	if all < 60 || float64(held) < 0.95*float64(all) {
		t.Errorf("limit held for %d of %d lines", held, all)
	}
}
