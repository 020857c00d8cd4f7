package doc

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// Coupling tells what pickups mean: the mechanism with its evidence, couplings, what
// it stands on, what isn't shown and what would show it; or what pickup to expect.
func Coupling(r model.Coupling) Document {
	t := tellCoupling(r)
	d := Document{Title: t.headline(), Gate: gate(r.MayPublish), Footer: madeBy(r.Head)}
	all := []told{t}
	d.Sections = filled(
		Section{ID: "found", Title: "What was found", Short: shortSure, Blocks: []Block{List{Items: t.found[min(1, len(t.found)):]}}},
		Section{ID: "stands", Title: "What it stands on", Blocks: []Block{List{Items: t.standsOn}}},
		openSection(all),
		Section{ID: "couplings", Title: "Run by run", Short: shortLines, Blocks: []Block{CouplingTable(r)}},
		warningSection(r.Warnings),
	)
	return d
}

func (t told) headline() string {
	if len(t.found) == 0 {
		return "Nothing was asked."
	}
	return t.found[0]
}

func tellCoupling(r model.Coupling) told {
	if len(r.Runs) == 0 {
		return forward(r)
	}
	t := told{found: []string{mechanismSaid(r)}}
	for _, e := range r.Mechanism.Evidence {
		t.found = append(t.found, evidenceSaid(r, e))
	}
	for i, run := range r.Runs {
		if run.Quoted {
			t.found = append(t.found, couplingsOf(r, i)...)
		}
	}
	t.found = append(t.found, geometry(r.Geometry)...)
	t.found = append(t.found, plugsSaid(r)...)
	for _, a := range r.Audible {
		if a != nil {
			t.found = append(t.found, AudibleSaid(*a)...)
		}
	}
	t.standsOn = couplingStandsOn(r)
	t.notShown, t.next = couplingOpen(r)
	return t
}

// mechanisms are the words for each verdict, as subject of a sentence.
var mechanisms = map[string]string{
	model.Electric: "the electric field of the lead's voltage",
	model.Shield:   "current that the lead's voltage drives into the shield",
	model.Magnetic: "the magnetic field of the lead's current",
	model.Loop:     "current in the shield, through a loop of earths",
}

func mechanismSaid(r model.Coupling) string {
	decided, proved := []string{}, true
	for i, run := range r.Runs {
		if f := run.Mechanism; f.Verdict == r.Mechanism.Verdict {
			decided = append(decided, differing(r, i))
			proved = proved && f.How == model.Proved
		}
	}
	where := " (" + strings.Join(decided, "; ") + ")"
	v := r.Mechanism.Verdict
	switch {
	case v == model.Mixed && len(decided) == 0:
		return "How the hum gets in depends on the conditions: " + eachVerdict(r) + "."
	case v == model.Mixed:
		return "The hum gets in by more than one way at once" + where + "."
	case mechanisms[v] == "":
		return "How the hum gets in is not decided."
	case proved:
		return fmt.Sprintf("The hum comes by %s%s. Whatever the phases, all else together is less than a third of it.", mechanisms[v], where)
	}
	return fmt.Sprintf("The hum comes by %s%s. That alone explains the pickup to half a decibel; another part as large would have to be turned against it just so.", mechanisms[v], where)
}

func eachVerdict(r model.Coupling) string {
	var parts []string
	for i, run := range r.Runs {
		if name, ok := mechanisms[run.Mechanism.Verdict]; ok {
			parts = append(parts, "with "+differing(r, i)+" by "+name)
		}
	}
	return strings.Join(parts, "; ")
}

