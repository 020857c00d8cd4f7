package verdict

import (
	"math"
	"slices"

	"humdiff/report/repeats"
	"humdiff/report/result"
	"humdiff/report/session"
)

// cell is the repeats of one cable at one place, of one quantity.
type cell struct {
	cable    string
	where    result.Where
	of       result.Quantity
	readings []reading
	placed   []int // of each reading: which placement, from 0
	// Means over placements of the ends and the middle, dB.
	delta, pickup ends3
	rose          bool
}

// ends3 are the means of the lower ends, the values and the upper ends.
type ends3 struct{ lo, mid, hi repeats.Mean }

func (c *cell) n() int {
	if len(c.placed) == 0 {
		return 0
	}
	return c.placed[len(c.placed)-1] + 1
}

// runs are those of the cell's readings.
func (c *cell) runs() []run {
	var out []run
	for _, r := range c.readings {
		out = append(out, r.runs()...)
	}
	return out
}

func (c *cell) nears() []run {
	var out []run
	for _, r := range c.readings {
		out = append(out, *r.near)
	}
	return out
}

// quantities are those that are stated: the total, A-weighted too, and what
// claims are about.
func (b *bench) quantities() []result.Quantity {
	out := []result.Quantity{{}, {AWeighted: true}}
	for _, c := range b.in.Session.Claims {
		if q := asked(c.Of); !slices.Contains(out, q) {
			out = append(out, q)
		}
	}
	return out
}

func asked(q session.Quantity) result.Quantity {
	return result.Quantity{Harmonic: q.Harmonic, AWeighted: q.AWeighted}
}

// gather puts near runs with the same cable and place together, as listed.
func (b *bench) gather(of result.Quantity) []*cell {
	var out []*cell
	for _, near := range b.each(func(r run) bool { return r.Condition == session.Near }) {
		r, ok := b.read(near, of)
		if !ok {
			continue
		}
		w := where(near.Run)
		i := slices.IndexFunc(out, func(c *cell) bool { return c.cable == near.Cable && sameWhere(c.where, w) })
		if i < 0 {
			i = len(out)
			out = append(out, &cell{cable: near.Cable, where: w, of: of})
		}
		out[i].add(r)
	}
	for _, c := range out {
		c.sum()
		c.rose = b.rose(c.readings, of)
	}
	slices.SortStableFunc(out, func(x, y *cell) int { return firstNumber(x) - firstNumber(y) })
	return out
}

func firstNumber(c *cell) int {
	n := c.readings[0].near.number
	for _, r := range c.readings {
		n = min(n, r.near.number)
	}
	return n
}

// add appends a reading: a new placement where the lead was replaced.
func (c *cell) add(r reading) {
	placement := c.n()
	if len(c.readings) > 0 && !r.near.Replaced {
		placement--
	}
	c.readings, c.placed = append(c.readings, r), append(c.placed, placement)
}

// sum averages within placements, then over them.
func (c *cell) sum() {
	c.delta = c.over(func(r reading) span { return r.delta })
	c.pickup = c.over(func(r reading) span { return r.pickup })
}

func (c *cell) over(of func(reading) span) ends3 {
	n := c.n()
	lo, mid, hi, count := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i, r := range c.readings {
		s, p := of(r), c.placed[i]
		lo[p], mid[p], hi[p], count[p] = lo[p]+s.lo, mid[p]+s.mid, hi[p]+s.hi, count[p]+1
	}
	for p := range count {
		lo[p], mid[p], hi[p] = lo[p]/count[p], mid[p]/count[p], hi[p]/count[p]
	}
	return ends3{mean(lo), mean(mid), mean(hi)}
}

// mean is a mean of decibels; without a spread where there is one value, and
// infinite where one of them is.
func mean(x []float64) repeats.Mean {
	if m, err := repeats.Of(x, 0.95); err == nil && !math.IsInf(m.Value, 0) {
		return m
	}
	m := repeats.Mean{N: len(x), SD: math.NaN(), Half: math.NaN()}
	for _, v := range x {
		m.Value += v / float64(len(x))
	}
	if math.IsInf(m.Value, 0) && m.N > 1 {
		m.SD = 0 // no bound is no bound, for sure
	}
	return m
}

