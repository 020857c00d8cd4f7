package plan

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// Unknown is how many repeats to make of each cable where nothing is known of
// their spread. A mean of six is known to ±1.05 of its standard deviations (the
// t of 5 degrees of freedom over √6), one of three only to ±2.5.
const Unknown = 6

// most is where counting repeats ends: nobody makes more.
const most = 10000

// Repeats is how many repeats of each of two cables tell their means apart by
// differ dB with a probability of power, where single repeats spread by spread
// dB (standard deviation) and the test is Student's, two-sided, at level alpha.
// Where several pairs are compared, alpha is what is left for one of them. 0
// where no number that anybody could record does.
func Repeats(differ, spread, power, alpha float64) int {
	return fewest(func(n int) bool { return Power(n, differ, spread, alpha) >= power })
}

// RepeatsSame is how many repeats of each of two cables, set against each other in
// pairs, show with a probability of power that they are the same within margin dB,
// where they are, and differences of pairs spread by spread dB.
func RepeatsSame(margin, spread, power, alpha float64) int {
	return fewest(func(n int) bool { return PowerSame(n, margin, 0, spread, alpha) >= power })
}

// fewest is the first number of repeats that is enough; 0 where none is.
func fewest(enough func(n int) bool) int {
	if !enough(most) {
		return 0
	}
	return 2 + sort.Search(most-2, func(i int) bool { return enough(i + 2) })
}

// PowerSame is the probability that n differences of pairs, which spread by spread dB
// around a true one, pass two one-sided tests of lying within margin dB, each at level
// alpha (Schuirmann 1987): that their mean lies within margin less t·s/√n, averaged
// over the quantiles of their own spread s.
func PowerSame(n int, margin, truly, spread, alpha float64) float64 {
	nu := float64(n - 1)
	t := distuv.StudentsT{Sigma: 1, Nu: nu}.Quantile(1 - alpha)
	u := spread / math.Sqrt(float64(n))
	return overVariance(nu, func(s float64) float64 {
		room := margin - t*u*s
		if room <= 0 {
			return 0
		}
		return distuv.UnitNormal.CDF((room-truly)/u) - distuv.UnitNormal.CDF((-room-truly)/u)
	})
}

// Power is the probability that n repeats of each of two cables tell them apart:
// that Student's t of 2n−2 degrees of freedom, noncentral by
// differ/spread·√(n/2), lies beyond its two-sided point of level alpha.
func Power(n int, differ, spread, alpha float64) float64 {
	nu := float64(2*n - 2)
	t := distuv.StudentsT{Sigma: 1, Nu: nu}.Quantile(1 - alpha/2)
	shift := math.Abs(differ) / spread * math.Sqrt(float64(n)/2)
	return 1 - noncentralT(t, nu, shift) + noncentralT(-t, nu, shift)
}

// noncentralT is the probability that (Z + shift)/√(V/nu) is at most t, Z normal
// and V chi-square with nu degrees of freedom: the mean of Φ(t·√(V/nu) − shift).
func noncentralT(t, nu, shift float64) float64 {
	return overVariance(nu, func(s float64) float64 { return distuv.UnitNormal.CDF(t*s - shift) })
}

// overVariance is the mean of a function of √(V/nu), V chi-square with nu degrees of
// freedom.
func overVariance(nu float64, of func(s float64) float64) float64 {
	v := distuv.Gamma{Alpha: nu / 2, Beta: 0.5}
	sd := math.Sqrt(2 * nu)
	lo, hi := math.Max(0, nu-12*sd), nu+12*sd+40
	f := func(x float64) float64 {
		return v.Prob(x) * of(math.Sqrt(x/nu))
	}
	if nu <= 2 { // the density is finite at 0 only there: take √x for the variable
		g := func(y float64) float64 { return 2 * y * f(y*y) }
		return quad.Fixed(g, math.Sqrt(lo), math.Sqrt(hi), 200, nil, 0)
	}
	return quad.Fixed(f, lo, hi, 200, nil, 0)
}
