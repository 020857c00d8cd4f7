package mains_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/trials"
)

// Of a tune beneath hum, whose notes begin at once, no click is told.
func TestTuneBeneathHum(t *testing.T) {
	kit.Unraced(t)
	t.Parallel()
	for seed := range uint64(trials.Count(40)) {
		r := rand.New(rand.NewPCG(seed, 32))
		c := bench.Comb{Rate: 16000, Seconds: 20, Track: bench.Track{Hz: 50, WanderHz: 0.02, WanderSeconds: 20}, FloorDBFSHz: -110, RandomPhase: true, Seed: int64(seed)}
		for h := 1; h <= 20; h++ {
			c.Lines = append(c.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: -20 - 25*math.Log10(float64(h))})
		}
		made := kit.Must(c.Make())(t)
		for at := 0.0; at < c.Seconds; at += 0.25 {
			hz := 110 * math.Pow(2, float64(r.IntN(24))/12)
			for k := 1; k <= 4; k++ {
				phase, loud := 2*math.Pi*r.Float64(), 0.003/float64(k)
				for i := int(at * c.Rate); i < min(int((at+0.5)*c.Rate), len(made.Samples)); i++ {
					made.Samples[i] += loud * math.Sin(2*math.Pi*hz*float64(k)*float64(i)/c.Rate+phase)
				}
			}
		}
		m := kit.Must(mains.Measure(context.Background(), made.Source(), mains.Options{}))(t)[0]
		if !m.Mains.Detected || has(m.Warnings, "clicks") {
			t.Errorf("seed %d: %v, %d tones, %v", seed, m.Mains.Doubt, len(m.Tones), m.Warnings)
		}
	}
}
