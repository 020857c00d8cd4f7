package coupling

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// perDB is how many dB a natural logarithm's unit is, of an amplitude.
const perDB = 20 / math.Ln10

// clearly is how many of its standard uncertainties a value has to be for its logarithm to
// be taken.
const clearly = 4.0

// pool makes one quantity of its readings in several placements: the mean of logarithms,
// with one budget of uncertainty. scale is the standard uncertainty of the scale, dB.
func pool(all []reading, scale float64) (model.Estimate, model.Budget) {
	budget := model.Budget{Parts: []model.BudgetPart{}, Placements: len(all), UDB: model.None, DOF: model.None, K: model.None, PlacementDB: model.None, DayDB: model.None}
	mean, own, cross, fit := 0.0, 0.0, 0.0, 0.0
	n := float64(len(all))
	for _, r := range all {
		mean += r.value / n
	}
	sign := math.Copysign(1, mean) // an input or an output may invert
	var logs []float64
	weakest, highest := math.Inf(1), 0.0
	for _, r := range all {
		u := math.Sqrt(r.own + r.cross2)
		weakest, highest = min(weakest, sign*r.value/u), max(highest, math.Abs(r.value)+within95*u)
		logs = append(logs, perDB*math.Log(math.Abs(r.value)))
		relative := perDB * perDB / (r.value * r.value)
		own, cross = own+relative*r.own/n/n, cross+relative*r.cross2/n
		if dof := float64(r.tones - 1); dof > 0 {
			fit += relative * (r.own + r.cross2) * max(0, r.chi2/dof-1) / n
		}
	}
	if weakest < clearly {
		return estimate.Below(model.Digits(highest*math.Pow(10, within95*scale/20), 5)), budget
	}
	add := func(what string, variance, dof float64) {
		if variance > 0 {
			budget.Parts = append(budget.Parts, model.BudgetPart{What: what, UDB: model.Num(model.Digits(math.Sqrt(variance), 4)), DOF: model.Of(model.Digits(dof, 4))})
		}
	}
	add(model.PartRecording, own+cross, math.Inf(1))
	add(model.PartFit, fit, float64(all[0].tones-1))
	add(model.PartScale, scale*scale, math.Inf(1))
	value := math.Exp(scattered(all, logs, own, add, &budget) / perDB)
	u, dof := combined(budget.Parts)
	budget.UDB, budget.DOF = model.Num(model.Digits(u, 4)), model.Of(model.Digits(dof, 4))
	k := coverage(dof)
	budget.K = model.Num(model.Digits(k, 4))
	up := math.Pow(10, k*u/20)
	return estimate.Of(model.Digits(value, 5), model.Digits(value/up, 5), model.Digits(value*up, 5)), budget
}

// scattered adds what placements and days differ by (ISO 5725-2: nested components, days
// outermost), and gives the mean of days' means. own is what noise alone makes that scatter
// by, a variance.
func scattered(all []reading, logs []float64, own float64, add func(what string, variance, dof float64), b *model.Budget) float64 {
	days := map[string][]float64{}
	var order []string
	for i, r := range all {
		if days[r.day] == nil {
			order = append(order, r.day)
		}
		days[r.day] = append(days[r.day], logs[i])
	}
	b.Days = len(order)
	n := float64(len(logs))
	within, dof := 0.0, n-float64(len(order))
	var means []float64
	for _, day := range order {
		mean := stat.Mean(days[day], nil)
		means = append(means, mean)
		for _, v := range days[day] {
			within += (v - mean) * (v - mean)
		}
	}
	if dof > 0 {
		within /= dof
		b.PlacementDB = model.Num(model.Digits(math.Sqrt(max(0, within-own*n)), 4))
	}
	d := float64(len(order))
	if d < 2 {
		if dof > 0 {
			add(model.PartPlacement, less(within/n, own), freedom(within/n, own, dof))
		}
		return means[0]
	}
	// The mean of days holds both: what placements alone would make it scatter by is known.
	between := stat.Variance(means, nil) / d
	placement := own
	if dof > 0 {
		placement = max(own, within/n)
		add(model.PartPlacement, less(within/n, own), freedom(within/n, own, dof))
		b.DayDB = model.Num(model.Digits(math.Sqrt(max(0, (between-within/n)*d)), 4))
	}
	add(model.PartDay, less(between, placement), freedom(between, placement, d-1))
	return stat.Mean(means, nil)
}

// less is what is left of a variance when a known part is taken off.
func less(all, known float64) float64 { return max(0, all-known) }

// freedom is the degrees of freedom of such a rest: its own uncertainty is that of the
// whole.
func freedom(all, known, dof float64) float64 {
	rest := less(all, known)
	return dof * rest * rest / (all * all)
}

// combined is the root of the sum of squares, with the effective degrees of freedom of
// Welch and Satterthwaite (GUM, G.4.1).
func combined(parts []model.BudgetPart) (u, dof float64) {
	sum, fourth := 0.0, 0.0
	for _, p := range parts {
		v := float64(p.UDB * p.UDB)
		sum += v
		if p.DOF.Ok() {
			fourth += v * v / float64(p.DOF)
		}
	}
	return math.Sqrt(sum), sum * sum / fourth
}

// coverage is the factor for 95 %, at degrees of freedom truncated to the next lower whole
// number (GUM, G.4.1, note 1).
func coverage(dof float64) float64 {
	if !(dof < 1e6) {
		return within95
	}
	return distuv.StudentsT{Sigma: 1, Nu: max(1, math.Floor(dof))}.Quantile(1 - tail)
}

// Decide says how claims about a cable's capacitance stand on its passport.
func Decide(claims []model.PassportClaim, cables []model.CablePassport) []model.PassportClaim {
	out := []model.PassportClaim{}
	for _, c := range claims {
		c.Verdict, c.Value, c.Probability, c.Guard = model.Undecided, model.Estimate{}, model.None, model.None
		for _, cable := range cables {
			for _, q := range cable.Couplings {
				if cable.Cable == c.Cable && q.Quantity == model.OfCapacitance {
					decide(&c, q)
				}
			}
		}
		out = append(out, c)
	}
	return out
}

func decide(c *model.PassportClaim, q model.Quotient) {
	c.Value = q.Value
	limit := float64(c.Farads)
	v, measured := q.Value.Value()
	if !measured {
		if hi, ok := q.Value.Upper(); ok && hi <= limit {
			c.Verdict = model.Supported
		}
		return
	}
	dof := math.Inf(1)
	if q.Budget.DOF.Ok() {
		dof = math.Floor(float64(q.Budget.DOF))
	}
	u := float64(q.Budget.UDB)
	p := conformity(perDB*math.Log(v), u, dof, math.Inf(-1), perDB*math.Log(limit))
	c.Probability = model.Num(model.Digits(p, 4))
	c.Guard = model.Num(model.Digits(limit*(1-math.Pow(10, -float64(q.Budget.K)*u/20)), 4))
	switch {
	case p >= 1-tail:
		c.Verdict = model.Supported
	case p <= tail:
		c.Verdict = model.Refuted
	}
}

// conformity is the probability that a quantity lies between two limits, of which x is
// known with a standard uncertainty of so many degrees of freedom (JCGM 106, 7.2).
func conformity(x, u, dof, lo, hi float64) float64 {
	at := func(limit float64) float64 {
		if dof < 1e6 {
			return distuv.StudentsT{Sigma: 1, Nu: max(1, dof)}.CDF((limit - x) / u)
		}
		return distuv.UnitNormal.CDF((limit - x) / u)
	}
	return at(hi) - at(lo)
}
