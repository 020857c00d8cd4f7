package coupling

import (
	"math"

	"humdiff/report/quantity"
	"humdiff/report/result"
	"humdiff/report/session"
)

// Measured is a run with where its pickup was read.
type Measured struct {
	File     string
	Channel  int
	Harmonic int
	Run
}

// Assess states what measured pickups say: for each its capacitance and
// inductance, whether it is one to quote, and the mechanism with its evidence.
func Assess(runs []Measured) ([]result.CouplingRun, result.Mechanism) {
	plain := make([]Run, len(runs))
	for i, m := range runs {
		plain[i] = m.Run
	}
	report := Mechanism(plain)
	out := []result.CouplingRun{}
	for i, m := range runs {
		r := stated(m, report.Findings[i])
		r.Quoted = quoted(plain, i)
		out = append(out, r)
	}
	mechanism := result.Mechanism{Verdict: report.Verdict, Evidence: []result.Evidence{}}
	for _, c := range report.Changes {
		mechanism.Evidence = append(mechanism.Evidence, result.Evidence{Kind: c.Kind, RunA: c.A, RunB: c.B,
			LoDB: result.Of(c.DB.Lo), HiDB: result.Of(c.DB.Hi), IfDB: result.Of(c.If), ElseDB: result.Of(c.Else), Speaks: c.Speaks})
	}
	return out, mechanism
}

// stated is a run in the result's terms.
func stated(m Measured, f Finding) result.CouplingRun {
	r := result.CouplingRun{
		File: m.File, Channel: m.Channel, Harmonic: m.Harmonic,
		BenchConditions: Conditions(m.Bench),
		Loaded:          tri(m.Loaded), LeadAmps: ends(m.Amps), Bonded: tri(m.Bonded), Plug: m.Plug,
		PickupVolts:        ends(m.Pickup),
		ThermalVoltsRootHz: thermal(m.Bench),
		Mechanism: result.RunMechanism{Verdict: f.Verdict, How: f.How, ElectricVolts: ends(f.Electric), MagneticVolts: ends(f.Magnetic),
			LoopVolts: ends(f.Loop), OtherVolts: ends(f.Other), Needs: append([]string{}, f.Need...)},
	}
	from, of := behind(f.Electric, m.Pickup)
	c := Capacitance(from, m.Bench)
	r.CapacitanceFarads, r.CapacitanceOf, r.CapacitanceWhyNot = ends(c.Range), of, c.Why
	from, of = behind(f.Magnetic, m.Pickup)
	l := Inductance(from, m.Amps, m.Bench)
	r.InductanceHenries, r.InductanceOf, r.InductanceWhyNot = ends(l.Range), of, l.Why
	return r
}

// behind is what a coupling is worked out from: its part where controlled
// changes bound it, else all of the pickup.
func behind(part, pickup Range) (Range, string) {
	if math.IsInf(part.Hi, 1) || part.Lo > part.Hi {
		return pickup, result.OfPickup
	}
	return part, result.OfPart
}

// Forward is the pickup to expect from a capacitance on each bench.
func Forward(farads Range, benches []Bench) []result.Expected {
	out := []result.Expected{}
	for _, b := range benches {
		out = append(out, result.Expected{
			BenchConditions: Conditions(b), CapacitanceFarads: ends(farads), PickupVolts: ends(Expected(farads, b)),
			ThermalVoltsRootHz: thermal(b), ThermalVolts: result.Of(b.ThermalBand(20, 20e3)),
			MicrovoltFarads: result.Of(Capacitance(quantity.Exactly(1e-6), b).Lo),
		})
	}
	return out
}

// Conditions are a bench in the result's terms.
func Conditions(b Bench) result.BenchConditions {
	return result.BenchConditions{Hz: result.Of(b.Hz), MainsVolts: ends(b.MainsVolts), SourceOhms: ends(b.SourceOhms),
		FarEndOpen: math.IsInf(b.SourceOhms.Hi, 1), InputOhms: ends(b.InputOhms), CableFarads: ends(b.CableFarads), Balanced: b.Balanced}
}

func thermal(b Bench) result.Num {
	if b.Balanced || !b.SourceOhms.Known() || !b.InputOhms.Known() {
		return result.None
	}
	return result.Of(b.Thermal())
}

func ends(r Range) result.Ends { return result.Ends{Lo: result.Of(r.Lo), Hi: result.Of(r.Hi)} }

func tri(t session.Tri) string {
	return map[session.Tri]string{session.Yes: "yes", session.No: "no"}[t]
}

// quoted reports whether a run is one to quote: of two that differ in the plug's
// orientation alone, the one with the larger pickup is.
func quoted(runs []Run, i int) bool {
	for j, other := range runs {
		if larger := other.Pickup.Hi > runs[i].Pickup.Hi; larger && other.Plug != runs[i].Plug && butForPlug(runs[i], runs[j]) {
			return false
		}
	}
	return true
}

func butForPlug(a, b Run) bool {
	a.Plug = b.Plug
	return comparable(a, b) && a.Bench.SourceOhms == b.Bench.SourceOhms && a.load() == b.load() && a.Bonded == b.Bonded
}
