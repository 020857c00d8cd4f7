package words

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/report/result"
)

// mechanisms are the words for each verdict, as subject of a sentence.
var mechanisms = map[string]string{
	result.Electric: "the electric field of the lead's voltage",
	result.Magnetic: "the magnetic field of the lead's current",
	result.Loop:     "current in the shield, through a loop of earths",
}

// Verdict writes a mechanism's verdict in a word or two.
func Verdict(v string) string { return strings.ReplaceAll(v, "_", " ") }

// Coupling says what pickups mean: couplings, mechanism with its evidence, what
// it stands on, what isn't shown and what would show it.
func Coupling(r result.Coupling) []string {
	s := CouplingStatement(r)
	return sentences([]Statement{s})
}

// CouplingStatement is the same as a statement, for reports that hold more.
func CouplingStatement(r result.Coupling) Statement {
	if len(r.Runs) == 0 {
		return forward(r)
	}
	s := Statement{Found: []string{mechanism(r)}}
	for _, e := range r.Mechanism.Evidence {
		s.Found = append(s.Found, evidence(r, e))
	}
	for i, run := range r.Runs {
		if run.Quoted {
			s.Found = append(s.Found, couplings(r, i)...)
		}
	}
	s.Found = append(s.Found, plugs(r)...)
	for _, a := range r.Audible {
		if a != nil {
			s.Found = append(s.Found, Audible(*a)...)
		}
	}
	s.StandsOn = []string{couplingStandsOn(r)}
	s.NotShown, s.Would = couplingOpen(r)
	return s
}

// runName names a run by its file, and by what else tells it from the others.
func runName(r result.Coupling, i int) string {
	name := File(r.Runs[i].File)
	for j, other := range r.Runs {
		if j != i && other.File == r.Runs[i].File {
			return fmt.Sprintf("%s, channel %d (%s)", name, r.Runs[i].Channel, differing(r, i))
		}
	}
	return name
}

// differing are the conditions of a run that not all runs share; all of them
// where there is one run, or where the runs are alike.
func differing(r result.Coupling, i int) string {
	var out []string
	all := RunConditions(r.Runs[i])
	for _, c := range all {
		for _, other := range r.Runs {
			if !slices.Contains(RunConditions(other), c) {
				out = append(out, c)
				break
			}
		}
	}
	if len(out) == 0 {
		out = all
	}
	return strings.Join(out, ", ")
}

// RunConditions are the conditions that controlled changes change.
func RunConditions(run result.CouplingRun) []string {
	out := []string{}
	if run.FarEndOpen || run.SourceOhms.Lo.Ok() {
		out = append(out, "far end "+FarEnd(run.BenchConditions))
	}
	if l := loadOf(run); l != "" {
		out = append(out, l)
	}
	switch run.Bonded {
	case "yes":
		out = append(out, "far device bonded")
	case "no":
		out = append(out, "far device isolated")
	}
	if run.Plug > 0 {
		out = append(out, fmt.Sprintf("plug %d", run.Plug))
	}
	return out
}

func loadOf(run result.CouplingRun) string {
	switch {
	case run.Loaded == "no":
		return "lead unloaded"
	case run.LeadAmps.Lo.Ok():
		return "lead at " + Stated(run.LeadAmps, func(v result.Num) string { return short(v) + " A" })
	case run.Loaded == "yes":
		return "lead loaded"
	}
	return ""
}

// mechanism is the headline.
func mechanism(r result.Coupling) string {
	decided, proved := []string{}, true
	for i, run := range r.Runs {
		if f := run.Mechanism; f.Verdict == r.Mechanism.Verdict {
			decided = append(decided, differing(r, i))
			proved = proved && f.How == result.Proved
		}
	}
	switch v := r.Mechanism.Verdict; {
	case v == result.NotDecided:
		return "How the hum gets in is not decided."
	case v == result.Mixed && len(decided) == 0:
		return "How the hum gets in depends on the conditions: " + eachVerdict(r) + "."
	case v == result.Mixed:
		return fmt.Sprintf("The hum gets in by more than one way at once (%s).", strings.Join(decided, "; "))
	case proved:
		return fmt.Sprintf("The hum comes by %s: whatever the phases, all else together is less than a third of it (%s).", mechanisms[v], strings.Join(decided, "; "))
	default:
		return fmt.Sprintf("The hum comes by %s: that alone explains the pickup to half a decibel; another part as large would have to be turned against it just so (%s).", mechanisms[v], strings.Join(decided, "; "))
	}
}

func eachVerdict(r result.Coupling) string {
	var parts []string
	for i, run := range r.Runs {
		if name, ok := mechanisms[run.Mechanism.Verdict]; ok {
			parts = append(parts, "with "+differing(r, i)+" by "+name)
		}
	}
	return strings.Join(parts, "; ")
}