func evidenceSaid(r model.Coupling, e model.Evidence) string {
	a, b := r.Runs[e.RunA], r.Runs[e.RunB]
	changed, what := "", ""
	switch e.Kind {
	case model.ByTermination:
		changed, what = fmt.Sprintf("From a far end of %s to %s", FarEnd(a.BenchConditions), FarEnd(b.BenchConditions)), "the electric field"
	case model.ByLoad:
		changed, what = "With the lead loaded instead of unloaded", "the magnetic field"
		if a.Loaded != model.No {
			changed = fmt.Sprintf("From %s to %s", loadOf(a), loadOf(b))
		}
	default:
		changed, what = "With the "+farDevice[b.Bonded]+" instead of isolated", "a loop of earths"
	}
	lo, hi := ends(e.DB)
	if !lo.Ok() || !hi.Ok() {
		return changed + " the pickup is not known well enough to compare."
	}
	expected := fmt.Sprintf("By %s alone it would change by %s, without it by %s.", what, DB(e.IfDB), DB(e.ElseDB))
	if !e.IfDB.Ok() {
		expected = fmt.Sprintf("By %s alone there would have been none before, without it a change of %s.", what, DB(e.ElseDB))
	}
	speaks := map[string]string{
		model.FitsPart: "That speaks for " + what + ".",
		model.FitsRest: "That speaks against " + what + ".",
		model.Between:  "That speaks for " + what + " beside something else.",
		model.Outside:  "That fits neither: parts that oppose each other, or a bench that changed.",
		model.FitsBoth: "The intervals are too wide to tell.",
	}[e.Speaks]
	return fmt.Sprintf("%s the pickup changed by %s dB. It was %s, and became %s. %s %s", changed, dbRange(lo, hi),
		fromTo(a.PickupVolts, "V"), fromTo(b.PickupVolts, "V"), expected, speaks)
}

// fromTo writes a range by its ends alone, e.g. "0.95 to 1.05 pF".
func fromTo(e model.Estimate, unit string) string {
	lo, hi := endsOrValue(e)
	return Quantity(estimate.Between(lo.Float(), hi.Float()), unit)
}

// stated writes a value of the bench with its tolerance, e.g. "20 Ω", "19 to 21 Ω";
// write writes one end.
func stated(e model.Estimate, write func(model.Num) string) string {
	lo, hi := ends(e)
	if !lo.Ok() || !hi.Ok() {
		return write(value(e))
	}
	return between(write(lo), write(hi))
}

// endsOrValue are a quantity's ends, or its value twice where nothing was said of them.
func endsOrValue(e model.Estimate) (lo, hi model.Num) {
	if lo, hi = ends(e); !lo.Ok() && !hi.Ok() {
		lo, hi = value(e), value(e)
	}
	return lo, hi
}

// FarEnd writes what stands at a cable's far end, e.g. "20 Ω", "open".
func FarEnd(b model.BenchConditions) string {
	if b.FarEndOpen {
		return "open"
	}
	return stated(b.SourceOhms, Ohms)
}

// lead writes the lead's voltage and frequency, e.g. "230 V, 50 Hz".
func lead(b model.BenchConditions) string {
	return stated(b.MainsVolts, func(v model.Num) string {
		if !v.Ok() {
			return "unknown voltage"
		}
		return short(v) + " V"
	}) + ", " + Hz(b.Hz)
}

