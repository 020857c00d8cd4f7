package judge

import (
	"math"
	"math/cmplx"
	"slices"

	"humdiff/report/model"
)

// cell is the repeats of one cable at one place, of one quantity.
type cell struct {
	cable    string
	where    model.Where
	of       model.Quantity
	readings []reading
	placed   []int // of each reading: which placement, from 0
	// Means over placements of the ends and the middle, dB.
	delta, pickup means
	rose          bool
}

// means are those of the lower ends, the values and the upper ends.
type means struct{ lo, mid, hi mean }

func (c *cell) n() int {
	if len(c.placed) == 0 {
		return 0
	}
	return c.placed[len(c.placed)-1] + 1
}

// runs are those of the cell's readings.
func (c *cell) runs() []*run {
	var out []*run
	for _, r := range c.readings {
		out = append(out, r.runs()...)
	}
	return out
}

func (c *cell) nears() []*run {
	var out []*run
	for _, r := range c.readings {
		out = append(out, r.near)
	}
	return out
}

// plugs are the plug orientations of a cell, 0 where one isn't stated.
func (c *cell) plugs() []int {
	var out []int
	for _, r := range c.readings {
		out = append(out, r.near.Plug)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// quantities are those that are stated: the total, A-weighted too, and what claims
// are about.
func (b *bench) quantities() []model.Quantity {
	out := []model.Quantity{{}, {AWeighted: true}}
	for _, c := range b.Claims {
		if !slices.Contains(out, c.Quantity) {
			out = append(out, c.Quantity)
		}
	}
	return out
}

// gathered are the cells of a quantity, gathered once.
func (b *bench) gathered(of model.Quantity) []*cell {
	if b.known[of] == nil {
		b.known[of] = b.gather(of)
	}
	return b.known[of]
}

// readings are those of the hum total, in all cells.
func (b *bench) readings() (out []reading) {
	for _, c := range b.gathered(model.Quantity{}) {
		out = append(out, c.readings...)
	}
	return out
}

// gather puts near runs with the same cable and place together, as listed.
func (b *bench) gather(of model.Quantity) []*cell {
	var out []*cell
	for _, near := range b.of(model.Near) {
		r, ok := b.read(near, of)
		if !ok {
			continue
		}
		w := near.Where()
		i := slices.IndexFunc(out, func(c *cell) bool { return c.cable == near.Cable && c.where.Same(w) })
		if i < 0 {
			i = len(out)
			out = append(out, &cell{cable: near.Cable, where: w, of: of})
		}
		out[i].add(r)
	}
	for _, c := range out {
		c.average()
		c.rose = b.rose(c.readings, of)
	}
	slices.SortStableFunc(out, func(x, y *cell) int { return x.first() - y.first() })
	return out
}

// first is the least number among the near runs.
func (c *cell) first() int { return numbers(c.nears())[0] }

// add appends a reading: a new placement where the lead was replaced.
func (c *cell) add(r reading) {
	placement := c.n()
	if len(c.readings) > 0 && !r.near.Replaced {
		placement--
	}
	c.readings, c.placed = append(c.readings, r), append(c.placed, placement)
}

func (c *cell) average() {
	c.delta = c.over(func(r reading) ends { return r.delta })
	c.pickup = c.over(func(r reading) ends { return r.pickup })
}

// phased says that a reference tells the phase of all its readings.
func (c *cell) phased() bool {
	return !slices.ContainsFunc(c.readings, func(r reading) bool { return !r.known })
}

// phase is that of the pickup over the cell's readings, and the half-width of its 95 %
// interval by how they scatter, rad; not ok where one doesn't tell it.
func (c *cell) phase() (rad, within float64, ok bool) {
	var sum complex128
	for _, r := range c.readings {
		if r.turn == 0 {
			return 0, 0, false
		}
		sum += r.turn
	}
	n := float64(len(c.readings))
	// Of angles that scatter by σ the mean phasor is e^(−σ²/2) long (Mardia and Jupp; from memory).
	return cmplx.Phase(sum), 1.96 * math.Sqrt(max(0, -2*math.Log(cmplx.Abs(sum)/n))/n), true
}

// byPlug are the cell's readings by the plug's orientation, where their phases are known:
// with the plug the lead's current turns round, and a mean over both would hide what it does.
func (c *cell) byPlug() (all []*cell) {
	plugs := c.plugs()
	if _, _, ok := c.phase(); !ok || len(plugs) < 2 || plugs[0] == 0 {
		return []*cell{c}
	}
	for _, plug := range plugs {
		one := &cell{cable: c.cable, where: c.where, of: c.of, rose: c.rose}
		for _, r := range c.readings {
			if r.near.Plug == plug {
				one.add(r)
			}
		}
		one.average()
		all = append(all, one)
	}
	return all
}

// over averages within placements, then over them.
func (c *cell) over(of func(reading) ends) means { return meansOf(c.byPlacement(of)) }

// byPlacement averages within placements.
func (c *cell) byPlacement(of func(reading) ends) []ends {
	out, count := make([]ends, c.n()), make([]float64, c.n())
	for i, r := range c.readings {
		s, p := of(r), c.placed[i]
		out[p], count[p] = ends{out[p].lo + s.lo, out[p].mid + s.mid, out[p].hi + s.hi}, count[p]+1
	}
	for p, n := range count {
		out[p] = ends{out[p].lo / n, out[p].mid / n, out[p].hi / n}
	}
	return out
}

func meansOf(all []ends) means {
	var lo, mid, hi []float64
	for _, e := range all {
		lo, mid, hi = append(lo, e.lo), append(mid, e.mid), append(hi, e.hi)
	}
	return means{meanOf(lo), meanOf(mid), meanOf(hi)}
}

// ends are the mean's: the lower end's lower and the upper end's upper bound.
func (m means) ends(tail float64) ends {
	return ends{m.lo.truth().lower(tail), m.mid.value, m.hi.truth().upper(tail)}
}

// rose says that every reading lies above quiet, by more than its own uncertainty and
// by more than quiet itself was seen to change.
func (b *bench) rose(readings []reading, of model.Quantity) bool {
	for _, r := range readings {
		if !r.known && !(r.delta.lo > b.ownDrift(r.near, of)) {
			return false
		}
	}
	return len(readings) > 0
}

// cells states all cells.
func (b *bench) cells() []model.Cell {
	out := []model.Cell{}
	for _, of := range b.quantities() {
		for _, c := range b.gathered(of) {
			out = append(out, b.stateCell(c))
		}
	}
	return out
}

func (b *bench) stateCell(c *cell) model.Cell {
	out := model.Cell{
		Cable: c.cable, Where: c.where, Quantity: c.of, Repeats: []model.Repeat{}, Placements: c.n(),
		Delta: c.delta.ends(b.tail()).estimate(), Pickup: c.pickup.ends(b.tail()).estimate(), SD: decibels(c.pickup.mid.sd), Rose: c.rose, Budget: b.budget(c),
	}
	for i, r := range c.readings {
		out.Repeats = append(out.Repeats, r.state(c.placed[i]+1))
	}
	return out
}

// decibels are a number of them as the model has it.
func decibels(db float64) model.Num { return model.Of(model.Places(db, 4)) }

func (r reading) state(placement int) model.Repeat {
	return model.Repeat{
		Run: r.near.Number, Before: numberOf(r.before), After: numberOf(r.after), Against: numbers(r.quiets()), Repeat: r.near.Repeat, Placement: placement,
		Plug: r.near.Plug, Delta: r.delta.estimate(), Pickup: r.pickup.estimate(), Drift: decibels(r.drift), Spread: decibels(r.spread),
	}
}

func numberOf(r *run) int {
	if r == nil {
		return 0
	}
	return r.Number
}

// difference is what is known of one pickup less another, dB: the truth lies above
// lo's truth and below hi's.
type difference struct {
	lo, hi student
	mid    float64
}

// less is b's pickup less a's.
func less(a, b *cell) difference {
	return difference{
		lo:  b.pickup.lo.less(a.pickup.hi),
		hi:  b.pickup.hi.less(a.pickup.lo),
		mid: b.pickup.mid.value - a.pickup.mid.value,
	}
}

// paired is the same from placements of equal turn set against each other, so that what
// drifts between turns falls out; of unequal numbers it is less.
func paired(a, b *cell) difference {
	if a.n() != b.n() {
		return less(a, b)
	}
	of := func(r reading) ends { return r.pickup }
	all := b.byPlacement(of)
	for i, x := range a.byPlacement(of) {
		all[i] = ends{all[i].lo - x.hi, all[i].mid - x.mid, all[i].hi - x.lo}
	}
	m := meansOf(all)
	return difference{m.lo.truth(), m.hi.truth(), m.mid.value}
}

func (d difference) ends(tail float64) ends { return ends{d.lo.lower(tail), d.mid, d.hi.upper(tail)} }

// p is the two-sided p value of a difference other than zero.
func (d difference) p() float64 {
	return math.Min(1, 2*math.Min(d.lo.above(0), d.hi.below(0)))
}
