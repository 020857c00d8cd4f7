package coupling

import (
	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// Measured is a run with where its pickup was read.
type Measured struct {
	File     string
	Harmonic int
	Run
}

// Assess states what measured pickups say: for each its capacitance and inductance,
// whether it is one to quote, and the mechanism with its evidence.
func Assess(runs []Measured) ([]model.CouplingRun, model.Mechanism) {
	plain := make([]Run, len(runs))
	for i, m := range runs {
		plain[i] = m.Run
	}
	report := Mechanism(plain)
	out := []model.CouplingRun{}
	for i, m := range runs {
		r := stated(m, report.Findings[i])
		r.Quoted = quoted(plain, i)
		out = append(out, r)
	}
	return out, report.Stated()
}

// Stated is the verdict on all runs with its evidence, in the model's terms.
func (r Report) Stated() model.Mechanism {
	m := model.Mechanism{Verdict: r.Verdict, Evidence: []model.Evidence{}}
	for _, c := range r.Changes {
		m.Evidence = append(m.Evidence, model.Evidence{Kind: c.Kind, RunA: c.A, RunB: c.B, DB: c.DB,
			IfDB: places(c.If), ElseDB: places(c.Else), Speaks: c.Speaks})
	}
	return m
}

// places is a ratio in dB as the model has it; none where it is infinite.
func places(db float64) model.Num { return model.Of(model.Places(db, 4)) }

// stated is a run in the model's terms.
func stated(m Measured, f Finding) model.CouplingRun {
	return model.CouplingRun{
		File: m.File, Channel: m.Channel, Harmonic: m.Harmonic,
		BenchConditions: conditionsOf(m.Bench),
		Loaded:          m.Loaded, LeadAmps: m.Amps, Bonded: m.Bonded, Plug: m.Plug,
		PickupVolts:        m.Pickup,
		ThermalVoltsRootHz: thermal(m.Bench),
		CapacitanceFarads:  f.Farads,
		InductanceHenries:  f.Henries,
		Mechanism: model.RunMechanism{Verdict: f.Verdict, How: f.How, ElectricVolts: f.Volts(model.Electric), ShieldVolts: f.Volts(model.Shield),
			VoltageVolts: f.sums[electric|shield].estimate(), MagneticVolts: f.Volts(model.Magnetic), LoopVolts: f.Volts(model.Loop), OtherVolts: f.sums[all&^electric].estimate(),
			Needs: append([]string{}, f.Needs...)},
	}
}

// Forward is the pickup to expect of a cable's numbers on each bench, the lead's current
// being known or not.
func Forward(n Numbers, amps model.Estimate, benches []Bench) []model.Expected {
	out := []model.Expected{}
	microvolt := estimate.Of(1e-6, 1e-6, 1e-6)
	for _, b := range benches {
		per, _ := Capacitance(microvolt, b).Lower()
		out = append(out, model.Expected{
			BenchConditions: conditionsOf(b), CapacitanceFarads: n.Farads, ShieldDrop: n.Drop, InductanceHenries: n.Henries, LeadAmps: amps,
			PickupVolts:        n.Expected(b, amps),
			ThermalVoltsRootHz: thermal(b), ThermalVolts: model.Of(model.Digits(b.thermalBand(20, 20e3), 7)),
			MicrovoltFarads: model.Of(per),
		})
	}
	return out
}

// conditions are a bench in the model's terms.
func conditionsOf(b Bench) model.BenchConditions {
	return model.BenchConditions{Hz: model.Of(b.Hz), MainsVolts: b.MainsVolts, SourceOhms: b.SourceOhms, FarEndOpen: b.FarEndOpen,
		InputOhms: b.InputOhms, CableFarads: b.CableFarads, Balanced: b.Balanced}
}

func thermal(b Bench) model.Num {
	if b.Balanced || !b.closed() {
		return model.None
	}
	return model.Of(model.Digits(b.thermal(), 7))
}

// quoted reports whether a run is one to quote: of two that differ in the plug's
// orientation alone, the one with the larger pickup is.
func quoted(runs []Run, i int) bool {
	for _, other := range runs {
		if larger := other.pickup().hi > runs[i].pickup().hi; larger && other.Plug != runs[i].Plug && butForPlug(runs[i], other) {
			return false
		}
	}
	return true
}

func butForPlug(a, b Run) bool {
	a.Plug = b.Plug
	return comparable(a, b) && a.Bench.source() == b.Bench.source() && a.load() == b.load() && a.Bonded == b.Bonded
}
