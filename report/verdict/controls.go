package verdict

import (
	"math"

	"humdiff/report/result"
	"humdiff/report/session"
)

// deadResult is what the unplugged lead did at a cell's place.
type deadResult struct {
	runs   []run
	rose   bool
	asHigh bool    // it rose, and no less than near as far as can be told
	db     float64 // its largest pickup less near's smallest, dB; NaN where unknown
}

// dead holds the dead runs of a cell's cable and place against its near runs.
// It counts as high as near where the range of its pickup reaches that of any
// placement of near.
// It is judged by the total, whatever the cell is about.
func (b *bench) dead(c *cell) deadResult {
	of := result.Quantity{}
	d := deadResult{db: math.NaN()}
	least := math.Inf(1)
	if t := b.cellAt(c.cable, c.where, of); t != nil {
		for _, r := range t.readings {
			least = math.Min(least, r.pickup.lo)
		}
	}
	for _, run := range b.each(func(r run) bool { return r.Condition == session.Dead && b.sameDead(r, c) }) {
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

// sameDead says that a dead run is the control of a cell.
func (b *bench) sameDead(r run, c *cell) bool {
	return r.Cable == c.cable && sameTermination(termination(r.Termination), c.where.Termination) &&
		(r.Exposure == "" || r.Exposure == c.where.Exposure) &&
		(r.Bonded == session.Unstated || c.where.Bonded == "" || said(r.Bonded) == c.where.Bonded)
}
