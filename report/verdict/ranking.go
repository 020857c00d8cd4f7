package verdict

import (
	"cmp"
	"math"
	"slices"

	"humdiff/report/repeats"
	"humdiff/report/result"
)

// gathered are the cells of a quantity, gathered once.
func (b *bench) gathered(of result.Quantity) []*cell {
	if b.known[of] == nil {
		b.known[of] = b.gather(of)
	}
	return b.known[of]
}

// cellAt is the cell of a cable at a place; nil where there is none.
func (b *bench) cellAt(cable string, w result.Where, of result.Quantity) *cell {
	for _, c := range b.gathered(of) {
		if c.cable == cable && sameWhere(c.where, w) {
			return c
		}
	}
	return nil
}

// places are where near runs were made, as listed.
func (b *bench) places() []result.Where {
	var out []result.Where
	for _, c := range b.gathered(result.Quantity{}) {
		if !slices.ContainsFunc(out, func(w result.Where) bool { return sameWhere(w, c.where) }) {
			out = append(out, c.where)
		}
	}
	return out
}

// at are the cells of one place.
func (b *bench) at(w result.Where, of result.Quantity) []*cell {
	var out []*cell
	for _, c := range b.gathered(of) {
		if sameWhere(c.where, w) {
			out = append(out, c)
		}
	}
	return out
}

// exposures says where hum rose, and whether the witness's did.
func (b *bench) exposures() []result.Exposure {
	out := []result.Exposure{}
	for _, w := range b.places() {
		e := result.Exposure{Where: w, Rose: []string{}, Others: []string{}}
		for _, c := range b.at(w, result.Quantity{}) {
			if c.rose {
				e.Rose = append(e.Rose, c.cable)
			} else {
				e.Others = append(e.Others, c.cable)
			}
		}
		e.Witness, e.WitnessElsewhere = b.witness(w)
		out = append(out, e)
	}
	return out
}

// witness says whether the witness rose under an exposure: at the same
// termination, or where it wasn't recorded there, at any.
func (b *bench) witness(w result.Where) (answer string, elsewhere bool) {
	name := b.in.Session.Roles.Witness
	if name == "" {
		return "", false
	}
	if c := b.cellAt(name, w, result.Quantity{}); c != nil {
		return yesNo(c.rose), false
	}
	for _, c := range b.gathered(result.Quantity{}) {
		if c.cable == name && c.where.Exposure == w.Exposure && c.where.Loaded == w.Loaded {
			if c.rose {
				return result.Yes, true
			}
			answer = result.No
		}
	}
	return answer, answer != ""
}

func yesNo(yes bool) string {
	if yes {
		return result.Yes
	}
	return result.No
}

// delivered says that an exposure raised some cable.
func (b *bench) delivered(w result.Where) bool {
	return slices.ContainsFunc(b.at(w, result.Quantity{}), func(c *cell) bool { return c.rose })
}

// rankings ranks the cables of each place where any of them rose.
func (b *bench) rankings() []result.Ranking {
	out := []result.Ranking{}
	for _, w := range b.places() {
		if b.delivered(w) {
			out = append(out, b.rank(w, result.Quantity{}))
		}
	}
	return out
}

func (b *bench) rank(w result.Where, of result.Quantity) result.Ranking {
	r := result.Ranking{Where: w, Quantity: of, Places: []result.Place{}, LeftOut: []result.Excluded{}}
	var ranked []*cell
	for _, c := range b.at(w, of) {
		switch {
		case c.n() < 2:
			r.LeftOut = append(r.LeftOut, result.Excluded{Cable: c.cable, Why: result.OnePlacement})
		case math.IsInf(c.pickup.hi.Value, 1):
			r.LeftOut = append(r.LeftOut, result.Excluded{Cable: c.cable, Why: result.NoBound})
		default:
			ranked = append(ranked, c)
		}
	}
	slices.SortStableFunc(ranked, func(x, y *cell) int { return cmp.Compare(x.height(), y.height()) })
	for _, c := range ranked {
		r.Places = append(r.Places, b.place(c))
	}
	r.Pairs = b.comparePairs(ranked)
	r.Groups = groups(ranked, r.Pairs)
	r.Settled = !slices.ContainsFunc(r.Pairs, func(d result.Contrast) bool { return !d.Apart })
	return r
}

