package coupling

import (
	"math"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// Change is what two runs that differ in one thing say.
type Change struct {
	Kind   string
	A, B   int            // the runs, by their places; B couples more by Kind's part
	DB     model.Estimate // pickup of B over A
	If     float64        // what DB would be if Kind's part were all of it; infinite where A has none
	Else   float64        // what DB would be without Kind's part
	Speaks string         // FitsPart, FitsRest, Between, Outside or FitsBoth
	parts  [2]part        // in A and in B
}

// part is what a change says of a run: the range of the part that was changed,
// and of all the rest together, volts.
type part struct{ of, rest span }

// way is the way in that a change acts on.
func (c Change) way() set {
	return map[string]set{model.ByTermination: electric, model.ByLoad: magnetic, model.ByBond: loop}[c.Kind]
}

// closeDB is how near a part has to come to the pickup to explain it alone,
// narrowDB how well that pickup has to be known, and tellingDB the least of what a
// change has to be able to tell.
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
	}{{model.ByTermination, a.Bench.source() != b.Bench.source()}, {model.ByLoad, a.load() != b.load()}, {model.ByBond, a.Bonded != b.Bonded}} {
		if d.is && kind != "" {
			return Change{}, false
		}
		if d.is {
			kind = d.kind
		}
	}
	k1, k2, s1, s2, ok := design(kind, a, b)
	if !ok || abs(k1*s2) >= abs(k2*s1) {
		return Change{}, false
	}
	return weigh(Change{Kind: kind, A: i, B: j}, a, b, [4]complex128{k1, k2, s1, s2}), true
}

func comparable(a, b Run) bool {
	known := func(r Run) bool {
		return r.pickup().known() && !r.Bench.Balanced && r.Bench.closed()
	}
	same := func(x, y span) bool { return x == y || !x.known() && !y.known() }
	return known(a) && known(b) && a.Channel == b.Channel && a.Plug == b.Plug && math.Abs(a.Bench.Hz/b.Bench.Hz-1) < sameMains &&
		same(a.Bench.mains(), b.Bench.mains()) && same(a.Bench.input(), b.Bench.input()) &&
		same(spanOf(a.Bench.InputFarads), spanOf(b.Bench.InputFarads)) && same(spanOf(a.Bench.CableFarads), spanOf(b.Bench.CableFarads))
}

// load is the lead's current where it is known to be none or to have a value,
// 1 where the lead is only known to be loaded, unstated where nothing is.
func (r Run) load() float64 {
	switch {
	case r.Loaded == model.No:
		return 0
	case r.amps().known():
		return r.amps().mid()
	case r.Loaded == model.Yes:
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
	case model.ByTermination:
		k1, k2 = a.Bench.z(), b.Bench.z()
		far := func(r Run) bool { return r.Bench.source().hi*farBelow <= r.Bench.input().lo }
		ratio := 20 * math.Log10(abs(k2*s1/(k1*s2)))
		return k1, k2, s1, s2, far(a) && far(b) && ratio >= tellingDB
	case model.ByLoad:
		i, j := a.load(), b.load()
		// A current that is only known to flow can't be set against another's.
		vague := func(r Run) bool { return r.Loaded == model.Yes && !r.amps().known() }
		mixed := vague(a) && j != 0 || vague(b) && i != 0
		return complex(i, 0), complex(j, 0), 1, 1, i >= 0 && j >= 0 && !mixed
	case model.ByBond:
		return 0, 1, 1, 1, a.Bonded == model.No && (b.Bonded == model.Yes || b.Bonded == model.ClassTwo)
	}
	return 0, 0, 0, 0, false
}

// weigh reads a change. With the changed part A and the rest R as phasors at
// strength 1, P1 = k1·A + s1·R and P2 = k2·A + s2·R, so
// A = (s2·P1 − s1·P2)/(k1·s2 − k2·s1) and R = (k2·P1 − k1·P2)/(k2·s1 − k1·s2).
// The phase between P1 and P2 isn't known: magnitudes lie between difference
// and sum (triangle inequality).
func weigh(c Change, a, b Run, d [4]complex128) Change {
	k1, k2, s1, s2 := abs(d[0]), abs(d[1]), abs(d[2]), abs(d[3])
	det := abs(d[0]*d[3] - d[1]*d[2])
	p1, p2 := a.pickup(), b.pickup()
	if c.Kind == model.ByTermination {
		p1, p2 = p1.widened(a.Bench.tolerance()), p2.widened(b.Bench.tolerance())
	}
	of := either(p1.times(s2/det), p2.times(s1/det))
	rest := either(p1.times(k2/det), p2.times(k1/det))
	c.parts = [2]part{{of.times(k1), rest.times(s1)}, {of.times(k2), rest.times(s2)}}
	got := span{dB(p2.lo / p1.hi), dB(p2.hi / p1.lo)}
	c.DB = estimate.Between(model.Places(got.lo, 4), model.Places(got.hi, 4))
	c.If, c.Else = dB(k2/k1), dB(s2/s1)
	c.Speaks = speaks(got, c.If, c.Else)
	return c
}

func dB(ratio float64) float64 { return 20 * math.Log10(ratio) }

// speaks says which of two expectations a measured change fits, within closeDB.
// The part's is the higher; where it is infinite, from none of the part, a rise
// of tellingDB over the rest's fits it.
func speaks(got span, part, rest float64) string {
	holds := func(x float64) bool { return got.lo-closeDB <= x && x <= got.hi+closeDB }
	fits := holds(part)
	if math.IsInf(part, 1) {
		fits = got.hi >= rest+tellingDB
		part = rest + tellingDB
	}
	switch fitsPart, fitsRest := fits, holds(rest); {
	case fitsPart && fitsRest:
		return model.FitsBoth
	case fitsPart:
		return model.FitsPart
	case fitsRest:
		return model.FitsRest
	case got.lo > rest && got.hi < part:
		return model.Between
	}
	return model.Outside
}
