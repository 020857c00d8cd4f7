package verdict

import (
	"math"

	"humdiff/report/coupling"
	"humdiff/report/quantity"
	"humdiff/report/result"
)

// fundamental is what a coupling is read off: the lead's voltage is known there.
var fundamental = result.Quantity{Harmonic: 1}

// mechanisms says how the hum gets into each cable under each exposure, as far as
// runs that differ in one thing at a time tell. Nothing is said where the bench
// isn't stated, of pickups that did not rise, and where the unplugged lead does
// as much.
func (b *bench) mechanisms() []result.SessionMechanism {
	out := []result.SessionMechanism{}
	bench := b.in.Session.Bench
	if math.IsNaN(bench.InputOhms) || math.IsNaN(bench.MainsVolts) || !b.in.Settings.FullScaleVolts.Ok() {
		return out
	}
	for _, c := range b.gathered(fundamental) {
		alike := b.alike(c)
		if len(alike) == 0 || alike[0] != c {
			continue // told with the first of them
		}
		out = append(out, b.mechanism(alike))
	}
	return out
}

// alike are the cells of a cell's cable and exposure that a mechanism can be read
// from, in order.
func (b *bench) alike(c *cell) []*cell {
	var out []*cell
	for _, x := range b.gathered(fundamental) {
		if x.cable == c.cable && x.where.Exposure == c.where.Exposure && x.rose && !b.dead(x).asHigh &&
			(x.where.Termination.Open || x.where.Termination.Ohms.Ok()) && b.mainsHz(x) > 0 {
			out = append(out, x)
		}
	}
	return out
}

func (b *bench) mechanism(cells []*cell) result.SessionMechanism {
	var runs []coupling.Run
	for _, c := range cells {
		runs = append(runs, b.couplingRun(c))
	}
	report := coupling.Mechanism(runs)
	out := result.SessionMechanism{Cable: cells[0].cable, Exposure: cells[0].where.Exposure, Verdict: report.Verdict,
		Evidence: []result.SessionEvidence{}, Parts: []result.MechanismPart{}}
	for _, c := range report.Changes {
		out.Evidence = append(out.Evidence, result.SessionEvidence{
			Kind: c.Kind, A: cells[c.A].where, B: cells[c.B].where, Runs: numbers(append(cells[c.A].nears(), cells[c.B].nears()...)),
			DB: result.Interval{Value: result.None, Lo: result.Of(c.DB.Lo), Hi: result.Of(c.DB.Hi)}, If: result.Of(c.If), Else: result.Of(c.Else), Speaks: c.Speaks,
		})
	}
	for i, f := range report.Findings {
		farads := coupling.Capacitance(runs[i].Pickup, runs[i].Bench)
		out.Parts = append(out.Parts, result.MechanismPart{
			Where: cells[i].where, Verdict: f.Verdict, How: f.How, Needs: append([]string{}, f.Need...),
			Pickup: result.Interval{Value: result.None, Lo: result.Of(runs[i].Pickup.Lo), Hi: result.Of(runs[i].Pickup.Hi)},
			Farads: result.Interval{Value: result.None, Lo: result.Of(farads.Lo), Hi: result.Of(farads.Hi)}, WhyNoFarads: farads.Why,
		})
	}
	return out
}

// couplingRun is a cell as a mechanism is read from it: the pickup over its
// placements, or the range of the only one.
func (b *bench) couplingRun(c *cell) coupling.Run {
	dbfs := c.pickup.interval(b.tail())
	if c.n() < 2 {
		dbfs = span{c.pickup.lo.Value, c.pickup.mid.Value, c.pickup.hi.Value}.interval()
	}
	volts := b.inVolts(dbfs, !dbfs.Lo.Ok())
	first := c.readings[0].near
	s := b.in.Session.Bench
	exactly := func(v float64) quantity.Range {
		if math.IsNaN(v) {
			return quantity.Unknown
		}
		return quantity.Exactly(v)
	}
	r := coupling.Run{
		Pickup: quantity.Range{Lo: number(volts.Lo), Hi: number(volts.Hi)},
		Bench: coupling.Bench{
			MainsVolts: exactly(s.MainsVolts), Hz: b.mainsHz(c), SourceOhms: exactly(ohms(c.where.Termination)), InputOhms: exactly(s.InputOhms),
			InputFarads: exactly(s.InputFarads), CableFarads: quantity.Unknown, Balanced: said(s.Balanced) == result.Yes,
		},
		Loaded: first.Loaded, Amps: exactly(first.LoadAmps), Bonded: first.Bonded,
	}
	if plugs := c.plugs(); len(plugs) == 1 {
		r.Plug = plugs[0]
	}
	return r
}

// mainsHz is the nominal mains frequency of a cell's near runs, as one frequency
// that runs can be compared at; 0 where none was found.
func (b *bench) mainsHz(c *cell) float64 {
	if hz := c.readings[0].near.Got.Capture.Mains.NominalHz; hz.Ok() {
		return float64(hz)
	}
	return 0
}
