package mains_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"humdiff/fft"
	"humdiff/fft/mains"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/situation"
	"humdiff/fixtures/trials"
)

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
