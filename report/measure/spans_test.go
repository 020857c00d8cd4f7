package measure

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/trials"
)

const (
	rate    = 4000   // of simulated captures, Hz
	floorDB = -130.0 // dBFS/Hz: in a step, in Hann's 7.5 Hz, -121.2 dBFS
)

// lead simulates a capture in which hum of three lines follows a level over
// time, in dBFS, in white noise.
func lead(t *testing.T, seconds float64, seed int64, track bench.Track, level func(s float64) float64) []mains.StepLevel {
	t.Helper()
	hum, err := bench.Comb{Rate: rate, Seconds: seconds, Track: track, Seed: seed, RandomPhase: true,
		Lines: []bench.LineSpec{{Harmonic: 1}, {Harmonic: 3, PowerDBFS: -6}, {Harmonic: 5, PowerDBFS: -12}}}.Make()
	kit.OK(t, err)
	noise := kit.Must(bench.Comb{Rate: rate, Seconds: seconds, Track: track, FloorDBFSHz: floorDB, Seed: seed}.Make())(t)
	x := noise.Samples
	for i := range x {
		if db := level(float64(i) / rate); db > -200 {
			x[i] += hum.Samples[i] * math.Pow(10, db/20)
		}
	}
	s := kit.Must(mains.MeasureSteps(context.Background(), capture.Samples(rate, x), mains.Options{Nominal: 50}, nil))(t)
	if math.Abs(s[0].Seconds-0.2) > 0.001 {
		t.Fatalf("steps of %g s", s[0].Seconds)
	}
	return s[0].Hum
}

func constant(db float64) func(float64) float64 { return func(float64) float64 { return db } }

var wandering = bench.Track{Hz: 50.01, WanderHz: 0.02, WanderSeconds: 20}

// In steady captures no edge is invented: strong and weak hum, hum near the
// floor and none, a mains that stands still or wanders. With none wrong of all the 240
// captures, the false-alarm rate lies below 1.3 % (at 95 %: 3/240).
func TestNoEdgesInSteadyHum(t *testing.T) {
	kit.Unraced(t)
	each := trials.Count(30)
	captures, wrong := 0, 0
	for k, db := range []float64{-60, -90, -105, -112, -116, -119, -122, -300} {
		for seed := range each {
			track := wandering
			if seed%2 == 0 {
				track = bench.Steady(49.98)
			}
			captures++
			spans := spansOf(lead(t, 60, int64(1000*k+seed), track, constant(db)), 0.2)
			if len(spans) != 1 || !spans[0].still {
				wrong++
				t.Logf("%g dBFS, seed %d: %+v", db, seed, spans)
			}
		}
	}
	if wrong > 0 {
		t.Errorf("edges in %d of %d steady captures", wrong, captures)
	}
}

// Steps of 6 dB and more, up and down, above the floor and out of it: every edge
// is found within 0.4 s, and no other.
func TestEdgesOfSteps(t *testing.T) {
	kit.Unraced(t)
	for _, c := range []struct{ low, high float64 }{{-60, -54}, {-96, -90}, {-106, -100}, {-100, -80}, {-300, -100}, {-300, -60}} {
		for seed := range trials.Count(8) {
			at := []float64{11.07 + 0.13*float64(seed), 25.5, 37.31}
			level := func(s float64) float64 {
				if s >= at[0] && s < at[1] || s >= at[2] {
					return c.high
				}
				return c.low
			}
			spans := spansOf(lead(t, 50, int64(seed), wandering, level), 0.2)
			if len(spans) != 4 {
				t.Errorf("%v, seed %d: %d spans", c, seed, len(spans))
				continue
			}
			for i, s := range spans {
				if !s.still {
					t.Errorf("%v, seed %d: span %d isn't still", c, seed, i)
				}
				if i > 0 && math.Abs(float64(s.from)*0.2-at[i-1]) > 0.4 {
					t.Errorf("%v, seed %d: edge at %.1f s, want %.2f", c, seed, float64(s.from)*0.2, at[i-1])
				}
				want := c.low
				if i%2 == 1 {
					want = c.high
				}
				want += 10 * math.Log10(1+math.Pow(10, -0.6)+math.Pow(10, -1.2))
				if got := 10 * math.Log10(s.Power); want > -200 && math.Abs(got-want) > 0.6 {
					t.Errorf("%v, seed %d: span %d reads %.2f dBFS, want %.2f", c, seed, i, got, want)
				}
			}
		}
	}
}

// A lead that comes nearer from 15 s on and rests from 15 s + 24 dB ÷ slope: two
// spans stand still, and none of them reaches into the ramp by more than 0.4 s
// plus the time in which the ramp moves by less than a change.
func TestRamps(t *testing.T) {
	kit.Unraced(t)
	for _, slope := range []float64{0.2, 0.5, 1, 3, 10, 40} {
		for seed := range trials.Count(4) {
			end := 15 + 24/slope
			level := func(s float64) float64 { return -90 + slope*math.Min(math.Max(s-15, 0), 24/slope) }
			spans := spansOf(lead(t, end+15, int64(seed), wandering, level), 0.2)
			var still []span
			for _, s := range spans {
				if s.still {
					still = append(still, s)
				}
			}
			name := fmt.Sprintf("%g dB/s, seed %d", slope, seed)
			if len(still) != 2 {
				t.Errorf("%s: %d still spans of %+v", name, len(still), spans)
				continue
			}
			slack := 0.4 + 2/slope
			kit.Near(t, fmt.Sprintf("%s: the first ends", name), float64(still[0].to)*0.2, 15, slack)
			kit.Near(t, fmt.Sprintf("%s: the second begins", name), float64(still[1].from)*0.2, end, slack)
		}
	}
}

// An hour in which nothing changes is one span, found in little time.
func TestAnHour(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 7))
	steps := make([]mains.StepLevel, 18000)
	for i := range steps {
		x := 1e-5 + 1e-7*random.NormFloat64()
		steps[i] = mains.StepLevel{Read: x * x, Noise: 2e-14, Variance: 4e-24}
	}
	start := time.Now()
	if spans := spansOf(steps, 0.2); len(spans) != 1 || !spans[0].still || spans[0].to != len(steps) {
		t.Errorf("%d spans", len(spans))
	}
	if d := time.Since(start); d > 20*time.Second { // a fiftieth of that on an idle machine
		t.Errorf("took %s", d)
	}
}
