package coupling

import "humdiff/report/model"

// A set of ways in, one bit each: what hum comes by.
type set uint8

// The ways, with what each goes with at the input: the direct electric field with
// the lead's voltage and the node's impedance; the shield's current by voltage with
// the lead's voltage and the share of an EMF that stands at the input; the magnetic
// field with the lead's current and that share; a loop with the far device's bond and
// that share.
const (
	electric set = 1 << iota
	shield
	magnetic
	loop
	all = electric | shield | magnetic | loop
)

// names are the ways', in their order.
var names = []struct {
	way  set
	name string
}{{electric, model.Electric}, {shield, model.Shield}, {magnetic, model.Magnetic}, {loop, model.Loop}}

// sums are what is known in one run of the hum that comes by each set of ways
// together, volts at the input: a phasor sum's magnitude.
type sums [all + 1]span

// begin is what a run's own conditions say: an unloaded lead has no magnetic field, an
// isolated far device closes no loop, and an open far end lets nothing drive a
// current round.
func begin(r Run) (s sums) {
	for m := range s {
		s[m] = anything
	}
	s[0] = span{}
	if r.pickup().known() {
		s[all] = r.pickup()
	}
	open := r.Bench.FarEndOpen
	for way, none := range map[set]bool{shield: open, magnetic: open || r.load() == 0, loop: open || r.Bonded == model.No} {
		if none {
			s[way] = span{}
		}
	}
	return s
}

// learn takes in what a change says of a run.
func (s *sums) learn(way set, p part) {
	s[way], s[all&^way] = both(s[way], p.of), both(s[all&^way], p.rest)
}

// tighten applies the triangle inequality to every two sets without a way in common
// and to both together, until nothing changes. Upper ends are only ever added, and
// lower ones lessened by them, so it comes to an end.
func (s *sums) tighten() {
	for before := (sums{}); before != *s; {
		before = *s
		for a := electric; a <= all; a++ {
			for b := a + 1; b <= all; b++ {
				if a&b == 0 {
					s[a|b] = both(s[a|b], either(s[a], s[b]))
					s[a] = both(s[a], either(s[a|b], s[b]))
					s[b] = both(s[b], either(s[a|b], s[a]))
				}
			}
		}
	}
}

// contradict reports whether bounds exclude each other: the bench changed.
func (s *sums) contradict() bool {
	for _, x := range s {
		if x.lo > x.hi {
			return true
		}
	}
	return false
}

// carry takes in what is known in another run of sets of ways that go up or down
// together from there to here: only between runs on one bench with the plug one way
// round, and from no open far end, which lies bare and may couple otherwise. The whole
// isn't carried: pickups under the same conditions differ by how the lead was placed.
func (s *sums) carry(from, to Run, known *sums) {
	if !comparable(from, to) || from.Bench.FarEndOpen || to.Bench.FarEndOpen {
		return
	}
	factors := carried(from, to)
	for m := electric; m < all; m++ {
		f, ok := factors.of(m)
		if ok {
			s[m] = both(s[m], known[m].times(f.by).widened(f.tolerance))
		}
	}
}

// factor is by how much a way grows from one run to another, and how far off that
// may be, as a share. Not known where by is negative.
type factor struct{ by, tolerance float64 }

type factors map[set]factor

var unknownFactor = factor{by: -1}

// carried is by how much each way grows from one run to another. The electric field's
// node and the share turn the phase by less than what they are known to.
func carried(from, to Run) factors {
	share, z := factor{by: 1}, factor{by: 1}
	if from.Bench.source() != to.Bench.source() {
		share = factor{abs(to.Bench.share()) / abs(from.Bench.share()), to.Bench.shareTolerance() + from.Bench.shareTolerance()}
		z = factor{abs(to.Bench.z()) / abs(from.Bench.z()), to.Bench.tolerance() + from.Bench.tolerance()}
	}
	f := factors{electric: z, shield: share, magnetic: unknownFactor, loop: unknownFactor}
	switch a, b := from.load(), to.load(); {
	case a == b:
		f[magnetic] = share
	case a > 0 && b > 0 && from.amps().known() && to.amps().known():
		f[magnetic] = factor{share.by * b / a, share.tolerance + from.ampsTolerance() + to.ampsTolerance()}
	}
	if from.Bonded == to.Bonded {
		f[loop] = share
	}
	return f
}

// of is the factor that all ways of a set share.
func (f factors) of(m set) (one factor, ok bool) {
	one = unknownFactor
	for _, w := range names {
		if m&w.way == 0 {
			continue
		}
		if is := f[w.way]; is.by < 0 || one.by >= 0 && is != one {
			return one, false
		}
		one = f[w.way]
	}
	return one, true
}

// settle is what all runs and changes say of each run. What one run's bounds tell
// another, that may tell the first: three rounds.
func settle(runs []Run, changes []Change) []sums {
	out := make([]sums, len(runs))
	for i, r := range runs {
		out[i] = begin(r)
	}
	for _, c := range changes {
		out[c.A].learn(c.way(), c.parts[0])
		out[c.B].learn(c.way(), c.parts[1])
	}
	for range 3 {
		for i := range out {
			out[i].tighten()
			for j := range out {
				if j != i {
					out[i].carry(runs[j], runs[i], &out[j])
				}
			}
			out[i].tighten()
		}
	}
	return out
}
