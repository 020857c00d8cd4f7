package mains

import (
	"context"
	"math"
	"testing"

	"humdiff/fft"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
)

// What wander within blocks takes off high harmonics is what walkLoss says, at
// two block lengths, two strengths of walk, and for every window.
func TestWanderLoss(t *testing.T) {
	kit.Unraced(t)
	t.Parallel()
	for _, c := range []struct {
		rate, walk float64
		window     fft.Window
	}{
		{11025, 0.005, fft.Nuttall}, // blocks of 1.49 s
		{11025, 0.015, fft.Nuttall},
		{12000, 0.01, fft.Nuttall}, // blocks of 1.37 s
		{12000, 0.01, fft.Hann},
		{12000, 0.01, fft.BlackmanHarris},
		{12000, 0.01, fft.FlatTop},
	} {
		const level, trials = 1e-6, 10
		loss, want := make(map[int]float64), make(map[int]float64)
		for seed := range int64(trials) {
			m := walkingComb(t, c.rate, c.walk, level, seed, c.window)
			for _, h := range []int{40, 90} {
				loss[h] -= 10 * math.Log10(m.lines[h-1].blockPower.mean/level) / trials
				want[h] = m.l.wanderLoss * float64(h*h) * math.Pow(2*math.Pi*c.walk, 2)
			}
		}
		for h, got := range loss {
			if want[h] < 0.2 && math.Abs(got/want[h]-1) > 0.15 { // scatter of 10 walks: 5 %
				t.Errorf("rate %g, walk %g Hz/√s, %s, h %d: lost %.4f dB, want %.4f", c.rate, c.walk, c.window.Name, h, got, want[h])
			}
		}
	}
}

func walkingComb(t *testing.T, rate, walk, level float64, seed int64, w fft.Window) *meter {
	t.Helper()
	c := bench.Comb{Rate: rate, Seconds: 15, Track: bench.Track{Hz: 50, Walk: walk}, FloorDBFSHz: -160, RandomPhase: true, Seed: seed}
	for h := 1; h <= 92; h++ {
		c.Lines = append(c.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: 10 * math.Log10(level)})
	}
	made := kit.Must(c.Make())(t)
	opt := Options{Window: w}.filled()
	l := kit.Must(newLayout(int(rate), int64(len(made.Samples)), opt))(t)
	obs := kit.Must(observe(context.Background(), made.Source(), l, nil, opt))(t)
	f, ok := search(&obs[0], l, opt)
	if !ok {
		t.Fatal("mains not found")
	}
	m := newMeter(l, &obs[0], f)
	m.add(obs[0].blocks)
	return m
}