// evidence is what two runs say.
func evidence(r result.Coupling, e result.Evidence) string {
	a, b := r.Runs[e.RunA], r.Runs[e.RunB]
	what := map[string][2]string{
		result.ByTermination: {fmt.Sprintf("From a far end of %s to %s", FarEnd(a.BenchConditions), FarEnd(b.BenchConditions)), "the electric field"},
		result.ByLoad:        {"With the lead loaded instead of unloaded", "the magnetic field"},
		result.ByBond:        {"With the far device bonded instead of isolated", "a loop of earths"},
	}[e.Kind]
	if e.Kind == result.ByLoad && a.Loaded != "no" {
		what[0] = fmt.Sprintf("From %s to %s", loadOf(a), loadOf(b))
	}
	if !e.LoDB.Ok() || !e.HiDB.Ok() {
		return fmt.Sprintf("%s the pickup is not known well enough to compare.", what[0])
	}
	expected := fmt.Sprintf("by %s alone it would change by %s, without it by %s", what[1], DB(e.IfDB), DB(e.ElseDB))
	if !e.IfDB.Ok() {
		expected = fmt.Sprintf("by %s alone there would have been none before, without it a change of %s", what[1], DB(e.ElseDB))
	}
	speaks := map[string]string{
		result.FitsPart: "That speaks for " + what[1] + ".",
		result.FitsRest: "That speaks against " + what[1] + ".",
		result.Between:  "That speaks for " + what[1] + " beside something else.",
		result.Outside:  "That fits neither: parts that oppose each other, or a bench that changed.",
		result.FitsBoth: "The intervals are too wide to tell.",
	}[e.Speaks]
	return fmt.Sprintf("%s the pickup changed by %s dB (%s against %s); %s. %s", what[0], DBRange(e.LoDB, e.HiDB),
		Between(b.PickupVolts, "V"), Between(a.PickupVolts, "V"), expected, speaks)
}

// whyNot says why there is no capacitance or inductance.
var whyNot = map[string]string{
	result.WhyBalanced:    "No coupling capacitance is given: in a balanced input pickup depends on the difference between the two legs, which one voltage doesn't tell.",
	result.WhyNoVolts:     "No coupling capacitance is given: the pickup in volts is unknown.",
	result.WhyNoMains:     "No coupling capacitance is given: the mains voltage was not stated.",
	result.WhyNoImpedance: "No coupling capacitance is given: it needs the impedance of the source and of the input.",
	result.WhyTooMuch:     "No coupling capacitance is given: the lead's voltage could not drive as much through any capacitance. Check the mains voltage and the full scale.",
}

// couplings says a run's capacitance and inductance.
func couplings(r result.Coupling, i int) []string {
	run, at := r.Runs[i], ""
	if len(r.Runs) > 1 {
		at = " in " + runName(r, i)
	}
	var out []string
	if why := run.CapacitanceWhyNot; why != "" {
		out = append(out, strings.TrimSuffix(whyNot[why], ".")+at+".")
	} else {
		out = append(out, fmt.Sprintf("%s the coupling capacitance%s is %s%s.", behind(run.CapacitanceOf, "electric"), at, Between(run.CapacitanceFarads, "F"), geometry(r.Geometry)))
	}
	if run.InductanceWhyNot == "" {
		out = append(out, fmt.Sprintf("%s the mutual inductance%s is %s%s.", behind(run.InductanceOf, "magnetic"), at, Between(run.InductanceHenries, "H"), geometry(r.Geometry)))
	}
	return out
}

func behind(of, mechanism string) string {
	if of == result.OfPart {
		return fmt.Sprintf("By what the controlled changes leave for the %s field,", mechanism)
	}
	return fmt.Sprintf("If all of the pickup came by the %s field, which is not shown,", mechanism)
}

func geometry(g result.Geometry) string {
	var parts []string
	if g.SpacingMetres.Ok() {
		parts = append(parts, Metres(g.SpacingMetres)+" apart")
	}
	if g.ParallelMetres.Ok() {
		parts = append(parts, Metres(g.ParallelMetres)+" in parallel")
	}
	if len(parts) == 0 {
		return ", for the lead as it lay"
	}
	return " at the stated geometry (" + strings.Join(parts, ", ") + ")"
}

// Metres writes a length, e.g. "10 mm", "1.5 m".
func Metres(v result.Num) string {
	if v < 1 {
		return short(v*1000) + " mm"
	}
	return short(v) + " m"
}

