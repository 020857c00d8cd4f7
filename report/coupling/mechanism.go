package coupling

import (
	"math"
	"math/cmplx"

	"humdiff/report/result"
	"humdiff/report/session"
)

// Run is a pickup with the conditions it was measured under.
type Run struct {
	Pickup Range // volts rms at Bench.Hz
	Bench  Bench
	Loaded session.Tri // the lead feeds a load
	Amps   Range       // rms current in the lead; unknown where only Loaded is
	Bonded session.Tri // the far device is bonded to the mains' earth
	Plug   int         // orientation, 1 or 2; 0: not stated
}

// Change is what two runs that differ in one thing say.
type Change struct {
	Kind   string
	A, B   int     // the runs, by their places; B couples more by Kind's part
	DB     Range   // pickup of B over A
	If     float64 // what DB would be if Kind's part were all of it; infinite where A has none
	Else   float64 // what DB would be without Kind's part
	Speaks string  // FitsPart, FitsRest, Between, Outside or FitsBoth
	parts  [2]part // in A and in B
}

// part is what a change says of a run: the range of the part that was changed,
// and of all the rest together, volts.
type part struct{ of, rest Range }

// Finding is the mechanism of one run.
type Finding struct {
	Verdict  string
	How      string // Proved or Explains; empty where undecided
	Electric Range  // each part's range at the input, volts; Hi infinite where unbounded
	Magnetic Range
	Loop     Range
	Other    Range // magnetic and loop together
	Need     []string
}

// Report is what a set of runs says of the mechanism.
type Report struct {
	Verdict  string // of all runs in which one was found, controls left aside: alike, or mixed
	Changes  []Change
	Findings []Finding // one for each run
}

// dominates is how many times all other parts together a part has to be.
const dominates = 3

// closeDB is how near a part has to come to the pickup to explain it alone, and
// telling the least width of what a change has to be able to tell, dB.
const (
	closeDB   = 0.5
	narrowDB  = 2
	tellingDB = 10
)

// farBelow is how many times a termination the input's impedance has to be for
// two terminations to tell mechanisms apart.
const farBelow = 3

// sameMains is how far two runs' mains may lie apart, as a share: public grids
// stay within 1 %.
const sameMains = 0.01

// Mechanism names the mechanism of each run from the controlled changes among
// them: two finite terminations, the lead loaded and unloaded, the far device
// bonded and isolated. One run alone, or runs that differ in two things at once,
// decide nothing.
func Mechanism(runs []Run) Report {
	r := Report{Verdict: result.NotDecided}
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
		if c.Kind != result.ByTermination {
			out[c.A] = true
		}
	}
	return out
}

// together is the verdict that all decided runs share, controls left aside;
// where they don't, the mechanisms are mixed.
func together(all []Finding, without map[int]bool) string {
	verdict := result.NotDecided
	for i, f := range all {
		switch {
		case f.Verdict == result.NotDecided || without[i]:
		case verdict == result.NotDecided:
			verdict = f.Verdict
		case verdict != f.Verdict:
			verdict = result.Mixed
		}
	}
	return verdict
}

// change compares run i with run j, where they differ in one thing and j couples
// more by it.
func change(runs []Run, i, j int) (Change, bool) {
	a, b := runs[i], runs[j]
	if i == j || !comparable(a, b) {
		return Change{}, false
	}
	kind := ""
	for _, d := range []struct {
		kind string
		is   bool
	}{{result.ByTermination, a.Bench.SourceOhms != b.Bench.SourceOhms}, {result.ByLoad, a.load() != b.load()}, {result.ByBond, a.Bonded != b.Bonded}} {
		if d.is && kind != "" {
			return Change{}, false
		}
		if d.is {
			kind = d.kind
		}
	}
	k1, k2, s1, s2, ok := design(kind, a, b)
	if !ok || cmplx.Abs(k1*s2) >= cmplx.Abs(k2*s1) {
		return Change{}, false
	}
	return weigh(Change{Kind: kind, A: i, B: j}, a, b, [4]complex128{k1, k2, s1, s2}), true
}