// height is what cables are sorted by: the pickup, or where it has no value
// the upper end.
func (c *cell) height() float64 {
	if math.IsNaN(c.pickup.mid.Value) {
		return c.pickup.hi.Value
	}
	return c.pickup.mid.Value
}

func (b *bench) place(c *cell) result.Place {
	s := b.stateCell(c)
	p := result.Place{Cable: c.cable, Pickup: s.Pickup, Volts: s.Volts, Placements: s.Placements, Doubts: []string{},
		AgainstWitness: result.Interval{Value: result.None, Lo: result.None, Hi: result.None}}
	name := b.in.Session.Roles.Witness
	if w := b.cellAt(name, c.where, c.of); w != nil && w != c && w.n() > 1 {
		p.AgainstWitness = less(w, c).interval(b.tail())
	}
	for _, look := range []func(*cell) []result.Finding{b.deadFindings, b.idleFindings, belowQuiet} {
		for _, f := range look(c) {
			p.Doubts = append(p.Doubts, f.Code)
		}
	}
	return p
}

// difference is what is known of one pickup less another, dB: the truth lies
// above lo's truth and below hi's.
type difference struct {
	lo, hi repeats.Estimate
	mid    float64
}

// less is b's pickup less a's.
func less(a, b *cell) difference {
	return difference{
		lo:  repeats.Minus(b.pickup.lo, a.pickup.hi),
		hi:  repeats.Minus(b.pickup.hi, a.pickup.lo),
		mid: b.pickup.mid.Value - a.pickup.mid.Value,
	}
}

func (d difference) interval(tail float64) result.Interval {
	return result.Interval{Value: result.Of(d.mid), Lo: result.Of(d.lo.Lower(tail)), Hi: result.Of(d.hi.Upper(tail))}
}

// p is the two-sided p value of a difference other than zero.
func (d difference) p() float64 {
	return math.Min(1, 2*math.Min(d.lo.Above(0), d.hi.Below(0)))
}

// comparePairs tells every two cells apart where it can: by Holm's procedure
// over all of them.
func (b *bench) comparePairs(ranked []*cell) []result.Contrast {
	out := []result.Contrast{}
	var p []float64
	for i, x := range ranked {
		for _, y := range ranked[i+1:] {
			d := less(x, y)
			p = append(p, d.p())
			out = append(out, result.Contrast{A: x.cable, B: y.cable, DB: d.interval(b.tail())})
		}
	}
	for i, adjusted := range repeats.Holm(p) {
		out[i].P, out[i].HolmP = result.Of(p[i]), result.Of(adjusted)
		out[i].Apart = adjusted <= 1-b.in.Settings.Confidence
	}
	return out
}

// groups are the largest sets of cables of which no two are told apart, in
// ranking order (Bron and Kerbosch, Communications of the ACM 16, 1973, 575,
// without pivots: there are few cables).
func groups(ranked []*cell, pairs []result.Contrast) [][]string {
	apart := map[[2]string]bool{}
	for _, d := range pairs {
		apart[[2]string{d.A, d.B}], apart[[2]string{d.B, d.A}] = d.Apart, d.Apart
	}
	out := [][]string{}
	var grow func(set, may, done []string)
	grow = func(set, may, done []string) {
		if len(may) == 0 && len(done) == 0 && len(set) > 0 {
			out = append(out, slices.Clone(set))
		}
		for len(may) > 0 {
			x := may[0]
			alike := func(y string) bool { return !apart[[2]string{x, y}] }
			may = may[1:]
			grow(append(slices.Clone(set), x), keep(may, alike), keep(done, alike))
			done = append(done, x)
		}
	}
	var all []string
	for _, c := range ranked {
		all = append(all, c.cable)
	}
	grow(nil, all, nil)
	return out
}

func keep(x []string, want func(string) bool) []string {
	var out []string
	for _, v := range x {
		if want(v) {
			out = append(out, v)
		}
	}
	return out
}