// plugs says what is known of the plug's orientations.
func plugs(r result.Coupling) []string {
	seen := map[int]bool{}
	dropped := 0
	for _, run := range r.Runs {
		seen[run.Plug] = true
		if !run.Quoted {
			dropped++
		}
	}
	switch {
	case dropped > 0:
		return []string{"Of the plug's two orientations the one with the larger pickup is quoted."}
	case seen[1] && seen[2]:
		return nil
	}
	return []string{"Only one orientation of the lead's plug is known: the other may couple more."}
}

func couplingStandsOn(r result.Coupling) string {
	run := r.Runs[0]
	cable := "0 to 1 nF assumed"
	if run.CableFarads.Hi.Ok() {
		cable = Between(run.CableFarads, "F")
	}
	s := fmt.Sprintf("This stands on %s of harmonic %d: lead at %s, as stated", Count(len(r.Runs), "pickup"), run.Harmonic, Lead(run.BenchConditions))
	if run.InputOhms.Hi.Ok() {
		s += fmt.Sprintf("; input %s; cable %s", Stated(run.InputOhms, Ohms), cable)
	}
	return s + ". Ranges hold recording noise, the unknown phase between old and new hum, and the tolerances stated; placing the lead again changes pickup by decibels."
}

// needs are the runs that would decide.
var needs = map[string]string{
	result.ByTermination: "Record with two finite terminations, such as 20 ohm and 10 kohm, both far below the input's impedance: pickup by the electric field grows with them.",
	result.ByLoad:        "Record with the lead loaded and unloaded: pickup by the magnetic field grows with the current.",
	result.ByBond:        "Record with the far device bonded and isolated (a battery or double-insulated device; never remove a protective earth): a loop needs the bond.",
	result.NeedCloser:    "Lower the hum in quiet, or record longer: the ranges are too wide to decide.",
	result.NeedRepeat:    "Repeat the runs: they contradict each other, so something else changed.",
}

func couplingOpen(r result.Coupling) (notShown, would []string) {
	for _, run := range r.Runs {
		for _, n := range run.Mechanism.Needs {
			would = appendOnce(would, needs[n])
		}
	}
	if r.Mechanism.Verdict == result.NotDecided {
		notShown = append(notShown, "This does not show how the hum gets in: only runs that differ in one thing do.")
	}
	if s := undecidedRuns(r); s != "" && r.Mechanism.Verdict != result.NotDecided {
		notShown = append(notShown, "Not decided: "+s+".")
	}
	return notShown, would
}

func undecidedRuns(r result.Coupling) string {
	var out []string
	for i, run := range r.Runs {
		if run.Mechanism.Verdict == result.NotDecided {
			out = append(out, differing(r, i))
		}
	}
	return strings.Join(out, "; ")
}

func appendOnce(list []string, s string) []string {
	if slices.Contains(list, s) {
		return list
	}
	return append(list, s)
}

// forward says what pickup to expect.
func forward(r result.Coupling) Statement {
	if len(r.Expected) == 0 {
		return Statement{Found: []string{"Nothing was asked."}}
	}
	e := r.Expected[0]
	s := Statement{}
	c := Between(e.CapacitanceFarads, "F")
	if w := r.Wires; w != nil {
		s.Found = append(s.Found, fmt.Sprintf("Two bare wires %s thick, %s from centre to centre and %s in parallel have %s between them; a shield leaves a small share of that.",
			Metres(result.Num(w.DiameterMetres)), Metres(result.Num(w.SpacingMetres)), Metres(result.Num(w.LengthMetres)), c))
	}
	s.Found = append(s.Found,
		fmt.Sprintf("Through %s a lead at %s brings a pickup of %s where the far end is %s and the input %s.", c, Lead(e.BenchConditions),
			Between(e.PickupVolts, "V"), farEnd(e.BenchConditions), Stated(e.InputOhms, Ohms)),
		fmt.Sprintf("The thermal noise of that impedance is %s in a band of 1 Hz and %s from 20 Hz to 20 kHz: no floor lies lower.",
			Volts(e.ThermalVoltsRootHz), Volts(e.ThermalVolts)),
		fmt.Sprintf("There, pickup stays below 1 µV for couplings below %s.", Between(result.Ends{Lo: e.MicrovoltFarads, Hi: e.MicrovoltFarads}, "F")))
	for _, a := range r.Audible {
		if a != nil {
			s.Found = append(s.Found, Audible(*a)...)
		}
	}
	s.StandsOn = []string{"This is the electric field's part at the fundamental alone, from the values given: nothing was measured."}
	s.NotShown = []string{"This does not show what a lead's current or a loop of earths would add."}
	s.Would = []string{"Record a quiet and a near capture, and compare them."}
	return s
}

func farEnd(b result.BenchConditions) string {
	if b.FarEndOpen {
		return "open"
	}
	return "terminated by " + FarEnd(b)
}
