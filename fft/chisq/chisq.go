// Package chisq takes in a power and gives out how likely it is where a sine lies in
// Gaussian noise (the noncentral chi-square), with the inversions that levels,
// intervals and upper limits need; it knows nothing of spectra. Central
// distributions come from gonum.
package chisq

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// sankaranFrom is the noncentrality above which the normal approximation is
// used; its error there is below 1e-5 in probability (tested).
const sankaranFrom = 3000

// CDF is the probability that a noncentral chi-square variable with k > 0
// degrees of freedom (any real number) and noncentrality lambda ≥ 0 is at most x.
func CDF(x, k, lambda float64) float64 {
	switch {
	case x <= 0:
		return 0
	case lambda == 0:
		return mathext.GammaIncReg(k/2, x/2)
	case lambda > sankaranFrom:
		return sankaran(x, k, lambda)
	}
	return poissonMixture(x/2, k/2, lambda/2)
}

// Survival is 1 − CDF. Where lambda is 0 it keeps its digits far out in the tail.
func Survival(x, k, lambda float64) float64 {
	if x <= 0 {
		return 1
	}
	if lambda == 0 {
		return mathext.GammaIncRegComp(k/2, x/2)
	}
	return 1 - CDF(x, k, lambda)
}

// poissonMixture is Σ_j Poisson(j; l) P(a+j, x), summed outwards from the
// Poisson's mode so that no term under- or overflows. P(a+1, x) =
// P(a, x) − x^a e^−x / Γ(a+1) (DLMF 8.8.5).
func poissonMixture(x, a, l float64) float64 {
	mode := math.Floor(l)
	weight := math.Exp(mode*math.Log(l) - l - lnGamma(mode+1))
	p := mathext.GammaIncReg(a+mode, x)
	step := math.Exp((a+mode)*math.Log(x) - x - lnGamma(a+mode+1)) // P(a+j) − P(a+j+1)

	sum := 0.0
	for j, w, pj, s := mode, weight, p, step; w > 1e-18 || j < mode+10; j++ {
		sum += w * pj
		pj = max(0, pj-s)
		s *= x / (a + j + 1)
		w *= l / (j + 1)
	}
	for j, w, pj, s := mode, weight, p, step; j > 0 && w > 1e-18; j-- {
		w *= j / l
		s *= (a + j) / x
		pj = min(1, pj+s)
		sum += w * pj
	}
	return min(1, sum)
}

func lnGamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}

// sankaran is M. Sankaran's normal approximation (Biometrika 1963).
func sankaran(x, k, l float64) float64 {
	h := 1 - 2*(k+l)*(k+3*l)/(3*(k+2*l)*(k+2*l))
	p := (k + 2*l) / ((k + l) * (k + l))
	m := (h - 1) * (1 - 3*h)
	z := (math.Pow(x/(k+l), h) - (1 + h*p*(h-1-0.5*(2-h)*m*p))) /
		(h * math.Sqrt(2*p) * (1 + 0.5*m*p))
	return distuv.UnitNormal.CDF(z)
}

// Root finds where a function that falls with its argument crosses zero on
// 0 … ∞, to a relative 1e-9, given a first guess of the scale. It returns 0
// where the function is not positive at 0.
func Root(f func(float64) float64, scale float64) float64 {
	if f(0) <= 0 {
		return 0
	}
	lo, hi := 0.0, scale
	fhi := f(hi)
	for fhi > 0 {
		if lo, hi = hi, 2*hi; math.IsInf(hi, 1) {
			return hi
		}
		fhi = f(hi)
	}
	flo := math.NaN()
	for lo == 0 || math.IsNaN(flo) { // until the scale of the root is known
		mid := (lo + hi) / 2
		if mid == lo || mid == hi {
			return mid
		}
		if y := f(mid); y > 0 {
			lo, flo = mid, y
		} else {
			hi, fhi = mid, y
		}
	}
	return interpolated(f, lo, hi, flo, fhi)
}

// interpolated narrows a bracket by Chandrupatla's method (T. R. Chandrupatla 1997,
// from memory): the inverse parabola through three points where their values let it be
// one, else the middle. Ten steps do, wherever in the bracket the root lies.
func interpolated(f func(float64) float64, lo, hi, flo, fhi float64) float64 {
	a, b, fa, fb := lo, hi, flo, fhi // the newest point, and one across the root
	t := fa / (fa - fb)              // where to look, as a share of the way from a to b
	for range 200 {
		x := a + t*(b-a)
		fx := f(x)
		c, fc := b, fb // the one before
		if (fx > 0) == (fa > 0) {
			c, fc = a, fa
		} else {
			b, fb = a, fa
		}
		a, fa = x, fx
		best := a
		if math.Abs(fb) < math.Abs(fa) {
			best = b
		}
		least := 0.5e-9 * math.Abs(best) / math.Abs(b-a)
		if fa == 0 || !(least <= 0.5) {
			return best
		}
		t = 0.5
		if xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb); phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			t = fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
		}
		t = min(max(t, least), 1-least)
	}
	return a
}
