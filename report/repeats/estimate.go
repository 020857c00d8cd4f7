package repeats

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Estimate is a value with its standard uncertainty, known to some degrees of
// freedom: (Value − truth)/U follows Student's t.
type Estimate struct {
	Value float64 // may be infinite: then it isn't bounded
	U     float64 // NaN where nothing is known of it
	DOF   float64
}

// Estimate is the mean as an estimate of what it is the mean of.
func (m Mean) Estimate() Estimate {
	return Estimate{m.Value, m.SD / math.Sqrt(float64(m.N)), float64(m.N - 1)}
}

// Minus is a − b where the two may spread differently: Welch's statistic, but
// with the degrees of freedom of the smaller sample. Those of Welch and
// Satterthwaite are right for intervals of 95 % and samples alike; at 2 against
// 6 repeats they let 11 % of true values lie outside, and in the far tails that
// Holm's procedure needs they are wrong by a factor of 3 (three repeats each)
// to 19 (two against six). With the smaller sample's the error never exceeds
// its stated rate, whatever the two variances are (Hsu 1938; Mickey and Brown,
// Annals of Mathematical Statistics 37, 1966, 639).
func Minus(a, b Mean) Estimate {
	ua, ub := a.Estimate().U, b.Estimate().U
	return Estimate{a.Value - b.Value, math.Hypot(ua, ub), float64(min(a.N, b.N) - 1)}
}

// Lower is the one-sided lower bound that is too high in a share of tail of
// cases; NaN where U is unknown.
func (e Estimate) Lower(tail float64) float64 { return e.Value - e.reach(tail) }

// Upper is the one-sided upper bound that is too low in a share of tail.
func (e Estimate) Upper(tail float64) float64 { return e.Value + e.reach(tail) }

func (e Estimate) reach(tail float64) float64 {
	if !(e.DOF > 0) {
		return math.NaN()
	}
	return quantile(1-2*tail, e.DOF) * e.U
}

// Above is the one-sided p value of the truth lying above x: the least tail at
// which Lower is x or more. NaN where U is unknown.
func (e Estimate) Above(x float64) float64 {
	switch {
	case !(e.DOF > 0) || math.IsNaN(e.U) || math.IsNaN(e.Value):
		return math.NaN()
	case math.IsInf(e.Value, -1) || (e.U == 0 && e.Value < x):
		return 1
	case math.IsInf(e.Value, 1) || e.U == 0:
		return 0
	}
	return distuv.StudentsT{Sigma: 1, Nu: e.DOF}.Survival((e.Value - x) / e.U)
}

// Below is the one-sided p value of the truth lying below x.
func (e Estimate) Below(x float64) float64 {
	return Estimate{-e.Value, e.U, e.DOF}.Above(-x)
}

// Holm adjusts p values so that those at most α can all be called significant
// with a chance of at most α that any of them is wrongly so, however the tests
// depend on each other (S. Holm, Scandinavian Journal of Statistics 6, 1979, 65).
func Holm(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return 0
	})
	out := make([]float64, len(p))
	worst := 0.0
	for rank, i := range order {
		worst = math.Max(worst, math.Min(1, p[i]*float64(len(p)-rank)))
		out[i] = worst
	}
	return out
}
