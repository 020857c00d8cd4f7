package coupling

import (
	"math"
	"math/cmplx"

	"humdiff/report/model"
)

// dominates is how many times all other parts together a part has to be.
const dominates = 3

// bounds are the ranges of the electric, magnetic and loop parts of run i, and
// of the rest beside each.
func bounds(runs []Run, changes []Change, i int) [3]part {
	p := [3]part{{anything, anything}, {anything, anything}, {anything, anything}}
	if runs[i].load() == 0 || runs[i].Bench.FarEndOpen {
		p[1].of = span{}
	}
	if runs[i].Bonded == model.No || runs[i].Bench.FarEndOpen {
		p[2].of = span{}
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
		p[k].rest = both(p[k].rest, span{max(0, a.lo-b.hi, b.lo-a.hi), a.hi + b.hi})
	}
	return leftOver(p)
}

// leftOver takes the rest beside one part for the second where the third is
// known to be none.
func leftOver(p [3]part) [3]part {
	for k := range p {
		for _, j := range []int{(k + 1) % 3, (k + 2) % 3} {
			if third := 3 - k - j; p[third].of.hi == 0 {
				p[j].of, p[j].rest = both(p[j].of, p[k].rest), both(p[j].rest, p[k].of)
			}
		}
	}
	return p
}

// which part a change acts on.
var which = map[string]int{model.ByTermination: 0, model.ByLoad: 1, model.ByBond: 2}

// carried is the part that a change bounds, carried over to the conditions of
// run i: the electric part goes with the node's impedance, the magnetic with
// current and share, the loop with the share. Only within one plug orientation, and
// from no open far end, where nothing drives a current round.
func carried(runs []Run, c Change, i int) (span, bool) {
	from, to := runs[c.B], runs[i]
	if from.Plug != to.Plug || !to.Bench.closed() {
		return span{}, false
	}
	switch got := c.parts[1].of; c.Kind {
	case model.ByTermination:
		r := got.times(cmplx.Abs(to.Bench.z()) / cmplx.Abs(from.Bench.z()))
		if to.Bench.source() != from.Bench.source() {
			r = r.widened(to.Bench.tolerance() + from.Bench.tolerance())
		}
		// An open far end lies bare: its coupling may be another.
		return r, !to.Bench.FarEndOpen
	case model.ByLoad:
		load := to.load()
		if from.Bench.FarEndOpen || load < 0 || (load > 0) && to.amps().known() != from.amps().known() {
			return span{}, false
		}
		return got.times(load / from.load() * shares(to, from)), true
	default:
		if from.Bench.FarEndOpen || to.Bonded == "" {
			return span{}, false
		}
		bonded := 0.0
		if to.Bonded == model.Yes {
			bonded = 1
		}
		return got.times(bonded * shares(to, from)), true
	}
}

func shares(to, from Run) float64 { return cmplx.Abs(to.Bench.share()) / cmplx.Abs(from.Bench.share()) }

// mechanisms are the parts, in their order.
var mechanisms = [3]string{model.Electric, model.Magnetic, model.Loop}

// judge names the mechanism of a run from the bounds of its parts.
func judge(r Run, p [3]part) (verdict, how string) {
	if empty(p) {
		return model.NotDecided, ""
	}
	for k, name := range mechanisms {
		if p[k].of.lo > 0 && p[k].of.lo >= dominates*p[k].rest.hi {
			return name, model.Proved
		}
	}
	for k := range mechanisms {
		if share := r.pickup().hi / dominates; share > 0 && p[k].of.lo >= share && p[k].rest.lo >= share {
			return model.Mixed, model.Proved
		}
	}
	for k, name := range mechanisms {
		if explains(p[k].of, r.pickup()) && !explains(p[k].rest, r.pickup()) {
			return name, model.Explains
		}
	}
	return model.NotDecided, ""
}

// empty reports whether bounds contradict each other: the bench changed.
func empty(p [3]part) bool {
	for _, x := range p {
		if x.of.lo > x.of.hi || x.rest.lo > x.rest.hi {
			return true
		}
	}
	return false
}

// explains reports whether a part by itself is the pickup, within closeDB, and
// both are known well enough to say so.
func explains(part, pickup span) bool {
	edge := math.Pow(10, closeDB/20)
	return pickup.lo > 0 && dB(pickup.hi/pickup.lo) <= narrowDB &&
		part.lo >= pickup.lo/edge && part.hi <= pickup.hi*edge
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
		return []string{model.NeedRepeat}
	}
	var out []string
	if !has[model.ByTermination] {
		out = append(out, model.ByTermination)
	}
	if !has[model.ByLoad] && p[1].of.hi > 0 {
		out = append(out, model.ByLoad)
	}
	if !has[model.ByBond] && p[2].of.hi > 0 {
		out = append(out, model.ByBond)
	}
	if len(out) == 0 {
		out = append(out, model.NeedCloser)
	}
	return out
}
