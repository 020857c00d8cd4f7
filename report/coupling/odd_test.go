package coupling

import (
	"math"
	"math/rand/v2"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// Whatever is stated of benches and pickups, phases known or not, attribution comes to an
// end, and its bounds are numbers.
func TestOddBenches(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	one := func(v ...float64) float64 { return v[r.IntN(len(v))] }
	word := func(v ...string) string { return v[r.IntN(len(v))] }
	pickup := func() model.Estimate {
		x := one(0, 1e-9, 1e-6, 1e300, 1e-300)
		return []model.Estimate{
			estimate.Of(x, x*one(0, 0.9, 1), x*one(1, 1.1)).At(one(0, 1, 3), one(0.1, 0)),
			estimate.Below(x), estimate.Between(0, x), estimate.Above(x), estimate.None(""),
		}[r.IntN(5)]
	}
	for range 2000 {
		var runs []Run
		for range 1 + r.IntN(5) {
			source := one(0, 20, 2e3, 1e-300, 1e300, math.Inf(1))
			runs = append(runs, Run{
				Pickup: pickup(), Loaded: word("", model.Yes, model.No), Bonded: word("", model.Yes, model.No, model.ClassTwo), Plug: r.IntN(3),
				Amps: []model.Estimate{{}, exactly(2), exactly(0), exactly(1e300)}[r.IntN(4)],
				Bench: Bench{MainsVolts: exactly(230), Hz: one(50, 0, 1e300), SourceOhms: exactly(source), FarEndOpen: math.IsInf(source, 1),
					InputOhms: exactly(one(1e5, 0, 1e300)), Balanced: r.IntN(9) == 0},
			})
		}
		for i, f := range Mechanism(runs).Findings {
			for m, s := range f.sums {
				if !s.known() {
					t.Fatalf("%+v: ways %04b %v", runs[i], m, s)
				}
			}
		}
	}
}
