package mains

import (
	"context"
	"math"
	"testing"

	"humdiff/fixtures/bench"
)

// What wander within blocks takes off high harmonics is what wanderLoss says,
// at two block lengths and two strengths of walk.
func TestWanderLoss(t *testing.T) {
	t.Parallel()
	const level = 1e-6
	for _, rate := range []float64{11025, 12000} { // blocks of 1.49 and 1.37 s
		for _, walk := range []float64{0.005, 0.015} {
			loss := make(map[int]float64)
			const trials = 10
			block := 0.0
			for seed := range int64(trials) {
				m := walkingComb(t, rate, walk, level, seed)
				block = float64(m.l.lowN) / m.l.lowRate
				for _, h := range []int{40, 90} {
					loss[h] -= 10 * math.Log10(m.lines[h-1].blockPower.mean/level) / trials
				}
			}
			q := math.Pow(2*math.Pi*walk, 2)
			for h, got := range loss {
				want := wanderLoss * float64(h*h) * q * block * block * block
				if want < 0.2 && math.Abs(got/want-1) > 0.15 { // scatter of 10 walks: 5 %
					t.Errorf("rate %g, walk %g Hz/√s, h %d: lost %.4f dB, want %.4f", rate, walk, h, got, want)
				}
			}
		}
	}
}

func walkingComb(t *testing.T, rate, walk, level float64, seed int64) *meter {
	t.Helper()
	c := bench.Comb{Rate: rate, Seconds: 15, Track: bench.Track{Hz: 50, Walk: walk}, FloorDBFSHz: -160, RandomPhase: true, Seed: seed}
	for h := 1; h <= 92; h++ {
		c.Lines = append(c.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: 10 * math.Log10(level)})
	}
	made, err := c.Make()
	if err != nil {
		t.Fatal(err)
	}
	opt := Options{}.filled()
	l, err := newLayout(int(rate), int64(len(made.Samples)), opt)
	if err != nil {
		t.Fatal(err)
	}
	obs, err := observe(context.Background(), made.Source(), l, opt.Progress)
	if err != nil {
		t.Fatal(err)
	}
	f, ok := search(&obs[0], l, opt)
	if !ok {
		t.Fatal("mains not found")
	}
	m := newMeter(l, &obs[0], f)
	m.add(obs[0].blocks)
	return m
}
