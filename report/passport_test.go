package report

import (
	"math"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/fixtures/kit"
	"humdiff/report/model"
)

// By hand: 1 and 1.5, each within 10 % and a half-width of ln 1.1 = 0.0953, lie ln 1.5 =
// 0.405 apart, of 0.0953·√2 allowed: an error of −3.01. 1 and 1.1 lie 0.71 apart. A bound
// agrees with what it doesn't exclude.
func TestAgreeing(t *testing.T) {
	of := func(v float64) model.Quotient {
		return model.Quotient{Quantity: model.OfCapacitance, Value: estimate.Of(v, v/1.1, v*1.1)}
	}
	far, near := agreeing("Grebe", of(1), of(1.5)), agreeing("Grebe", of(1), of(1.1))
	kit.Near(t, "far apart", float64(far.Error), -3.01, 0.005)
	kit.Near(t, "near", float64(near.Error), -math.Sqrt(0.5), 0.005)
	if far.Agrees != model.No || near.Agrees != model.Yes {
		t.Errorf("far %q, near %q", far.Agrees, near.Agrees)
	}
	bound := of(1)
	bound.Value = estimate.Below(0.5)
	if row := agreeing("Grebe", of(1), bound); row.Agrees != model.No || row.Error.Ok() {
		t.Errorf("below half of it: %+v", row)
	}
	bound.Value = estimate.Below(2)
	if row := agreeing("Grebe", of(1), bound); row.Agrees != model.Yes {
		t.Errorf("below twice of it: %+v", row)
	}
}