// interval is the mean's: the lower end's lower and the upper end's upper bound.
func (e ends3) interval(tail float64) result.Interval {
	return result.Interval{
		Value: result.Of(e.mid.Value),
		Lo:    result.Of(e.lo.Estimate().Lower(tail)),
		Hi:    result.Of(e.hi.Estimate().Upper(tail)),
	}
}

// rose says that every reading lies above quiet, by more than its own
// uncertainty and by more than quiet itself was seen to change.
func (b *bench) rose(readings []reading, of result.Quantity) bool {
	for _, r := range readings {
		if !(r.delta.lo > b.ownDrift(*r.near, of)) {
			return false
		}
	}
	return len(readings) > 0
}

// move is a change of quiet from one run to another of the same bench.
type move struct {
	from, to run
	db       float64 // its size
}

// moves are all changes between successive quiet runs of one bench; between any
// two where their order is unknown.
func (b *bench) moves(of result.Quantity) []move {
	if out, ok := b.moved[of]; ok {
		return out
	}
	out := []move{}
	quiets := b.each(func(r run) bool { return r.Condition == session.Quiet })
	for i, q := range quiets {
		for _, r := range quiets[i+1:] {
			if !b.sameBench(q, r) {
				continue
			}
			if d := math.Abs(b.change(q, r, of)); !math.IsNaN(d) {
				out = append(out, move{q, r, d})
			}
			if !b.unordered {
				break
			}
		}
	}
	b.moved[of] = out
	return out
}

// largestStep is the largest of the whole session; 0 where none was seen.
func (b *bench) largestStep(of result.Quantity) (most move) {
	for _, m := range b.moves(of) {
		if m.db > most.db {
			most = m
		}
	}
	return most
}

// widest is the largest change of the hum total between any two quiet runs of one
// bench: more than any step where quiet wandered. False where no bench has two
// that can be held against each other.
func (b *bench) widest() (most move, seen bool) {
	quiets := b.each(func(r run) bool { return r.Condition == session.Quiet })
	for i, q := range quiets {
		for _, r := range quiets[i+1:] {
			if !b.sameBench(q, r) {
				continue
			}
			if d := math.Abs(b.change(q, r, result.Quantity{})); !seen && !math.IsNaN(d) || d > most.db {
				most, seen = move{q, r, d}, true
			}
		}
	}
	return most, seen
}

// ownDrift is the largest among the quiet runs of a run's own bench.
func (b *bench) ownDrift(r run, of result.Quantity) (most float64) {
	for _, m := range b.moves(of) {
		if b.sameBench(m.from, r) {
			most = math.Max(most, m.db)
		}
	}
	return most
}

// cells states all cells.
func (b *bench) cells() []result.Cell {
	out := []result.Cell{}
	for _, of := range b.quantities() {
		for _, c := range b.gathered(of) {
			out = append(out, b.stateCell(c))
		}
	}
	return out
}

func (b *bench) stateCell(c *cell) result.Cell {
	tail := b.tail()
	out := result.Cell{
		Cable: c.cable, Where: c.where, Quantity: c.of, Repeats: []result.Repeat{}, Placements: c.n(),
		Delta: c.delta.interval(tail), Pickup: c.pickup.interval(tail), SD: result.Of(c.pickup.mid.SD), Rose: c.rose,
	}
	out.Volts = b.inVolts(out.Pickup, c.n() > 1 && math.IsInf(c.pickup.lo.Value, -1) && out.Pickup.Hi.Ok())
	for i, r := range c.readings {
		out.Repeats = append(out.Repeats, b.stateReading(r, c.placed[i]+1))
	}
	return out
}

func (b *bench) stateReading(r reading, placement int) result.Repeat {
	out := result.Repeat{
		Run: r.near.number, Before: numberOf(r.before), After: numberOf(r.after), Against: numbers(r.quiets()), Repeat: r.near.Repeat, Placement: placement,
		Plug: r.near.Plug, Delta: r.delta.interval(), Pickup: r.pickup.interval(), Drift: result.Of(r.drift),
		Spread: result.Of(r.spread), State: r.state,
	}
	out.Volts = b.inVolts(out.Pickup, math.IsInf(r.pickup.lo, -1) && out.Pickup.Hi.Ok())
	return out
}

func numberOf(r *run) int {
	if r == nil {
		return 0
	}
	return r.number
}
