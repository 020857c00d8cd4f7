package likeness

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Of loud noise played into both, a copy scaled and rounded again is told from a second
// recording of it, though that has no noise of its own but its rounding.
func TestScaledCopyHasTheFirstsRounding(t *testing.T) {
	const n, step = 4000, 0x1p-15
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 1))
		fine := step / []float64{1, 256}[r.IntN(2)]
		gain := math.Pow(10, -(0.5+5*r.Float64())/20)
		rounded := func(x, step float64) float64 { return step * math.Round(x/step) }
		first := &stretch{rawRate: 400, step: step}
		copied, apart := &stretch{rawRate: 400, step: fine}, &stretch{rawRate: 400, step: fine}
		for range n {
			x := step * (20 + 500*r.Float64()) * r.NormFloat64()
			first.raw = append(first.raw, rounded(x, step))
			copied.raw = append(copied.raw, rounded(gain*rounded(x, step), fine))
			apart.raw = append(apart.raw, rounded(gain*x, fine))
		}
		if !sameSamples(first, copied, 0) || !sameSamples(copied, first, 0) {
			t.Errorf("seed %d, gain %.3f, step %g: a copy is not told", seed, gain, fine)
		}
		if sameSamples(first, apart, 0) || sameSamples(apart, first, 0) {
			t.Errorf("seed %d, gain %.3f, step %g: a second recording is called a copy", seed, gain, fine)
		}
	}
}
