package doc

import (
	"fmt"
	"strings"

	"humdiff/report/model"
)

// whyNot says why there is no capacitance.
var whyNot = map[string]string{
	model.WhyBalanced:    "in a balanced input pickup depends on the difference between the two legs, which one voltage doesn't tell",
	model.WhyNoVolts:     "the pickup in volts is unknown",
	model.WhyNoMains:     "the mains voltage was not stated",
	model.WhyNoImpedance: "it needs the impedance of the source and of the input",
	model.WhyTooMuch:     "the lead's voltage could not drive as much through any. Check the mains voltage and the full scale",
}

// couplingsOf says a run's capacitance and inductance.
func couplingsOf(r model.Coupling, i int) []string {
	run, in := r.Runs[i], ""
	if len(r.Runs) > 1 {
		in = " in " + runName(r, i)
	}
	var out []string
	if run.CapacitanceFarads.Known() {
		out = append(out, fmt.Sprintf("The coupling capacitance%s is %s, %s.", in, fromTo(run.CapacitanceFarads, "F"), behind(run.CapacitanceOf, "electric")))
	} else if why := whyNot[run.CapacitanceFarads.Why()]; why != "" {
		out = append(out, fmt.Sprintf("No coupling capacitance is given%s: %s.", in, why))
	}
	if run.InductanceHenries.Known() {
		out = append(out, fmt.Sprintf("The mutual inductance%s is %s, %s.", in, fromTo(run.InductanceHenries, "H"), behind(run.InductanceOf, "magnetic")))
	}
	return out
}

func behind(of, mechanism string) string {
	if of == model.OfPart {
		return fmt.Sprintf("by what the controlled changes leave for the %s field", mechanism)
	}
	return fmt.Sprintf("if all of the pickup came by the %s field, which is not shown", mechanism)
}

// geometry says for which place of the lead couplings hold.
func geometry(g model.Geometry) []string {
	var parts []string
	if g.SpacingMetres.Ok() {
		parts = append(parts, Metres(g.SpacingMetres)+" apart")
	}
	if g.ParallelMetres.Ok() {
		parts = append(parts, Metres(g.ParallelMetres)+" in parallel")
	}
	if len(parts) == 0 {
		return []string{"Couplings hold for the lead as it lay."}
	}
	return []string{"Couplings hold for the stated geometry: " + strings.Join(parts, ", ") + "."}
}

// plugsSaid says what is known of the plug's orientations.
func plugsSaid(r model.Coupling) []string {
	seen := map[int]bool{}
	dropped := false
	for _, run := range r.Runs {
		seen[run.Plug] = true
		dropped = dropped || !run.Quoted
	}
	switch {
	case dropped:
		return []string{"Of the plug's two orientations the one with the larger pickup is quoted."}
	case seen[1] && seen[2]:
		return nil
	}
	return []string{"Only one orientation of the lead's plug is known: the other may couple more."}
}

func couplingStandsOn(r model.Coupling) []string {
	run, cable := r.Runs[0], "0 to 1 nF assumed"
	if run.CableFarads.Known() {
		cable = fromTo(run.CableFarads, "F")
	}
	said := fmt.Sprintf("This stands on %s of harmonic %d: lead at %s, as stated", Count(len(r.Runs), "pickup"), run.Harmonic, lead(run.BenchConditions))
	if run.InputOhms.Known() {
		said += fmt.Sprintf("; input %s; cable %s", stated(run.InputOhms, Ohms), cable)
	}
	return []string{said + ".", "Ranges cover recording noise, the unknown phase between old and new hum, and the tolerances stated.",
		"Placing the lead again changes pickup by decibels."}
}

// couplingNeeds are the runs that would decide.
var couplingNeeds = map[string]string{
	model.ByTermination: "Record with two finite terminations far below the input's impedance, such as 20 Ω and 10 kΩ. Pickup by the electric field grows with them.",
	model.ByLoad:        "Record with the lead loaded and unloaded. Pickup by the magnetic field grows with the current.",
	model.ByBond:        "Record with the far device bonded and isolated (battery-powered or double-insulated; never remove a protective earth). A loop needs the bond.",
	model.NeedCloser:    "Lower the hum in quiet, or record longer: the ranges are too wide to decide.",
	model.NeedRepeat:    "Repeat the runs: they contradict each other, so something else changed.",
}

func couplingOpen(r model.Coupling) (notShown, next []string) {
	var open []string
	for i, run := range r.Runs {
		for _, n := range run.Mechanism.Needs {
			next = appendOnce(next, couplingNeeds[n])
		}
		if run.Mechanism.Verdict == model.NotDecided {
			open = append(open, differing(r, i))
		}
	}
	switch {
	case r.Mechanism.Verdict == model.NotDecided:
		notShown = append(notShown, "This does not show how the hum gets in: only runs that differ in one thing do.")
	case len(open) > 0:
		notShown = append(notShown, "Not decided: "+strings.Join(open, "; ")+".")
	}
	return notShown, next
}

// forward says what pickup to expect.
func forward(r model.Coupling) told {
	if len(r.Expected) == 0 {
		return told{}
	}
	e := r.Expected[0]
	c := fromTo(e.CapacitanceFarads, "F")
	end := "open"
	if !e.FarEndOpen {
		end = "terminated by " + FarEnd(e.BenchConditions)
	}
	t := told{found: []string{fmt.Sprintf("Through %s a lead at %s brings a pickup of %s. That is with the far end %s, and an input of %s.", c, lead(e.BenchConditions),
		fromTo(e.PickupVolts, "V"), end, stated(e.InputOhms, Ohms))}}
	if w := r.Wires; w != nil {
		t.found = append(t.found, fmt.Sprintf("Two bare wires %s thick, %s from centre to centre and %s in parallel have %s between them. A shield leaves a small share of that.",
			Metres(model.Num(w.DiameterMetres)), Metres(model.Num(w.SpacingMetres)), Metres(model.Num(w.LengthMetres)), c))
	}
	t.found = append(t.found,
		fmt.Sprintf("The thermal noise of that impedance is %s in a band of 1 Hz, and %s from 20 Hz to 20 kHz. No floor lies lower.", SI(e.ThermalVoltsRootHz, "V"), SI(e.ThermalVolts, "V")),
		fmt.Sprintf("There, pickup stays below 1 µV for couplings below %s.", SI(e.MicrovoltFarads, "F")))
	for _, a := range r.Audible {
		if a != nil {
			t.found = append(t.found, AudibleSaid(*a)...)
		}
	}
	t.standsOn = []string{"This is the electric field's part at the fundamental alone, from the values given: nothing was measured."}
	t.notShown = []string{"This does not show what a lead's current or a loop of earths would add."}
	t.next = []string{"Record a quiet and a near capture, and compare them."}
	return t
}
