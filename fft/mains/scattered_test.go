package mains

import (
	"math/rand/v2"
	"testing"
)

// Lines that noise and a wander of 20 mHz put off their places are one comb; peaks anywhere
// within 1 % of theirs are none.
func TestScattered(t *testing.T) {
	l, err := newLayout(48000, 20*48000, Options{}.filled())
	if err != nil {
		t.Fatal(err)
	}
	c, missed := contest{l: l}, 0
	for seed := range uint64(1000) {
		r := rand.New(rand.NewPCG(seed, 33))
		var comb, peaks []Line
		for range 4 + r.IntN(30) {
			h := 1 + r.IntN(90)
			place := float64(h) * 50.03
			near := place + l.binHz()/2*(2*r.Float64()-1) + 0.02*float64(h)*min(1, max(-1, r.NormFloat64()))/2
			comb = append(comb, Line{Harmonic: h, Hz: near, Level: Level{Detected: true}})
			h += 10
			peaks = append(peaks, Line{Harmonic: h, Hz: float64(h) * 50.03 * (1 + 0.01*(2*r.Float64()-1)), Level: Level{Detected: true}})
		}
		if c.scattered(comb) {
			t.Errorf("seed %d: %d lines of one comb are said to be none", seed, len(comb))
		}
		if len(peaks) > 8 && !c.scattered(peaks) {
			missed++
		}
	}
	// Chance puts half of ten low peaks on one comb about once in a thousand draws.
	if missed > 5 {
		t.Errorf("peaks are taken for one comb in %d of 1000 draws", missed)
	}
}