func comparable(a, b Run) bool {
	known := func(r Run) bool {
		return r.Pickup.Known() && !r.Bench.Balanced && r.Bench.SourceOhms.Known() && r.Bench.InputOhms.Known()
	}
	same := func(x, y Range) bool { return x == y || !x.Known() && !y.Known() }
	return known(a) && known(b) && a.Plug == b.Plug && math.Abs(a.Bench.Hz/b.Bench.Hz-1) < sameMains &&
		same(a.Bench.MainsVolts, b.Bench.MainsVolts) && same(a.Bench.InputOhms, b.Bench.InputOhms) &&
		same(a.Bench.InputFarads, b.Bench.InputFarads) && same(a.Bench.CableFarads, b.Bench.CableFarads)
}

// load is the lead's current where it is known to be none or to have a value,
// 1 where the lead is only known to be loaded, NaN where nothing is.
func (r Run) load() float64 {
	switch {
	case r.Loaded == session.No:
		return 0
	case r.Amps.Known():
		return r.Amps.Mid()
	case r.Loaded == session.Yes:
		return 1
	}
	return unstated
}

// unstated is a load that equals itself alone, unlike a NaN.
const unstated = -1

// design is how strongly the changed part (k) and the rest (s) couple in two
// runs; not ok where the change tells nothing.
func design(kind string, a, b Run) (k1, k2, s1, s2 complex128, ok bool) {
	s1, s2 = a.Bench.share(), b.Bench.share()
	switch kind {
	case result.ByTermination:
		k1, k2 = a.Bench.z(), b.Bench.z()
		far := func(r Run) bool { return r.Bench.SourceOhms.Hi*farBelow <= r.Bench.InputOhms.Lo }
		ratio := 20 * math.Log10(cmplx.Abs(k2*s1/(k1*s2)))
		return k1, k2, s1, s2, far(a) && far(b) && ratio >= tellingDB
	case result.ByLoad:
		i, j := a.load(), b.load()
		// A current that is only known to flow can't be set against another's.
		vague := func(r Run) bool { return r.Loaded == session.Yes && !r.Amps.Known() }
		mixed := vague(a) && j != 0 || vague(b) && i != 0
		return complex(i, 0), complex(j, 0), 1, 1, i >= 0 && j >= 0 && !mixed
	case result.ByBond:
		return 0, 1, 1, 1, a.Bonded == session.No && b.Bonded == session.Yes
	}
	return 0, 0, 0, 0, false
}

// weigh reads a change. With the changed part A and the rest R as phasors at
// strength 1, P1 = k1·A + s1·R and P2 = k2·A + s2·R, so
// A = (s2·P1 − s1·P2)/(k1·s2 − k2·s1) and R = (k2·P1 − k1·P2)/(k2·s1 − k1·s2).
// The phase between P1 and P2 isn't known: magnitudes lie between difference
// and sum (triangle inequality).
func weigh(c Change, a, b Run, d [4]complex128) Change {
	k1, k2, s1, s2 := cmplx.Abs(d[0]), cmplx.Abs(d[1]), cmplx.Abs(d[2]), cmplx.Abs(d[3])
	det := cmplx.Abs(d[0]*d[3] - d[1]*d[2])
	p1, p2 := a.Pickup, b.Pickup
	if c.Kind == result.ByTermination {
		p1, p2 = widened(p1, a.Bench.tolerance()), widened(p2, b.Bench.tolerance())
	}
	of := either(times(p1, s2/det), times(p2, s1/det))
	rest := either(times(p1, k2/det), times(p2, k1/det))
	c.parts = [2]part{{times(of, k1), times(rest, s1)}, {times(of, k2), times(rest, s2)}}
	c.DB = Range{Lo: dB(p2.Lo / p1.Hi), Hi: dB(p2.Hi / p1.Lo)}
	c.If, c.Else = dB(k2/k1), dB(s2/s1)
	c.Speaks = speaks(c.DB, c.If, c.Else)
	return c
}

