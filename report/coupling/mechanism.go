package coupling

import (
	"humdiff/report/model"
)

// Run is a pickup with the conditions it was measured under.
type Run struct {
	Pickup model.Estimate // volts rms at Bench.Hz
	Bench  Bench
	Loaded string         // the lead feeds a load: Yes, No or empty
	Amps   model.Estimate // rms current in the lead; unknown where only Loaded is
	Bonded string         // the far device is bonded to the mains' earth: Yes, No or empty
	Plug   int            // orientation, 1 or 2; 0: not stated
}

func (r Run) pickup() span { return spanOf(r.Pickup) }
func (r Run) amps() span   { return spanOf(r.Amps) }

// Finding is the mechanism of one run.
type Finding struct {
	Verdict string
	How     string   // Proved or Explains; empty where undecided
	Needs   []string // what a run that would decide has to change
	// The range of each part at the input, volts.
	electric, magnetic, loop span
	other                    span // magnetic and loop together
}

// Report is what a set of runs says of the mechanism.
type Report struct {
	Verdict  string // of all runs in which one was found, controls left aside: alike, or mixed
	Changes  []Change
	Findings []Finding // one for each run
}

// Mechanism names the mechanism of each run from the controlled changes among
// them: two finite terminations, the lead loaded and unloaded, the far device
// bonded and isolated. One run alone, or runs that differ in two things at once,
// decide nothing.
func Mechanism(runs []Run) Report {
	r := Report{Verdict: model.NotDecided}
	for i := range runs {
		for j := range runs {
			if c, ok := change(runs, i, j); ok {
				r.Changes = append(r.Changes, c)
			}
		}
	}
	for i := range runs {
		r.Findings = append(r.Findings, find(runs, r.Changes, i))
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

// find names the mechanism of run i.
func find(runs []Run, changes []Change, i int) Finding {
	p := bounds(runs, changes, i)
	f := Finding{Verdict: model.NotDecided, electric: p[0].of, magnetic: p[1].of, loop: p[2].of, other: p[0].rest}
	if told(runs, changes, i) {
		f.Verdict, f.How = judge(runs[i], p)
	}
	if f.Verdict == model.NotDecided {
		f.How = ""
		f.Needs = needs(runs, changes, i, p)
	}
	return f
}

// told reports whether any change says something of a run.
func told(runs []Run, changes []Change, i int) bool {
	for _, c := range changes {
		if runs[c.A].Plug == runs[i].Plug {
			return true
		}
	}
	return false
}
