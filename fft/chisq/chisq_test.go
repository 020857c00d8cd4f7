package chisq

import (
	"fmt"
	"math"
	"testing"

	"humdiff/fixtures/kit"
)

// Values computed with SciPy 1.10 (scipy.stats.ncx2), and Marcum's Q where
// noted: Q1(a,b) = Survival(b², 2, a²). The Q1 values with more digits are from
// arbitrary-precision arithmetic in public sources.
func TestCDF(t *testing.T) {
	for _, c := range []struct{ x, k, lambda, want float64 }{
		{1, 2, 1, 0.26712019620318},
		{4, 2, 2, 0.60570314110767},
		{10, 2, 4, 0.83143108646987},
		{20, 20, 5, 0.27776019942949},
		{1, 2, 0, 1 - 0.60653065971263342360}, // Q1(0,1)
		{1, 2, 1, 1 - 0.73287980379682021825}, // Q1(1,1)
		{4, 2, 1, 1 - 0.26901206003590999668}, // Q1(1,2)
		{1, 2, 4, 1 - 0.91810769636940600391}, // Q1(2,1)
		{4, 2, 4, 1 - 0.60350096061199},       // Q1(2,2)
		{4, 2, 9, 1 - 0.88672075440239},       // Q1(3,2)
		{9, 2, 1, 1 - 0.04371597157864},       // Q1(1,3)
		{9, 2, 9, 1 - 0.56747976229086},       // Q1(3,3)
		{16, 2, 25, 1 - 0.86704979507793},     // Q1(5,4)
		{1.44, 2, 0.25, 1 - 0.52884886909442}, // Q1(0.5,1.2)
	} {
		kit.Near(t, fmt.Sprintf("CDF(%g, %g, %g)", c.x, c.k, c.lambda), CDF(c.x, c.k, c.lambda), c.want, 1e-12)
		kit.Near(t, fmt.Sprintf("CDF + Survival at %g, %g, %g", c.x, c.k, c.lambda), CDF(c.x, c.k, c.lambda)+Survival(c.x, c.k, c.lambda), 1, 1e-12)
	}
}

// Marcum's Q2(0.5, b) = Survival(b², 4, 0.25), published to eight digits in a
// communications library's documentation.
func TestMarcumQ2(t *testing.T) {
	for b, want := range map[float64]float64{1.2: 0.85225816, 1.4: 0.76472056, 1.6: 0.66139663} {
		kit.Near(t, fmt.Sprintf("Q2(0.5, %g)", b), Survival(b*b, 4, 0.25), want, 0.51e-8)
	}
}

// Detection: noise power of mean 1 in a bin is exponential, P(u > x) = e^−x, so
// the threshold for a rate of false alarms p is −ln p; a line of power l times
// the bin's noise is then detected with P(2x; 2, 2l). SciPy 1.10.
func TestDetection(t *testing.T) {
	for p, want := range map[float64]float64{
		0.05: 2.995732273554, 0.01: 4.605170185988, 1e-3: 6.907755278982,
		1e-4: 9.210340371976, 1e-6: 13.815510557964,
	} {
		kit.Near(t, fmt.Sprintf("false alarms at %g over %g", want, p), Survival(2*want, 2, 0)/p, 1, 1e-11)
	}
	for p, want := range map[float64]float64{1e-3: 8.393369, 1e-6: 11.403669} {
		kit.Near(t, fmt.Sprintf("threshold for %g in dB", p), Survival(2*math.Pow(10, want/10), 2, 0)/p, 1, 2e-6)
	}
	const threshold = 6.907755278982
	for db, want := range map[float64]float64{3: 0.0624265722, 6: 0.2300129221, 10: 0.8102923743, 13: 0.9965632058} {
		kit.Near(t, fmt.Sprintf("detected at %g dB", db), Survival(2*threshold, 2, 2*math.Pow(10, db/10)), want, 0.51e-10)
	}
	// K averages: the threshold over the mean. SciPy's chi2.isf(p, 2K)/2K.
	for k, want := range map[float64][2]float64{
		1: {6.9077552790, 13.8155105580}, 2: {4.6167067382, 8.3442103954}, 4: {3.2655601948, 5.3376142408},
		10: {2.2657373309, 3.2710340518}, 50: {1.4944925278, 1.8212677712}, 100: {1.3377026391, 1.5491904600},
	} {
		for i, p := range []float64{1e-3, 1e-6} {
			kit.Near(t, fmt.Sprintf("false alarms of %g averages, over %g", k, p), Survival(2*k*want[i], 2*k, 0)/p, 1, 1e-7)
		}
	}
}

