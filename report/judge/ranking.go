package judge

import (
	"cmp"
	"math"
	"slices"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// rankings ranks the cables of each place where any of them rose.
func (b *bench) rankings() []model.Ranking {
	out := []model.Ranking{}
	for _, w := range b.places() {
		if b.delivered(w) {
			out = append(out, b.rank(w, model.Quantity{}))
		}
	}
	return out
}

func (b *bench) rank(w model.Where, of model.Quantity) model.Ranking {
	r := model.Ranking{Where: w, Quantity: of, Places: []model.Place{}, LeftOut: []model.Excluded{}}
	var ranked []*cell
	for _, c := range b.at(w, of) {
		switch {
		case c.n() < 2:
			r.LeftOut = append(r.LeftOut, model.Excluded{Cable: c.cable, Why: model.OnePlacement})
		case math.IsInf(c.pickup.hi.value, 1):
			r.LeftOut = append(r.LeftOut, model.Excluded{Cable: c.cable, Why: model.NoBound})
		default:
			ranked = append(ranked, c)
		}
	}
	slices.SortStableFunc(ranked, func(x, y *cell) int { return cmp.Compare(x.height(), y.height()) })
	for _, c := range ranked {
		r.Places = append(r.Places, b.place(c))
	}
	r.Pairs = b.contrasts(ranked)
	r.Groups = groups(ranked, r.Pairs)
	r.Settled = !slices.ContainsFunc(r.Pairs, func(d model.Contrast) bool { return !d.Apart })
	return r
}

// height is what cables are sorted by: the pickup, or where it has no value the upper
// end.
func (c *cell) height() float64 {
	if math.IsNaN(c.pickup.mid.value) {
		return c.pickup.hi.value
	}
	return c.pickup.mid.value
}

func (b *bench) place(c *cell) model.Place {
	p := model.Place{Cable: c.cable, Pickup: c.pickup.ends(b.tail()).estimate(), Placements: c.n(), Doubts: []string{},
		AgainstWitness: estimate.None("")}
	if w := b.cellAt(b.Control, c.where, c.of); w != nil && w != c && w.n() > 1 {
		p.AgainstWitness = less(w, c).ends(b.tail()).estimate()
	}
	for _, look := range b.ofCells() {
		for _, f := range look(c) {
			p.Doubts = append(p.Doubts, f.Code)
		}
	}
	return p
}

// contrasts tells every two cells apart where it can: by Holm's procedure over all of
// them.
func (b *bench) contrasts(ranked []*cell) []model.Contrast {
	out := []model.Contrast{}
	var p []float64
	for i, x := range ranked {
		for _, y := range ranked[i+1:] {
			d := less(x, y)
			p = append(p, d.p())
			out = append(out, model.Contrast{A: x.cable, B: y.cable, DB: d.ends(b.tail()).estimate()})
		}
	}
	for i, adjusted := range holm(p) {
		out[i].P, out[i].HolmP = chance(p[i]), chance(adjusted)
		out[i].Apart = adjusted <= b.alpha()
	}
	return out
}

// chance is a p value as the model has it.
func chance(p float64) model.Num { return model.Of(model.Digits(p, 7)) }
