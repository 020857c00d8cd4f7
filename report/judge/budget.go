package judge

import (
	"math"
	"time"

	"humdiff/report/coupling"
	"humdiff/report/model"
)

// budget is that of a cell's pickup in volts (GUM): near's recording noise, the phase
// between old and new hum that nobody knows, the scale, and how placements and days
// scatter. The first is known for each placement, so what placements scatter by is without
// it. A pickup that may be zero has none. Intervals of means and claims hold the phase as a
// range instead, which promises more.
func (b *bench) budget(c *cell) model.Budget {
	n := float64(c.n())
	out := coupling.NoBudget(c.n())
	if math.IsNaN(c.pickup.mid.value) || math.IsInf(c.pickup.lo.value, 0) || math.IsInf(c.pickup.hi.value, 0) {
		return out
	}
	own := make([]float64, c.n())
	on := make([]string, c.n())
	count := make([]float64, c.n())
	for i, r := range c.readings {
		near := endsOf(b.level(r.near, false, c.of))
		half := (near.hi - near.lo) / 2
		if r.known { // the reference's own noise too
			half = (r.pickup.hi - r.pickup.lo) / 2
		}
		p := c.placed[i]
		own[p], count[p] = own[p]+math.Pow(half/1.96, 2), count[p]+1
		if at := r.near.Start; !at.IsZero() {
			on[p] = at.Format(time.DateOnly)
		}
	}
	var db []float64
	variance := 0.0
	for p, e := range c.byPlacement(func(r reading) ends { return r.pickup }) {
		db, variance = append(db, e.mid), variance+own[p]/(count[p]*count[p])/(n*n)
	}
	coupling.Add(&out, model.PartRecording, variance, math.Inf(1))
	if !c.phased() {
		half := (c.pickup.hi.value - c.pickup.lo.value) / 2 // anywhere between, all placements alike at the worst
		coupling.Add(&out, model.PartPhase, half*half/3, math.Inf(1))
	}
	coupling.Add(&out, model.PartScale, math.Pow(b.scaleU(), 2), math.Inf(1))
	coupling.Scatter(&out, on, db, variance)
	if len(out.Parts) > 0 {
		coupling.Combine(&out)
	}
	return out
}