// noncentrality is the lambda at which a value of x or less has probability p, or
// 0 where even lambda = 0 makes it rarer.
func noncentrality(x, k, p float64) float64 {
	return Root(func(l float64) float64 { return CDF(x, k, l) - p }, max(1, x))
}

// The classical upper limit λ, in noise-bin units, from an observed power u:
// CDF(2u, 2, 2λ) = 1 − confidence. SciPy 1.10.
func TestNoncentrality(t *testing.T) {
	observed := []float64{0.5, 1, 3, 6, 10, 30}
	for p, limits := range map[float64][]float64{
		0.10: {1.748973765, 2.906290036, 6.333560311, 10.670847578, 15.982683580, 40.207415232},
		0.05: {2.616375431, 3.918036938, 7.728855691, 12.440540199, 18.122337269, 43.542706399},
		0.01: {4.597142880, 6.177124622, 10.706375705, 16.118830165, 22.493776306, 50.155896825},
	} {
		for i, u := range observed {
			got := noncentrality(2*u, 2, p) / 2
			// Root stops at a relative 1e-9.
			kit.Near(t, fmt.Sprintf("limit(u=%g, p=%g)", u, p), got, limits[i], 0.51e-9+1e-9*limits[i])
		}
	}
	// Below −ln 0.95 = 0.0513 even no line at all is rarer than 5 %.
	kit.Same(t, noncentrality(2*0.0512, 2, 0.05), 0, "limit below the empty region's edge")
	if got := noncentrality(2*0.0514, 2, 0.05); !(got > 0) {
		t.Errorf("limit above the empty region's edge: %g", got)
	}
}

// The approximation for large noncentralities must join the exact sum.
func TestApproximationJoins(t *testing.T) {
	for _, k := range []float64{2, 12, 88.5, 400} {
		for _, z := range []float64{-4, -1.96, 0, 1.96, 4} {
			l := float64(sankaranFrom)
			x := k + l + z*math.Sqrt(2*(k+2*l))
			exact, near := poissonMixture(x/2, k/2, l/2), sankaran(x, k, l)
			kit.Near(t, fmt.Sprintf("k=%g z=%g: exact", k, z), exact, near, 1e-5)
		}
	}
}

func BenchmarkNoncentrality(b *testing.B) {
	for range b.N {
		noncentrality(500, 12, 0.025)
	}
}

// A root is found to a relative 1e-9 wherever it lies between bounds, of functions
// straight, steep, flat and with a step, in few steps.
func TestRoot(t *testing.T) {
	for name, c := range map[string]struct {
		f     func(float64) float64
		root  float64
		scale float64
		steps int
	}{
		"straight":                {func(x float64) float64 { return 3 - x }, 3, 1, 12},
		"near the scale":          {func(x float64) float64 { return 0.999 - x }, 0.999, 1, 12},
		"far beyond it":           {func(x float64) float64 { return 1e6 - x }, 1e6, 1, 40},
		"far below it":            {func(x float64) float64 { return 1e-6 - x }, 1e-6, 1, 40},
		"steep":                   {func(x float64) float64 { return math.Exp(-40*x) - math.Exp(-40*0.7) }, 0.7, 1, 40},
		"flat":                    {func(x float64) float64 { return -math.Pow(x-2, 5) }, 2, 3, 90},
		"a probability":           {func(x float64) float64 { return math.Erfc(30*(x-0.9)) - 0.05 }, 0.9 + math.Erfinv(0.95)/30, 1, 20},
		"a step":                  {func(x float64) float64 { return math.Copysign(1, 0.3-x) }, 0.3, 1, 50},
		"not positive at nothing": {func(x float64) float64 { return -1 - x }, 0, 1, 1},
	} {
		steps := 0
		got := Root(func(x float64) float64 { steps++; return c.f(x) }, c.scale)
		if math.Abs(got-c.root) > 1e-9*c.root || steps > c.steps {
			t.Errorf("%s: %.12g after %d steps, want %.12g within %d", name, got, steps, c.root, c.steps)
		}
	}
}