// either is the range of |x − y| for two phasors of unknown phases.
func either(x, y Range) Range {
	return Range{Lo: math.Max(0, math.Max(x.Lo-y.Hi, y.Lo-x.Hi)), Hi: x.Hi + y.Hi}
}

func times(r Range, f float64) Range {
	if f == 0 {
		return Range{}
	}
	return Range{Lo: r.Lo * f, Hi: r.Hi * f}
}

func widened(r Range, share float64) Range {
	return Range{Lo: r.Lo / (1 + share), Hi: r.Hi * (1 + share)}
}

func dB(ratio float64) float64 { return 20 * math.Log10(ratio) }

// speaks says which of two expectations a measured change fits, within closeDB.
// The part's is the higher; where it is infinite, from none of the part, a rise
// of tellingDB over the rest's fits it.
func speaks(got Range, part, rest float64) string {
	holds := func(x float64) bool { return got.Lo-closeDB <= x && x <= got.Hi+closeDB }
	fits := holds(part)
	if math.IsInf(part, 1) {
		fits = got.Hi >= rest+tellingDB
		part = rest + tellingDB
	}
	switch fitsPart, fitsRest := fits, holds(rest); {
	case fitsPart && fitsRest:
		return result.FitsBoth
	case fitsPart:
		return result.FitsPart
	case fitsRest:
		return result.FitsRest
	case got.Lo > rest && got.Hi < part:
		return result.Between
	}
	return result.Outside
}

