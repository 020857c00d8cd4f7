package repeats

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if got != want && !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.6g, want %.6g", what, got, want)
	}
}

// JCGM 100:2008 (GUM), 4.4.3 Table 1: twenty temperatures; mean 100.145 °C,
// s 1.489 °C, s/√20 0.333 °C (from memory; recomputed with NumPy).
func TestTemperatures(t *testing.T) {
	m, err := Of([]float64{
		96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
		100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
	}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", m.Value, 100.145, 5e-7)
	near(t, "s", m.SD, 1.488844, 5e-7)
	// t(0.025; 19) = 2.093, NIST/SEMATECH e-Handbook.
	near(t, "half-width", m.Half, 2.0930240544*0.332916, 1e-5)
}

// GUM H.1, end gauge: inputs as in GTC's documentation (GUM_H1.rst). The GUM
// prints ν_eff = 16.7 and t99 = 2.92; unrounded it is 16.7519.
func TestEndGauge(t *testing.T) {
	parts := []Part{{25, 18}, {5.8, 24}, {3.9, 5}, {6.7, 8}, {2.88679, 50}, {16.599, 2}}
	near(t, "ν_eff", EffectiveDOF(parts), 16.7519, 5e-4)
	// The GUM prints 25.6, which comes from u_c rounded to 9.7.
	near(t, "ν_eff of d", EffectiveDOF(parts[1:4]), 25.447251, 1e-5)
	near(t, "t99(16)", quantile(0.99, 16), 2.920782, 1e-6)
}

// GUM G.4.1: relative uncertainties 0.25 % (n = 10), 0.57 % (5), 0.82 % (15)
// give ν_eff = 19.0 and t95 = 2.09 (from memory; recomputed 18.998742, 2.093024).
func TestThreeInputs(t *testing.T) {
	parts := []Part{{0.25, 9}, {0.57, 4}, {0.82, 14}}
	near(t, "ν_eff", EffectiveDOF(parts), 18.998742, 1e-6)
	near(t, "t95(19)", quantile(0.95, 19), 2.093024, 1e-6)
	near(t, "ν of known parts", EffectiveDOF([]Part{{1, math.Inf(1)}}), math.Inf(1), 0)
}

// Welch's two samples, s = 0.3 and 0.5, n = 5 and 5: ν = 6.549575 (computed with
// SciPy). The half-width is t(0.025; ν)·√(0.09/5 + 0.25/5).
func TestDifference(t *testing.T) {
	a, b := Mean{N: 5, Value: 10, SD: 0.3}, Mean{N: 5, Value: 13, SD: 0.5}
	near(t, "ν", EffectiveDOF([]Part{{0.3 / math.Sqrt(5), 4}, {0.5 / math.Sqrt(5), 4}}), 6.549575, 1e-6)
	value, half := Difference(a, b, 0.95)
	near(t, "difference", value, 3, 1e-12)
	near(t, "half-width", half, quantile(0.95, 6.549575)*math.Sqrt(0.068), 1e-6)
	if _, err := Of([]float64{1}, 0.95); err == nil {
		t.Error("the mean of one repeat has an interval")
	}
}
