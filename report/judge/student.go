package judge

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// mean is a mean of repeats, taken to be independent and Gaussian in decibels.
type mean struct {
	n     int
	value float64 // infinite where one of the repeats is
	sd    float64 // of one repeat; NaN where there is one alone
}

// meanOf is the mean of repeats (JCGM 100:2008, 4.2).
func meanOf(x []float64) mean {
	value, sd := stat.MeanStdDev(x, nil)
	switch {
	case len(x) < 2:
		return mean{len(x), value, math.NaN()}
	case math.IsInf(value, 0):
		return mean{len(x), value, 0} // no bound is no bound, for sure
	}
	return mean{len(x), value, sd}
}

// truth is what a mean says of what it is the mean of.
func (m mean) truth() student {
	return student{m.value, m.sd / math.Sqrt(float64(m.n)), float64(m.n - 1)}
}

// student is what repeats say of the truth: (value − truth)/u follows Student's t.
type student struct {
	value float64 // may be infinite: then it isn't bounded
	u     float64 // NaN where nothing is known of it
	dof   float64
}

// less is a − b where the two may spread differently: Welch's statistic, but with
// the degrees of freedom of the smaller sample. Those of Welch and Satterthwaite
// are right for intervals of 95 % and samples alike; at 2 against 6 repeats they
// let 11 % of true values lie outside, and in the far tails that Holm's procedure
// needs they are wrong by a factor of 3 (three repeats each) to 19 (two against
// six). With the smaller sample's the error never exceeds its stated rate, whatever
// the two variances are (Hsu 1938; Mickey and Brown, Annals of Mathematical
// Statistics 37, 1966, 639).
func (a mean) less(b mean) student {
	return student{a.value - b.value, math.Hypot(a.truth().u, b.truth().u), float64(min(a.n, b.n) - 1)}
}

// negative is what repeats say of the truth with its sign turned.
func (s student) negative() student { return student{-s.value, s.u, s.dof} }

// and adds a standard uncertainty that is as good as known (GUM, G.4.1).
func (s student) and(u float64) student {
	if !(u > 0) {
		return s
	}
	own, all := s.u*s.u, s.u*s.u+u*u
	return student{s.value, math.Sqrt(all), s.dof * all * all / (own * own)}
}

// lower is the one-sided lower bound that is too high in a share of tail of cases,
// upper the upper one that is too low; NaN where u is unknown.
func (s student) lower(tail float64) float64 { return s.value - s.reach(tail) }
func (s student) upper(tail float64) float64 { return s.value + s.reach(tail) }

func (s student) reach(tail float64) float64 {
	if !(s.dof > 0) {
		return math.NaN()
	}
	key := [2]float64{tail, s.dof}
	t, ok := factors.Load(key)
	if !ok {
		t = s.law().Quantile(1 - tail)
		factors.Store(key, t)
	}
	return t.(float64) * s.u
}

// factors are those of Student's t that were asked for: many pairs of cables ask for
// few.
var factors sync.Map

// above is the one-sided p value of the truth lying above x: the least tail at
// which lower is x or more. NaN where u is unknown.
func (s student) above(x float64) float64 {
	switch {
	case !(s.dof > 0) || math.IsNaN(s.u) || math.IsNaN(s.value):
		return math.NaN()
	case math.IsInf(s.value, -1) || (s.u == 0 && s.value < x):
		return 1
	case math.IsInf(s.value, 1) || s.u == 0:
		return 0
	}
	return s.law().Survival((s.value - x) / s.u)
}

// law is Student's, or where nothing of u is in doubt the normal one.
func (s student) law() interface {
	Quantile(p float64) float64
	Survival(x float64) float64
} {
	if s.dof > 1e6 {
		return distuv.UnitNormal
	}
	return distuv.StudentsT{Sigma: 1, Nu: s.dof}
}

// below is the one-sided p value of the truth lying below x.
func (s student) below(x float64) float64 { return s.negative().above(-x) }

// holm adjusts p values so that those at most α can all be called significant with
// a chance of at most α that any of them is wrongly so, however the tests depend on
// each other (S. Holm, Scandinavian Journal of Statistics 6, 1979, 65).
func holm(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	out := make([]float64, len(p))
	worst := 0.0
	for rank, i := range order {
		worst = math.Max(worst, math.Min(1, p[i]*float64(len(p)-rank)))
		out[i] = worst
	}
	return out
}
