package judge

import (
	"math"
	"slices"

	"humdiff/fft/estimate"
	"humdiff/report/coupling"
	"humdiff/report/model"
)

// fundamental is what a coupling is read off: the lead's voltage is known there.
var fundamental = model.Quantity{Harmonic: 1}

// mechanisms says how the hum gets into each cable under each exposure, as far as runs
// that differ in one thing at a time tell. Nothing is said where the bench isn't
// stated, of pickups that did not rise, and where the unplugged lead does as much.
func (b *bench) mechanisms() []model.SessionMechanism {
	out := []model.SessionMechanism{}
	if !b.Bench.InputOhms.Ok() || !b.Bench.MainsVolts.Ok() || !b.Settings.FullScaleVolts.Ok() {
		return out
	}
	sets := [][]*cell{}
	for _, c := range b.gathered(fundamental) {
		if !c.rose || b.unplugged(c).asHigh || !c.where.Termination.Stated() || c.mainsHz() == 0 {
			continue
		}
		i := slices.IndexFunc(sets, func(s []*cell) bool { return s[0].cable == c.cable && s[0].where.Exposure == c.where.Exposure })
		if i < 0 {
			i, sets = len(sets), append(sets, nil)
		}
		sets[i] = append(sets[i], c.byPlug()...)
	}
	for _, cells := range sets {
		out = append(out, b.mechanism(cells))
	}
	return out
}

// mechanism is read off the cells of one cable under one exposure.
func (b *bench) mechanism(cells []*cell) model.SessionMechanism {
	var runs []coupling.Run
	for _, c := range cells {
		runs = append(runs, b.couplingRun(c))
	}
	report := coupling.Mechanism(runs)
	out := model.SessionMechanism{Cable: cells[0].cable, Exposure: cells[0].where.Exposure, Mechanism: report.Stated(), Parts: []model.MechanismPart{}}
	for i, f := range report.Findings {
		out.Parts = append(out.Parts, model.MechanismPart{
			Where: cells[i].where, Runs: numbers(cells[i].nears()), Verdict: f.Verdict, How: f.How, Needs: append([]string{}, f.Needs...),
			Pickup: runs[i].Pickup, Farads: f.Farads,
		})
	}
	return out
}

// couplingRun is a cell as a mechanism is read from it: the pickup over its placements,
// or the range of the only one.
func (b *bench) couplingRun(c *cell) coupling.Run {
	first, s := c.readings[0].near, b.Bench
	ohms := c.where.Termination.Ohms
	r := coupling.Run{
		Pickup: b.pickupVolts(c),
		Bench: coupling.Bench{
			MainsVolts: model.Within(s.MainsVolts, s.MainsVoltsWithin), Hz: c.mainsHz(),
			SourceOhms: model.Within(ohms, model.None), FarEndOpen: c.where.Termination.Open, InputOhms: model.Within(s.InputOhms, s.InputOhmsWithin),
			InputFarads: model.Within(s.InputFarads, s.InputFaradsWithin), Balanced: s.Balanced == model.Yes,
		},
		Loaded: first.Loaded, Amps: model.Within(first.LoadAmps, model.None), Bonded: first.Bonded,
	}
	if plugs := c.plugs(); len(plugs) == 1 {
		r.Plug = plugs[0]
	}
	return r
}

// pickupVolts is the range of a cell's pickup in volts; unknown without an upper end.
func (b *bench) pickupVolts(c *cell) model.Estimate {
	e := c.pickup.ends(b.tail())
	if c.n() < 2 {
		e = ends{c.pickup.lo.value, c.pickup.mid.value, c.pickup.hi.value}
	}
	off := 1.96 * b.scaleU()
	e.lo, e.hi = e.lo-off, e.hi+off // what is wrong with the scale is wrong in all
	if math.IsNaN(e.lo) {
		e.lo = math.Inf(-1)
	}
	if math.IsNaN(e.hi) || math.IsInf(e.hi, 0) {
		return estimate.None(model.WhyNoVolts)
	}
	if phase, within, ok := c.phase(); ok && !math.IsNaN(e.mid) {
		volts := b.inVolts(e)
		v, lo, hi := volts.Numbers()
		return volts.At(phase, math.Hypot(within, math.Atan2(hi-lo, 2*v)))
	}
	return b.inVolts(ends{e.lo, math.NaN(), e.hi})
}

// mainsHz is the nominal mains frequency of a cell's near runs, as one frequency that
// runs can be compared at; 0 where none was found.
func (c *cell) mainsHz() float64 {
	if hz := c.readings[0].near.Capture.Mains.NominalHz; hz.Ok() {
		return float64(hz)
	}
	return 0
}
