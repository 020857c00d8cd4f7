package doc

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// Coupling tells what pickups mean: the mechanism with its evidence, couplings, what
// it stands on and what would decide more; or what pickup to expect.
func Coupling(r model.Coupling) Document {
	title, found, stands := "Nothing was asked.", []string(nil), []string(nil)
	switch {
	case len(r.Runs) > 0:
		title, found, stands = mechanismSaid(r), couplingFound(r), tell("coupling.stands", r.Runs)
	case len(r.Expected) > 0:
		title, found, stands = tellOne("coupling.expected", r.Expected[0]), tell("coupling.limits", r), tell("coupling.forward", r)
	}
	for _, a := range r.Audible {
		if a != nil {
			found = append(found, audibleSaid(*a)...)
		}
	}
	d := Document{Title: title, Gate: gate(r.MayPublish), Footer: madeBy(r.Head)}
	d.Sections = filled(
		Section{ID: "found", Title: "What was found", Short: shortSure, Blocks: []Block{List{Items: found}}},
		Section{ID: "stands", Title: "What it stands on", Blocks: []Block{List{Items: stands}}},
		nextSection(couplingNext(r)),
		Section{ID: "couplings", Title: "Run by run", Short: shortLines, Blocks: []Block{couplingTable(r)}},
		warningSection(r.Warnings),
	)
	return d
}

// mechanismSaid is the verdict on all runs, with the conditions of those that have it.
func mechanismSaid(r model.Coupling) string {
	decided, parts, proved := []string{}, []string{}, true
	for i, run := range r.Runs {
		f := run.Mechanism
		if f.Verdict == r.Mechanism.Verdict {
			decided = append(decided, differing(r, i))
			proved = proved && f.How == model.Proved
		}
		if by := tellOne("mechanism", f.Verdict); by != "" {
			parts = append(parts, "with "+differing(r, i)+" by "+by)
		}
	}
	return tellOne("coupling.headline", map[string]any{"verdict": r.Mechanism.Verdict, "by": tellOne("mechanism", r.Mechanism.Verdict),
		"where": strings.Join(decided, "; "), "parts": strings.Join(parts, "; "), "proved": proved})
}

func couplingFound(r model.Coupling) []string {
	var out []string
	for _, e := range r.Mechanism.Evidence {
		out = append(out, evidenceSaid(r, e))
	}
	plugs, dropped := map[int]bool{}, false
	for i, run := range r.Runs {
		plugs[run.Plug] = true
		dropped = dropped || !run.Quoted
		if !run.Quoted {
			continue
		}
		in := ""
		if len(r.Runs) > 1 {
			in = " in " + runName(r, i)
		}
		out = append(out, tell("coupling.run", map[string]any{"run": run, "in": in})...)
	}
	return append(out, tell("coupling.geometry", map[string]any{"geometry": r.Geometry, "dropped": dropped, "both": plugs[1] && plugs[2]})...)
}

func evidenceSaid(r model.Coupling, e model.Evidence) string {
	a, b := r.Runs[e.RunA], r.Runs[e.RunB]
	changed := "With the " + farDevice[b.Bonded] + " instead of isolated"
	switch {
	case e.Kind == model.ByTermination:
		changed = fmt.Sprintf("From a far end of %s to %s", farEnd(a.BenchConditions), farEnd(b.BenchConditions))
	case e.Kind == model.ByLoad && a.Loaded == model.No:
		changed = "With the lead loaded instead of unloaded"
	case e.Kind == model.ByLoad:
		changed = fmt.Sprintf("From %s to %s", loadOf(a), loadOf(b))
	}
	by := ""
	if lo, hi := ends(e.DB); lo.Ok() && hi.Ok() {
		by = dbRange(lo, hi) + " dB"
	}
	return tellOne("evidence", evidence{changed, e.Kind, by, fromTo(a.PickupVolts, "V"), fromTo(b.PickupVolts, "V"), e.IfDB, e.ElseDB, e.Speaks, nil})
}

