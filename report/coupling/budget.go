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

// grounds are what one quantity stands on: its readings in several placements, and the
// standard uncertainties of the scales, dB, and by what was stated of the bench, in the
// quantity's unit.
type grounds struct {
	readings     []reading
	scale, bench float64
	once         bool // of one placement more is asked, not of their middle
}

func mean(all []reading) (m float64) {
	for _, r := range all {
		m += r.value / float64(len(all))
	}
	return m
}

// pool makes one quantity of its readings: the mean of logarithms, with one budget of
// uncertainty. What noise, tones and the bench leave open adds to the quantity, the rest
// multiplies it; the ends of the interval are put together from both (MOVER, Zou and Donner
// 2008). One that doesn't stand out has an upper limit.
func (g grounds) pool() (model.Estimate, model.Budget) {
	all, n := g.readings, float64(len(g.readings))
	budget := NoBudget(len(all))
	middle, own, cross, fit := mean(all), 0.0, 0.0, 0.0
	var logs []float64
	var days []string
	weakest, highest := math.Inf(1), 0.0
	for _, r := range all {
		u := math.Sqrt(r.own + r.cross2 + g.bench*g.bench)
		// An input or an output may invert.
		weakest, highest = min(weakest, math.Copysign(1, middle)*r.value/u), max(highest, math.Abs(r.value)+within95*u)
		logs, days = append(logs, perDB*math.Log(math.Abs(r.value))), append(days, r.day)
		relative := perDB * perDB / (r.value * r.value)
		own, cross = own+relative*r.own/n/n, cross+relative*r.cross2/n
		if dof := float64(r.tones - 1); dof > 0 {
			fit += relative * (r.own + r.cross2) * max(0, r.chi2/dof-1) / n
		}
	}
	most := estimate.Below(model.Digits(highest*math.Pow(10, within95*g.scale/20), 5))
	if !(weakest >= clearly) {
		return most, budget
	}
	Add(&budget, model.PartRecording, own+cross, math.Inf(1))
	Add(&budget, model.PartFit, fit, float64(all[0].tones-1))
	Add(&budget, model.PartBench, math.Pow(perDB*g.bench/middle, 2), math.Inf(1))
	adds, _ := combined(budget.Parts)
	Add(&budget, model.PartScale, g.scale*g.scale, math.Inf(1))
	value := math.Exp(Scatter(&budget, days, logs, own) / perDB)
	if g.once {
		if !budget.PlacementDB.Ok() {
			return estimate.None(""), budget
		}
		Add(&budget, model.PartPlacement, math.Pow(float64(budget.PlacementDB), 2)+math.Pow(orNone(budget.DayDB), 2), n-float64(budget.Days))
	}
	Combine(&budget)
	careful(&budget)
	all95 := float64(budget.K * budget.UDB)
	a := float64(budget.K) * adds
	m := math.Sqrt(max(0, all95*all95-a*a)) / perDB
	down, up := math.Hypot(a/perDB, 1-math.Exp(-m)), math.Hypot(a/perDB, math.Exp(m)-1)
	if down >= 1 {
		return most, budget
	}
	return estimate.Of(model.Digits(value, 5), model.Digits(value*(1-down), 5), model.Digits(value*(1+up), 5)), budget
}

// careful widens the factor where parts of few degrees of freedom, by chance small, would be
// lost in the sum: Welch and Satterthwaite's covers less than 95 % then, the parts' own
// half-widths put together as squares (MOVER) do not.
func careful(b *model.Budget) {
	all := 0.0
	for _, p := range b.Parts {
		dof := math.Inf(1)
		if p.DOF.Ok() {
			dof = float64(p.DOF)
		}
		all = math.Hypot(all, fractional(dof)*float64(p.UDB))
	}
	b.K = max(b.K, model.Num(model.Digits(all/float64(b.UDB), 4)))
}

// NoBudget is a budget of so many placements, without parts.
func NoBudget(placements int) model.Budget {
	none := model.None
	return model.Budget{Parts: []model.BudgetPart{}, Placements: placements, UDB: none, DOF: none, K: none, PlacementDB: none, DayDB: none}
}

// Add adds a part to a budget: a variance, dB², where there is any.
func Add(b *model.Budget, what string, variance, dof float64) {
	if variance > 0 {
		b.Parts = append(b.Parts, model.BudgetPart{What: what, UDB: model.Num(model.Digits(math.Sqrt(variance), 4)), DOF: model.Of(model.Digits(dof, 4))})
	}
}

// Combine adds a budget's parts up, and gives the half-width of the 95 % interval, dB.
func Combine(b *model.Budget) float64 {
	u, dof := combined(b.Parts)
	k := coverage(dof)
	b.UDB, b.DOF, b.K = model.Num(model.Digits(u, 4)), model.Of(model.Digits(dof, 4)), model.Num(model.Digits(k, 4))
	return k * u
}

// Scatter adds to a budget what placements, dB, and the days on which they were made differ
// by (ISO 5725-2: nested components, days outermost), and gives the mean of days' means. own
// is the variance that noise alone makes the mean of all scatter by.
func Scatter(b *model.Budget, on []string, db []float64, own float64) float64 {
	days := map[string][]float64{}
	var order []string
	for i, day := range on {
		if days[day] == nil {
			order = append(order, day)
		}
		days[day] = append(days[day], db[i])
	}
	b.Days = len(order)
	n, d := float64(len(db)), float64(len(order))
	within, dof := 0.0, n-d
	var means []float64
	for _, day := range order {
		mean := stat.Mean(days[day], nil)
		means = append(means, mean)
		for _, v := range days[day] {
			within += (v - mean) * (v - mean)
		}
	}
	placement := own
	if dof > 0 {
		within /= dof
		b.PlacementDB = model.Num(model.Digits(math.Sqrt(max(0, within-own*n)), 4))
		placement = max(own, within/n)
		Add(b, model.PartPlacement, less(within/n, own), freedom(within/n, own, dof))
	}
	if d < 2 {
		return means[0]
	}
	// The mean of days holds both: what placements alone would make it scatter by is known.
	between := stat.Variance(means, nil) / d
	if dof > 0 {
		b.DayDB = model.Num(model.Digits(math.Sqrt(max(0, (between-within/n)*d)), 4))
	}
	Add(b, model.PartDay, less(between, placement), freedom(between, placement, d-1))
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
func coverage(dof float64) float64 { return fractional(math.Floor(dof)) }

// fractional is that factor at degrees of freedom that needn't be whole, at least 1.
func fractional(dof float64) float64 {
	if !(dof < 1e6) {
		return within95
	}
	return distuv.StudentsT{Sigma: 1, Nu: max(1, dof)}.Quantile(1 - tail)
}
