package judge

import (
	"math"
	"slices"

	"humdiff/report/model"
)

// unplugged is what the unplugged lead did at a cell's place.
type unplugged struct {
	runs   []*run
	rose   bool
	asHigh bool    // it rose, and no less than near as far as can be told
	db     float64 // its largest pickup less near's smallest, dB; NaN where unknown
}

// unplugged holds the unplugged runs of a cell's cable and place against its near
// runs. It counts as high as near where the range of its pickup reaches that of any
// placement of near. It is judged by the total, whatever the cell is about.
func (b *bench) unplugged(c *cell) unplugged {
	of := model.Quantity{}
	d := unplugged{db: math.NaN()}
	least := math.Inf(1)
	if t := b.cellAt(c.cable, c.where, of); t != nil {
		for _, r := range t.readings {
			least = math.Min(least, r.pickup.lo)
		}
	}
	for _, run := range b.each(func(r *run) bool { return r.Condition == model.Unplugged && r.SameBench(c.readings[0].near.Run) }) {
		r, ok := b.read(run, of)
		if !ok {
			continue
		}
		d.runs = append(d.runs, run)
		if b.rose([]reading{r}, of) {
			d.rose = true
			d.asHigh = d.asHigh || !(r.pickup.hi < least)
			if db := r.pickup.hi - least; !(db <= d.db) {
				d.db = db
			}
		}
	}
	return d
}

// idleRise is how far the idle channel surely rose with a near run, dB: the least
// against any quiet run around it, less what the idle channel's quiet changed by;
// false without an idle channel.
func (b *bench) idleRise(r reading) (db float64, ok bool) {
	db = math.Inf(1)
	for _, q := range r.quiets() {
		p, there := b.compareIdle(q, r.near)
		if !there {
			return 0, false
		}
		db = math.Min(db, p.delta.lo)
	}
	if r.before != nil && r.after != nil {
		if p, there := b.compareIdle(r.before, r.after); there {
			if moved := math.Abs(p.delta.mid); moved > 0 {
				db -= moved
			}
		}
	}
	return db, true
}

// nearResidual is how far above the residual quiet may lie, in dB, for a rise over
// quiet to mean anything: at most twice the voltage. Common practice, no source.
const nearResidual = 6

// aboveResidual is how far quiet may lie above the residual, dB: the upper end over
// all quiet runs of a cell, each against the residual run nearest to it, of those that
// are closed with what the cable is where there are any: a short understates the floor
// of a high source. Quiet without hum lies at the residual.
func (b *bench) aboveResidual(c *cell, of model.Quantity) (db float64, known bool) {
	residuals := b.of(model.Residual)
	if alike := slices.DeleteFunc(slices.Clone(residuals), func(r *run) bool { return !r.Termination.Same(c.where.Termination) }); len(alike) > 0 {
		residuals = alike
	}
	if len(residuals) == 0 {
		return 0, false
	}
	db = math.Inf(-1)
	limited := db // where the residual has no hum only its limit is known
	for _, r := range c.readings {
		for _, q := range r.quiets() {
			s := b.compare(nearest(residuals, q), q, of)
			if s.quiet.Measured() || s.near.Measured() {
				db = math.Max(db, s.delta.hi)
			} else {
				db = math.Max(db, 0)
			}
			_, _, hi := s.near.Numbers()
			_, _, limit := b.compare(residuals[0], q, of).quiet.Numbers()
			limited = math.Max(limited, hi-limit)
		}
	}
	if math.IsInf(db, 1) {
		db = limited
	}
	return db, true
}

// nearest is the run of some that was made nearest to another.
func nearest(runs []*run, to *run) *run {
	best := runs[0]
	for _, r := range runs {
		if abs(r.at-to.at) < abs(best.at-to.at) {
			best = r
		}
	}
	return best
}

func abs(x int) int { return max(x, -x) }