// find names the mechanism of run i.
func find(runs []Run, changes []Change, i int) Finding {
	p := bounds(runs, changes, i)
	f := Finding{Verdict: result.NotDecided, Electric: p[0].of, Magnetic: p[1].of, Loop: p[2].of, Other: p[0].rest}
	if told(runs, changes, i) {
		f.Verdict, f.How = judge(runs[i], p)
	}
	if f.Verdict == result.NotDecided {
		f.How = ""
		f.Need = needs(runs, changes, i, p)
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

// bounds are the ranges of the electric, magnetic and loop parts of run i, and
// of the rest beside each.
func bounds(runs []Run, changes []Change, i int) [3]part {
	all := Range{Lo: 0, Hi: math.Inf(1)}
	p := [3]part{{all, all}, {all, all}, {all, all}}
	if runs[i].load() == 0 || math.IsInf(runs[i].Bench.SourceOhms.Hi, 1) {
		p[1].of = Range{}
	}
	if runs[i].Bonded == session.No || math.IsInf(runs[i].Bench.SourceOhms.Hi, 1) {
		p[2].of = Range{}
	}
	for _, c := range changes {
		k := which[c.Kind]
		if got, ok := carried(runs, c, i); ok {
			p[k].of = both(p[k].of, got)
		}
		for side, at := range []int{c.A, c.B} {
			if at == i {
				p[k].rest = both(p[k].rest, c.parts[side].rest)
			}
		}
	}
	for k := range p {
		a, b := p[(k+1)%3].of, p[(k+2)%3].of
		p[k].rest = both(p[k].rest, Range{Lo: math.Max(0, math.Max(a.Lo-b.Hi, b.Lo-a.Hi)), Hi: a.Hi + b.Hi})
	}
	return leftOver(p)
}

// leftOver takes the rest beside one part for the second where the third is
// known to be none.
func leftOver(p [3]part) [3]part {
	for k := range p {
		for _, j := range []int{(k + 1) % 3, (k + 2) % 3} {
			if third := 3 - k - j; p[third].of.Hi == 0 {
				p[j].of, p[j].rest = both(p[j].of, p[k].rest), both(p[j].rest, p[k].of)
			}
		}
	}
	return p
}

var which = map[string]int{result.ByTermination: 0, result.ByLoad: 1, result.ByBond: 2}

// carried is the part that a change bounds, carried over to the conditions of
// run i: the electric part goes with the node's impedance, the magnetic with
// current and share, the loop with the share. Only within one plug orientation.
func carried(runs []Run, c Change, i int) (Range, bool) {
	from, to := runs[c.B], runs[i]
	if from.Plug != to.Plug || !to.Bench.SourceOhms.Known() || !to.Bench.InputOhms.Known() {
		return Range{}, false
	}
	switch got := c.parts[1].of; c.Kind {
	case result.ByTermination:
		r := times(got, cmplx.Abs(to.Bench.z())/cmplx.Abs(from.Bench.z()))
		if to.Bench.SourceOhms != from.Bench.SourceOhms {
			r = widened(r, to.Bench.tolerance()+from.Bench.tolerance())
		}
		// An open far end lies bare: its coupling may be another.
		return r, !math.IsInf(to.Bench.SourceOhms.Hi, 1)
	case result.ByLoad:
		load := to.load()
		if load < 0 || (load > 0) && to.Amps.Known() != from.Amps.Known() {
			return Range{}, false
		}
		return times(got, load/from.load()*shares(to, from)), true
	default:
		if to.Bonded == session.Unstated {
			return Range{}, false
		}
		bonded := 0.0
		if to.Bonded == session.Yes {
			bonded = 1
		}
		return times(got, bonded*shares(to, from)), true
	}
}

func shares(to, from Run) float64 { return cmplx.Abs(to.Bench.share()) / cmplx.Abs(from.Bench.share()) }

// both is the overlap of two ranges; where they don't meet, from the higher
// lower end to the lower upper one, which is empty and never decides anything.
func both(a, b Range) Range { return Range{Lo: math.Max(a.Lo, b.Lo), Hi: math.Min(a.Hi, b.Hi)} }

var mechanisms = [3]string{result.Electric, result.Magnetic, result.Loop}

// judge names the mechanism of a run from the bounds of its parts.
func judge(r Run, p [3]part) (verdict, how string) {
	if empty(p) {
		return result.NotDecided, ""
	}
	for k, name := range mechanisms {
		if p[k].of.Lo > 0 && p[k].of.Lo >= dominates*p[k].rest.Hi {
			return name, result.Proved
		}
	}
	for k := range mechanisms {
		if share := r.Pickup.Hi / dominates; share > 0 && p[k].of.Lo >= share && p[k].rest.Lo >= share {
			return result.Mixed, result.Proved
		}
	}
	for k, name := range mechanisms {
		if explains(p[k].of, r.Pickup) && !explains(p[k].rest, r.Pickup) {
			return name, result.Explains
		}
	}
	return result.NotDecided, ""
}

// empty reports whether bounds contradict each other: the bench changed.
func empty(p [3]part) bool {
	for _, x := range p {
		if x.of.Lo > x.of.Hi || x.rest.Lo > x.rest.Hi {
			return true
		}
	}
	return false
}

// explains reports whether a part by itself is the pickup, within closeDB, and
// both are known well enough to say so.
func explains(part, pickup Range) bool {
	edge := math.Pow(10, closeDB/20)
	return pickup.Lo > 0 && dB(pickup.Hi/pickup.Lo) <= narrowDB &&
		part.Lo >= pickup.Lo/edge && part.Hi <= pickup.Hi*edge
}

// needs lists the changes that would decide run i.
func needs(runs []Run, changes []Change, i int, p [3]part) []string {
	has := map[string]bool{}
	for _, c := range changes {
		if c.A == i || c.B == i {
			has[c.Kind] = true
		}
	}
	if empty(p) {
		return []string{result.NeedRepeat}
	}
	var out []string
	if !has[result.ByTermination] {
		out = append(out, result.ByTermination)
	}
	if !has[result.ByLoad] && p[1].of.Hi > 0 {
		out = append(out, result.ByLoad)
	}
	if !has[result.ByBond] && p[2].of.Hi > 0 {
		out = append(out, result.ByBond)
	}
	if len(out) == 0 {
		out = append(out, result.NeedCloser)
	}
	return out
}