// fileIn names a file of a run, with its folder where another's has the same name.
func fileIn(r model.Coupling, file string) string {
	for _, other := range r.Runs {
		if other.File != file && Base(other.File) == Base(file) {
			folder := strings.TrimSuffix(strings.TrimRight(file, `/\`), Base(file))
			return Printable(Base(folder) + "/" + Base(file))
		}
	}
	return File(file)
}

// runName names a run by its file, and by what else tells it from the others.
func runName(r model.Coupling, i int) string {
	name := fileIn(r, r.Runs[i].File)
	for j, other := range r.Runs {
		if j != i && other.File == r.Runs[i].File {
			return fmt.Sprintf("%s, channel %d (%s)", name, r.Runs[i].Channel, differing(r, i))
		}
	}
	return name
}

// differing are the conditions of a run that not all runs share; all of them where
// there is one run, or where the runs are alike.
func differing(r model.Coupling, i int) string {
	all := conditionsOf(r.Runs[i])
	var out []string
	for _, c := range all {
		if slices.ContainsFunc(r.Runs, func(other model.CouplingRun) bool { return !slices.Contains(conditionsOf(other), c) }) {
			out = append(out, c)
		}
	}
	if len(out) == 0 {
		out = all
	}
	return strings.Join(out, ", ")
}

func conditionsOf(run model.CouplingRun) []string {
	var out []string
	if run.FarEndOpen || run.SourceOhms.Known() {
		out = append(out, "far end "+FarEnd(run.BenchConditions))
	}
	out = add(out, loadOf(run), farDevice[run.Bonded])
	if run.Plug > 0 {
		out = append(out, fmt.Sprintf("plug %d", run.Plug))
	}
	return out
}

func loadOf(run model.CouplingRun) string {
	switch {
	case run.Loaded == model.No:
		return "lead unloaded"
	case run.LeadAmps.Known():
		return "lead at " + stated(run.LeadAmps, func(v model.Num) string { return short(v) + " A" }) + " of " + Hz(run.Hz)
	case run.Loaded == model.Yes:
		return "lead loaded"
	}
	return ""
}

// whyNot says why there is no capacitance.
var whyNot = map[string]string{
	model.WhyBalanced:       "in a balanced input pickup depends on the difference between the two legs, which one voltage doesn't tell",
	model.WhyNoVolts:        "the pickup in volts is unknown",
	model.WhyNoMains:        "the mains voltage was not stated",
	model.WhyNoImpedance:    "it needs the impedance of the source and of the input",
	model.WhyOneTermination: "only two finite terminations tell the electric field from all else",
	model.WhyContradict:     "the runs contradict each other",
	model.WhyTooMuch:        "the lead's voltage could not drive as much through any. Check the mains voltage and the full scale",
}

func couplingsOf(r model.Coupling, i int) []string {
	run, in := r.Runs[i], ""
	if len(r.Runs) > 1 {
		in = " in " + runName(r, i)
	}
	var out []string
	if run.CapacitanceFarads.Known() {
		out = append(out, fmt.Sprintf("The coupling capacitance%s is %s, of the electric part alone.", in, fromTo(run.CapacitanceFarads, "F")))
	} else if why := whyNot[run.CapacitanceFarads.Why()]; why != "" {
		out = append(out, fmt.Sprintf("No coupling capacitance is given%s: %s.", in, why))
	}
	if run.InductanceHenries.Known() {
		out = append(out, fmt.Sprintf("The mutual inductance%s is %s, of the magnetic part alone, with the %s.", in, fromTo(run.InductanceHenries, "H"), loadOf(run)))
	}
	return out
}

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
	phase := "the unknown phase between old and new hum"
	if _, _, known := run.PickupVolts.Phase(); known {
		phase = "what doesn't follow the reference"
	}
	return []string{said + ".", "Ranges cover recording noise, " + phase + ", and the tolerances stated.",
		"Placing the lead again changes pickup by decibels."}
}

// couplingNeeds are the runs that would decide.
var couplingNeeds = map[string]string{
	model.ByTermination: "Record with two finite terminations far below the input's impedance, such as 20 Ω and 10 kΩ. Pickup by the electric field grows with them.",
	model.ByLoad:        "Record with the lead loaded and unloaded. Pickup by the magnetic field grows with the current.",
	model.ByBond:        "Record with the far device bonded and isolated: on battery, or behind a transformer. Never remove a protective earth. A loop needs the bond, and class II devices leak.",
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
	t.notShown = []string{"This does not show what current in the shield, or the lead's current, would add."}
	t.next = []string{"Record a quiet and a near capture, and compare them."}
	return t
}

// CouplingTable has a row for each run, or for each far end where pickup was worked
// out forwards.
func CouplingTable(r model.Coupling) Table {
	if len(r.Runs)+len(r.Expected) == 0 {
		return Table{}
	}
	if len(r.Runs) == 0 {
		fields := expectedFields()
		return Table{ID: "expected", Title: "Pickup to expect", Columns: columns(fields), Rows: rowsOf(r.Expected, fields),
			Notes: []string{"Thermal: noise of the impedance at the input at 20 °C. 1 µV at: the capacitance that brings 1 µV there."}}
	}
	fields := runFields(r)
	return Table{ID: "runs", Title: "Runs", Columns: columns(fields), Rows: rowsOf(r.Runs, fields), Notes: []string{
		"Electric, shield, other: what controlled changes leave for the electric field, for the shield by the lead's voltage, and for all but electric.",
		"Pickup is a range: the phase between old and new hum is unknown."}}
}

func rowsOf[R any](all []R, fields []field[R]) []Row {
	return each(all, func(r R) Row { return Row{Shown: true, Key: true, Cells: cellsOf(fields, r)} })
}

// rangeCell prints a range, or nothing where its upper end isn't known.
func rangeCell[R any](head, unit string, plain string, of func(R) model.Estimate) field[R] {
	lo, hi, _ := strings.Cut(plain, " ")
	return field[R]{Column: Column{Head: head, Plain: []string{lo, hi}}, cell: func(r R) Cell {
		lo, hi := ends(of(r))
		c := Cell{Plain: []any{lo, hi}, Value: hi}
		if hi.Ok() {
			c.Text = fromTo(of(r), unit)
		}
		return c
	}}
}

func plainEnd(e model.Estimate, upper bool) any {
	lo, hi := endsOrValue(e)
	if upper {
		return hi
	}
	return lo
}

func farEndField[R any](of func(R) model.BenchConditions) field[R] {
	return field[R]{Column: Column{Head: "far end", Plain: []string{"far_end_open", "source_lo_ohms", "source_hi_ohms"}}, cell: func(r R) Cell {
		b := of(r)
		lo, hi := endsOrValue(b.SourceOhms)
		return Cell{Text: FarEnd(b), Plain: []any{b.FarEndOpen, lo, hi}}
	}}
}

func runFields(all model.Coupling) []field[model.CouplingRun] {
	type run = model.CouplingRun
	spare := func(f field[run]) field[run] { f.Spare = spareVoltage; return f }
	return []field[run]{
		{Column: Column{Head: "run", Plain: []string{"file", "channel", "harmonic"}, Left: true}, cell: func(r run) Cell {
			return Cell{Text: fileIn(all, r.File), Plain: []any{r.File, r.Channel, r.Harmonic}}
		}},
		farEndField(func(r run) model.BenchConditions { return r.BenchConditions }),
		hidden("loaded", func(r run) any { return r.Loaded }),
		hidden("lead_lo_amps", func(r run) any { return plainEnd(r.LeadAmps, false) }),
		hidden("lead_hi_amps", func(r run) any { return plainEnd(r.LeadAmps, true) }),
		hidden("bonded", func(r run) any { return r.Bonded }),
		hidden("plug", func(r run) any { return r.Plug }),
		hidden("quoted", func(r run) any { return r.Quoted }),
		rangeCell("pickup", "V", "pickup_lo_volts_rms pickup_hi_volts_rms", func(r run) model.Estimate { return r.PickupVolts }),
		rangeCell("capacitance", "F", "capacitance_lo_farads capacitance_hi_farads", func(r run) model.Estimate { return r.CapacitanceFarads }),
		spare(rangeCell("electric", "V", "electric_lo_volts_rms electric_hi_volts_rms", func(r run) model.Estimate { return r.Mechanism.ElectricVolts })),
		spare(rangeCell("shield", "V", "shield_lo_volts_rms shield_hi_volts_rms", func(r run) model.Estimate { return r.Mechanism.ShieldVolts })),
		spare(rangeCell("other", "V", "not_electric_lo_volts_rms not_electric_hi_volts_rms", func(r run) model.Estimate { return r.Mechanism.OtherVolts })),
		{Column: Column{Head: "mechanism", Plain: []string{"mechanism", "how"}, Left: true}, cell: func(r run) Cell {
			return Cell{Text: strings.ReplaceAll(r.Mechanism.Verdict, "_", " "), Plain: []any{r.Mechanism.Verdict, r.Mechanism.How}}
		}},
	}
}

func expectedFields() []field[model.Expected] {
	type expected = model.Expected
	number := func(head, unit, name string, of func(expected) model.Num) field[expected] {
		return field[expected]{Column: Column{Head: head, Plain: []string{name}}, cell: func(e expected) Cell {
			return Cell{Text: Quantity(estimate.Between(of(e).Float(), of(e).Float()), unit), Plain: []any{of(e)}, Value: of(e)}
		}}
	}
	return []field[expected]{
		farEndField(func(e expected) model.BenchConditions { return e.BenchConditions }),
		rangeCell("pickup", "V", "pickup_volts_rms_lo pickup_volts_rms_hi", func(e expected) model.Estimate { return e.PickupVolts }),
		number("thermal, 1 Hz", "V", "thermal_volts_per_root_hz", func(e expected) model.Num { return e.ThermalVoltsRootHz }),
		number("20 Hz to 20 kHz", "V", "thermal_volts", func(e expected) model.Num { return e.ThermalVolts }),
		number("1 µV at", "F", "microvolt_farads", func(e expected) model.Num { return e.MicrovoltFarads }),
	}
}
