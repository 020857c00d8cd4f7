package judge

import (
	"slices"

	"humdiff/report/model"
)

// nowhere is the place of what concerns all.
var nowhere = model.Where{Termination: model.Termination{Ohms: model.None}}

// quietsOf are the quiet runs that belong to a run: of its cable, with the same
// termination and bond, for its exposure or for all.
func (b *bench) quietsOf(r *run) []*run {
	return b.each(func(q *run) bool { return q.Condition == model.Quiet && q.SameBench(r.Run) })
}

// quietsAround are those just before and after a run.
func (b *bench) quietsAround(r *run) (before, after *run) {
	for _, q := range b.quietsOf(r) {
		if q.at < r.at {
			before = q
		} else if after == nil {
			after = q
		}
	}
	return before, after
}

// places are where near runs were made, as listed.
func (b *bench) places() []model.Where {
	var out []model.Where
	for _, c := range b.gathered(model.Quantity{}) {
		if !slices.ContainsFunc(out, func(w model.Where) bool { return w.Same(c.where) }) {
			out = append(out, c.where)
		}
	}
	return out
}

// at are the cells of one place.
func (b *bench) at(w model.Where, of model.Quantity) []*cell {
	var out []*cell
	for _, c := range b.gathered(of) {
		if c.where.Same(w) {
			out = append(out, c)
		}
	}
	return out
}

// cellAt is the cell of a cable at a place; nil where there is none.
func (b *bench) cellAt(cable string, w model.Where, of model.Quantity) *cell {
	for _, c := range b.gathered(of) {
		if c.cable == cable && c.where.Same(w) {
			return c
		}
	}
	return nil
}

// nearsAt are the near runs of a place.
func (b *bench) nearsAt(w model.Where) []int {
	var all []*run
	for _, c := range b.at(w, model.Quantity{}) {
		all = append(all, c.nears()...)
	}
	return numbers(all)
}

// cablesOf are the cables of some runs, in their order.
func cablesOf(runs []*run) []string {
	var out []string
	for _, r := range runs {
		if !slices.Contains(out, r.Cable) {
			out = append(out, r.Cable)
		}
	}
	return out
}

// exposures says where hum rose, and whether the positive control's did.
func (b *bench) exposures() []model.Exposure {
	out := []model.Exposure{}
	for _, w := range b.places() {
		e := model.Exposure{Where: w, Rose: []string{}, Others: []string{}}
		for _, c := range b.at(w, model.Quantity{}) {
			if c.rose {
				e.Rose = append(e.Rose, c.cable)
			} else {
				e.Others = append(e.Others, c.cable)
			}
		}
		e.Witness, e.WitnessElsewhere = b.control(w)
		out = append(out, e)
	}
	return out
}

// control says whether the positive control rose under an exposure: at the same
// termination, or where it wasn't recorded there, at any.
func (b *bench) control(w model.Where) (answer string, elsewhere bool) {
	if b.Control == "" {
		return "", false
	}
	if c := b.cellAt(b.Control, w, model.Quantity{}); c != nil {
		return yesNo(c.rose), false
	}
	for _, c := range b.gathered(model.Quantity{}) {
		if c.cable == b.Control && c.where.Exposure == w.Exposure && c.where.Loaded == w.Loaded {
			if c.rose {
				return model.Yes, true
			}
			answer = model.No
		}
	}
	return answer, answer != ""
}

func yesNo(yes bool) string {
	if yes {
		return model.Yes
	}
	return model.No
}

// delivered says that an exposure raised some cable.
func (b *bench) delivered(w model.Where) bool {
	return slices.ContainsFunc(b.at(w, model.Quantity{}), func(c *cell) bool { return c.rose })
}
