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
		couplingSection(r),
		warningSection(r.Warnings),
	)
	return d
}

// headline is the first thing found.
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
	model.Magnetic: "the magnetic field of the lead's current",
	model.Loop:     "current in the shield, through a loop of earths",
}

// mechanismSaid is the headline.
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

// evidenceSaid is what two runs say.
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
		changed, what = "With the far device bonded instead of isolated", "a loop of earths"
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

// conditionsOf are the conditions that controlled changes change.
func conditionsOf(run model.CouplingRun) []string {
	var out []string
	if run.FarEndOpen || run.SourceOhms.Known() {
		out = append(out, "far end "+FarEnd(run.BenchConditions))
	}
	out = add(out, loadOf(run), map[string]string{model.Yes: "far device bonded", model.No: "far device isolated"}[run.Bonded])
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
		return "lead at " + stated(run.LeadAmps, func(v model.Num) string { return short(v) + " A" })
	case run.Loaded == model.Yes:
		return "lead loaded"
	}
	return ""
}
