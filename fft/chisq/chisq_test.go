package chisq

import (
	"math"
	"testing"
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
		{1.44, 4, 0.25, 1 - 0.85225816},       // Q2(0.5,1.2)
	} {
		tol := 1e-12
		if c.want == 1-0.85225816 {
			tol = 5e-9 // published to eight digits
		}
		if got := CDF(c.x, c.k, c.lambda); math.Abs(got-c.want) > tol {
			t.Errorf("CDF(%g, %g, %g) = %.15f, want %.15f", c.x, c.k, c.lambda, got, c.want)
		}
		if sum := CDF(c.x, c.k, c.lambda) + Survival(c.x, c.k, c.lambda); math.Abs(sum-1) > 1e-12 {
			t.Errorf("CDF + Survival at (%g, %g, %g) = %.15f", c.x, c.k, c.lambda, sum)
		}
	}
}

// The 95 % classical upper limit λ, in noise-bin units, from an observed power
// u: CDF(2u, 2, 2λ) = 0.05. SciPy 1.10.
func TestNoncentrality(t *testing.T) {
	for _, c := range []struct{ u, p, want float64 }{
		{0.5, 0.05, 2.616375431}, {1, 0.05, 3.918036938}, {3, 0.05, 7.728855691},
		{6, 0.05, 12.440540199}, {10, 0.05, 18.122337269}, {30, 0.05, 43.542706399},
		{0.5, 0.10, 1.748973765}, {30, 0.01, 50.155896825},
		{0.05, 0.05, 0}, // below −ln 0.95 there is none
	} {
		if got := Noncentrality(2*c.u, 2, c.p) / 2; math.Abs(got-c.want) > 1e-6 {
			t.Errorf("limit(u=%g, p=%g) = %.9f, want %.9f", c.u, c.p, got, c.want)
		}
	}
}

// The approximation for large noncentralities must join the exact sum.
func TestApproximationJoins(t *testing.T) {
	for _, k := range []float64{2, 12, 88.5, 400} {
		for _, z := range []float64{-4, -1.96, 0, 1.96, 4} {
			l := float64(sankaranFrom)
			x := k + l + z*math.Sqrt(2*(k+2*l))
			exact, near := poissonMixture(x/2, k/2, l/2), sankaran(x, k, l)
			if math.Abs(exact-near) > 1e-5 {
				t.Errorf("k=%g z=%g: exact %.8f, approximation %.8f", k, z, exact, near)
			}
		}
	}
}

func BenchmarkNoncentrality(b *testing.B) {
	for range b.N {
		Noncentrality(500, 12, 0.025)
	}
}
