package repeats

import (
	"math"
	"testing"
)

// NIST/SEMATECH e-Handbook, 1.3.5.3, data AUTO83B: 249 and 79 cars, means
// 20.14458 and 30.48101, s 6.414700 and 6.107710. Variances unequal it prints
// T = −12.94627 with 136.8750 degrees of freedom (from memory; recomputed).
func TestMinusIsWelchsStatistic(t *testing.T) {
	a, b := Mean{N: 249, Value: 20.14458, SD: 6.414700}, Mean{N: 79, Value: 30.48101, SD: 6.107710}
	e := Minus(a, b)
	near(t, "T", e.Value/e.U, -12.94627, 1e-5)
	near(t, "Welch's ν", EffectiveDOF([]Part{{a.Estimate().U, 248}, {b.Estimate().U, 78}}), 136.8750, 1e-4)
	near(t, "ν", e.DOF, 78, 0)
}

// Student's t, NIST/SEMATECH e-Handbook, 1.3.6.7.2: 4.303 (2), 3.182 (3), 2.776
// (4), 2.262 (9) at 0.975; 9.925 (2) at 0.995.
func TestBounds(t *testing.T) {
	for _, c := range []struct{ nu, tail, want float64 }{
		{2, 0.025, 4.303}, {3, 0.025, 3.182}, {4, 0.025, 2.776}, {9, 0.025, 2.262}, {2, 0.005, 9.925},
	} {
		e := Estimate{10, 2, c.nu}
		near(t, "upper", e.Upper(c.tail), 10+2*c.want, 2*0.0005)
		near(t, "lower", e.Lower(c.tail), 10-2*c.want, 2*0.0005)
		near(t, "p at its own bound", e.Above(e.Lower(c.tail)), c.tail, 1e-9)
		near(t, "p at its own bound", e.Below(e.Upper(c.tail)), c.tail, 1e-9)
	}
}

// An end that isn't bounded bounds nothing, and one repeat says nothing of its
// spread.
func TestNoBound(t *testing.T) {
	none := Estimate{math.Inf(-1), 0, 2}
	near(t, "p", none.Above(-1000), 1, 0)
	near(t, "lower", none.Lower(0.025), math.Inf(-1), 0)
	once := Mean{N: 1, Value: 3, SD: math.NaN()}.Estimate()
	for _, v := range []float64{once.Lower(0.025), once.Upper(0.025), once.Above(0), once.Below(9)} {
		if !math.IsNaN(v) {
			t.Errorf("one repeat gives %g", v)
		}
	}
	same := Estimate{3, 0, 2}
	near(t, "p of equal repeats", same.Above(2), 0, 0)
	near(t, "p of equal repeats", same.Above(4), 1, 0)
}

// S. Holm's procedure on 0.01, 0.04, 0.03, 0.005: 0.03, 0.06, 0.06, 0.02 (the
// usual worked example; from memory, recomputed by hand: 4·0.005, 3·0.01, 2·0.03, and 0.04
// may not be less than what comes before it).
func TestHolm(t *testing.T) {
	want := []float64{0.03, 0.06, 0.06, 0.02}
	for i, p := range Holm([]float64{0.01, 0.04, 0.03, 0.005}) {
		near(t, "adjusted p", p, want[i], 1e-15)
	}
	if got := Holm([]float64{0.6, 0.7}); got[0] != 1 || got[1] != 1 {
		t.Errorf("p values beyond 1: %v", got)
	}
	if len(Holm(nil)) != 0 {
		t.Error("no p values have adjusted ones")
	}
}
