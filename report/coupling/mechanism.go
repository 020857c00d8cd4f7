package coupling

import (
	"math"

	"humdiff/report/model"
)

// Run is a pickup with the conditions it was measured under.
type Run struct {
	Pickup  model.Estimate // volts rms at Bench.Hz
	Bench   Bench
	Loaded  string         // the lead feeds a load: Yes, No or empty
	Amps    model.Estimate // rms current in the lead at Bench.Hz; unknown where only Loaded is
	Bonded  string         // how the far device is tied to earth: Yes, No, ClassTwo or empty
	Plug    int            // orientation, 1 or 2; 0: not stated
	Channel int            // each is a cable of its own
}

func (r Run) pickup() span { return spanOf(r.Pickup) }
func (r Run) amps() span   { return spanOf(r.Amps) }

// ampsTolerance is how far off a current can be, as a share of it.
func (r Run) ampsTolerance() float64 {
	if a := r.amps(); a.known() && a.mid() > 0 {
		return (a.hi - a.lo) / 2 / a.mid()
	}
	return 0
}

// Finding is the mechanism of one run.
type Finding struct {
	Verdict string
	How     string   // Proved or Explains; empty where undecided
	Needs   []string // what a run that would decide has to change
	// Farads couple the lead's live conductor to the signal's: of the electric part alone,
	// so unknown without two terminations. Henries couple lead and loop: of the magnetic
	// part alone, so unknown without a loaded and an unloaded lead.
	Farads, Henries model.Estimate
	sums            sums
}

// Volts is the range of what comes by one mechanism, volts at the input.
func (f Finding) Volts(mechanism string) model.Estimate {
	for _, w := range names {
		if w.name == mechanism {
			return f.sums[w.way].estimate()
		}
	}
	return unknown.estimate()
}

// Report is what a set of runs says of the mechanism.
type Report struct {
	Verdict  string // of all runs in which one was found, controls left aside: alike, or mixed
	Changes  []Change
	Findings []Finding // one for each run
}

// Mechanism names the mechanism of each run from the controlled changes among
// them: two finite terminations, the lead loaded and unloaded, the far device
// bonded and isolated. Nothing but the lead's voltage moves what it drives into the
// shield: that is told where the changes leave nothing else. One run alone, or runs
// that differ in two things at once, decide nothing.
func Mechanism(runs []Run) Report {
	r := Report{Verdict: model.NotDecided}
	for i := range runs {
		for j := range runs {
			if c, ok := change(runs, i, j); ok {
				r.Changes = append(r.Changes, c)
			}
		}
	}
	known := settle(runs, r.Changes)
	for i, s := range phased(runs) {
		known[i] = s
	}
	for i, known := range known {
		r.Findings = append(r.Findings, find(runs, r.Changes, i, known))
	}
	r.Verdict = together(r.Findings, controls(r.Changes))
	return r
}

// controls are the runs that were made only to leave the load or the bond out.
func controls(changes []Change) map[int]bool {
	out := map[int]bool{}
	for _, c := range changes {
		if c.Kind != model.ByTermination {
			out[c.A] = true
		}
	}
	return out
}

// together is the verdict that all decided runs share, controls left aside;
// where they don't, the mechanisms are mixed.
func together(all []Finding, without map[int]bool) string {
	verdict := model.NotDecided
	for i, f := range all {
		switch {
		case f.Verdict == model.NotDecided || without[i]:
		case verdict == model.NotDecided:
			verdict = f.Verdict
		case verdict != f.Verdict:
			verdict = model.Mixed
		}
	}
	return verdict
}

// find names the mechanism of run i from what is known of its parts.
func find(runs []Run, changes []Change, i int, known sums) Finding {
	f := Finding{Verdict: model.NotDecided, sums: known}
	has := map[string]bool{}
	for _, c := range changes {
		has[c.Kind] = has[c.Kind] || runs[c.A].Plug == runs[i].Plug && runs[c.A].Channel == runs[i].Channel
	}
	if len(has) > 0 && !known.contradict() {
		f.Verdict, f.How = judge(known, runs[i].pickup())
	}
	if f.Verdict == model.NotDecided {
		f.Needs = needs(known, has)
	}
	f.Farads = capacitance(known[electric], has[model.ByTermination], runs[i].Bench)
	f.Henries = inductance(known[magnetic], runs[i].amps(), has[model.ByLoad], runs[i].Bench)
	return f
}

// dominates is how many times all other parts together a part has to be.
const dominates = 3

// judge names the mechanism of a run.
func judge(s sums, pickup span) (verdict, how string) {
	large, share := 0, pickup.hi/dominates
	for _, w := range names {
		if share > 0 && s[w.way].lo >= share {
			large++
			if large > 1 || s[all&^w.way].lo >= share {
				return model.Mixed, model.Proved
			}
		}
	}
	for _, w := range names {
		if s[w.way].lo > 0 && s[w.way].lo >= dominates*s[all&^w.way].hi {
			return w.name, model.Proved
		}
	}
	for _, w := range names {
		if explains(s[w.way], pickup) && !explains(s[all&^w.way], pickup) {
			return w.name, model.Explains
		}
	}
	return model.NotDecided, ""
}

// explains reports whether a part by itself is the pickup, within closeDB, and
// both are known well enough to say so.
func explains(part, pickup span) bool {
	edge := math.Pow(10, closeDB/20)
	return pickup.lo > 0 && dB(pickup.hi/pickup.lo) <= narrowDB &&
		part.lo >= pickup.lo/edge && part.hi <= pickup.hi*edge
}

// needs lists the changes that would decide a run, of those that it hasn't.
func needs(s sums, has map[string]bool) []string {
	if s.contradict() {
		return []string{model.NeedRepeat}
	}
	var out []string
	for _, c := range []struct {
		kind string
		way  set
	}{{model.ByTermination, electric}, {model.ByLoad, magnetic}, {model.ByBond, loop}} {
		if !has[c.kind] && s[c.way].hi > 0 {
			out = append(out, c.kind)
		}
	}
	if len(out) == 0 {
		out = append(out, model.NeedCloser)
	}
	return out
}