// evidence is what two runs, or sets of runs, that differ in one thing say.
type evidence struct {
	Changed, Kind string // what differs, in words, and its code
	By            string // by how much the pickup changed; empty where that isn't known
	Was, Became   string // may be empty
	If, Else      model.Num
	Speaks        string
	Runs          []int // may be empty
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

// farEnd writes what stands at a cable's far end, e.g. "20 Ω", "open".
func farEnd(b model.BenchConditions) string {
	if b.FarEndOpen {
		return "open"
	}
	return stated(b.SourceOhms, Ohms)
}

// lead writes the lead's voltage and frequency, e.g. "230 V, 50 Hz".
func lead(b model.BenchConditions) string {
	return stated(b.MainsVolts, inUnit("V", "unknown voltage")) + ", " + Hz(b.Hz)
}

// inUnit writes a number in few digits, or what stands for one that is absent.
func inUnit(unit, none string) func(model.Num) string {
	return func(v model.Num) string {
		if !v.Ok() {
			return none
		}
		return short(v) + " " + unit
	}
}

// fileIn names a file of a run, with its folder where another's has the same name.
func fileIn(r model.Coupling, file string) string {
	return apart(each(r.Runs, func(run model.CouplingRun) string { return run.File }))[file]
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

// conditionsOf are a run's, a phrase each.
func conditionsOf(run model.CouplingRun) []string { return tell("coupling.conditions", run) }

func loadOf(run model.CouplingRun) string { return tellOne("coupling.load", run) }

// couplingNext are the runs that would decide.
func couplingNext(r model.Coupling) (next []string) {
	for _, run := range r.Runs {
		next = appendOnce(next, needs(run.Mechanism.Needs, run.PickupVolts)...)
	}
	if len(r.Runs) == 0 && len(r.Expected) > 0 {
		next = []string{"Record a quiet and a near capture, and compare them."}
	}
	return next
}

// needs say what to record where a mechanism isn't decided; with a reference a pickup has
// a value.
func needs(of []string, pickup model.Estimate) []string {
	return tell("needs", map[string]any{"needs": of, "phased": pickup.Measured()})
}

// couplingTable has a row for each run, or for each far end where pickup was worked
// out forwards.
func couplingTable(r model.Coupling) Table {
	switch {
	case len(r.Runs)+len(r.Expected) == 0:
		return Table{}
	case len(r.Runs) == 0:
		return tableOf("expected", "Pickup to expect", expectedFields(), r.Expected,
			"Thermal: noise of the impedance at the input at 20 °C. 1 µV at: the capacitance that brings 1 µV there.")
	}
	notes := []string{"Electric to other: what controlled changes leave for each way in. By voltage is electric and shield together, other is all but electric."}
	if slices.ContainsFunc(r.Runs, func(run model.CouplingRun) bool { return !run.PickupVolts.Measured() }) {
		notes = append(notes, "Pickup is a range: the phase between old and new hum is unknown.")
	}
	return withoutEmpty(tableOf("runs", "", runFields(r), r.Runs, notes...))
}

// ranges is a column of ranges, empty where the upper end isn't known.
func ranges[R any](head, unit string, of func(R) model.Estimate) field[R] {
	return field[R]{Column: Column{Head: head}, cell: func(r R) Cell {
		_, hi := ends(of(r))
		if !hi.Ok() {
			return Cell{Value: hi}
		}
		return Cell{Text: fromTo(of(r), unit), Value: hi}
	}}
}

func farEnds[R any](of func(R) model.BenchConditions) field[R] {
	return field[R]{Column: Column{Head: "far end"}, cell: func(r R) Cell { return Cell{Text: farEnd(of(r))} }}
}

func runFields(all model.Coupling) []field[model.CouplingRun] {
	type run = model.CouplingRun
	return []field[run]{
		worded("run", func(r run) string { return fileIn(all, r.File) }),
		farEnds(func(r run) model.BenchConditions { return r.BenchConditions }),
		ranges("pickup", "V", func(r run) model.Estimate { return r.PickupVolts }),
		ranges("capacitance", "F", func(r run) model.Estimate { return r.CapacitanceFarads }),
		ranges("electric", "V", func(r run) model.Estimate { return r.Mechanism.ElectricVolts }).spared(spareVoltage),
		ranges("shield", "V", func(r run) model.Estimate { return r.Mechanism.ShieldVolts }).spared(spareVoltage),
		ranges("by voltage", "V", func(r run) model.Estimate { return r.Mechanism.VoltageVolts }).spared(spareVoltage),
		ranges("magnetic", "V", func(r run) model.Estimate { return r.Mechanism.MagneticVolts }).spared(spareVoltage),
		ranges("other", "V", func(r run) model.Estimate { return r.Mechanism.OtherVolts }).spared(spareVoltage),
		worded("mechanism", func(r run) string { return strings.ReplaceAll(r.Mechanism.Verdict, "_", " ") }),
	}
}

func expectedFields() []field[model.Expected] {
	type expected = model.Expected
	in := func(unit string) func(model.Num) string {
		return func(v model.Num) string { return Quantity(estimate.Between(v.Float(), v.Float()), unit) }
	}
	return []field[expected]{
		farEnds(func(e expected) model.BenchConditions { return e.BenchConditions }),
		ranges("pickup", "V", func(e expected) model.Estimate { return e.PickupVolts }),
		numbers("thermal, 1 Hz", "", in("V"), func(e expected) model.Num { return e.ThermalVoltsRootHz }),
		numbers("20 Hz to 20 kHz", "", in("V"), func(e expected) model.Num { return e.ThermalVolts }),
		numbers("1 µV at", "", in("F"), func(e expected) model.Num { return e.MicrovoltFarads }),
	}
}
