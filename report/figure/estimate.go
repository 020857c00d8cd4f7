package figure

import (
	"math"

	"humdiff/report/result"
	"humdiff/report/words"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Estimate is a value with its interval, or a bound, as a delta is: Measured has
// all three numbers, AtLeast has Lo only, AtMost has Hi only. Any other state
// has none, and nothing is drawn for it.
type Estimate struct {
	State         string // as of a delta
	Value, Lo, Hi result.Num
}

// EstimateOf is a delta as an estimate.
func EstimateOf(d result.Delta) Estimate { return Estimate{d.State, d.DB, d.LoDB, d.HiDB} }

// at is where an estimate is drawn, and the way in which it may lie beyond: 1
// up, -1 down, 0 for a measured one.
func (e Estimate) at() (v result.Num, way int, ok bool) {
	switch e.State {
	case result.Measured:
		return e.Value, 0, e.Value.Ok()
	case result.AtLeast:
		return e.Lo, 1, e.Lo.Ok()
	case result.AtMost:
		return e.Hi, -1, e.Hi.Ok()
	}
	return result.None, 0, false
}

// short writes an estimate, e.g. "14.2", "below 3.1".
func (e Estimate) short() string {
	switch v, way, ok := e.at(); {
	case !ok:
		return "not measurable"
	case way > 0:
		return "at least " + words.Fixed(words.Down(v), 1)
	case way < 0:
		return "at most " + words.Fixed(words.Up(v), 1)
	default:
		return words.Fixed(v, 1)
	}
}

// long adds the interval, e.g. "14.2 (12.9 to 15.6)".
func (e Estimate) long() string {
	if e.State != result.Measured || !e.Lo.Ok() || !e.Hi.Ok() {
		return e.short()
	}
	return e.short() + " (" + words.Fixed(e.Lo, 1) + " to " + words.Fixed(e.Hi, 1) + ")"
}

// rangeOf holds all estimates and their intervals; with zero where they come near
// it. Nothing to hold gives 0 to 1.
func rangeOf(all []Estimate) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, e := range all {
		if v, _, ok := e.at(); ok {
			for _, x := range []result.Num{v, e.Lo, e.Hi} {
				if x.Ok() {
					lo, hi = math.Min(lo, float64(x)), math.Max(hi, float64(x))
				}
			}
		}
	}
	if lo > hi {
		return 0, 1
	}
	room := math.Max(0.06*(hi-lo), 0.5)
	return lo - room, hi + room
}

// across draws an estimate on a horizontal axis: a dot with its interval, or an
// open triangle that points the way in which it may lie, with an arrow.
func (e Estimate) across(c draw.Canvas, x func(float64) vg.Length, y vg.Length, st style) {
	v, way, ok := e.at()
	if !ok {
		return
	}
	at := vg.Point{X: x(float64(v)), Y: y}
	if way != 0 {
		sideways(c, at, vg.Length(way)*st.size*0.9, st)
		return
	}
	if e.Lo.Ok() && e.Hi.Ok() {
		half := st.mark * 0.9
		lo, hi := x(float64(e.Lo)), x(float64(e.Hi))
		var interval vg.Path
		for _, ends := range [][2]vg.Point{{{X: lo, Y: y}, {X: hi, Y: y}}, {{X: lo, Y: y - half}, {X: lo, Y: y + half}}, {{X: hi, Y: y - half}, {X: hi, Y: y + half}}} {
			interval.Move(ends[0])
			interval.Line(ends[1])
		}
		stroke(c, interval, draw.LineStyle{Color: st.Near, Width: st.line})
	}
	full(c, circle(at, st.mark), st.Near, st)
}

// sideways draws an open triangle that points to the right, or to the left where
// length is negative, and an arrow of that length.
func sideways(c draw.Canvas, at vg.Point, length vg.Length, st style) {
	r := st.mark * 1.1
	if length < 0 {
		r = -r
	}
	to := vg.Point{X: at.X + length, Y: at.Y}
	head := r * 0.9
	sty := draw.LineStyle{Color: st.Near, Width: 1.4}
	c.StrokeLines(sty, []vg.Point{at, to})
	c.StrokeLines(sty, []vg.Point{{X: to.X - head, Y: to.Y - st.mark*0.7}, to, {X: to.X - head, Y: to.Y + st.mark*0.7}})
	open(c, polygon(vg.Point{X: at.X - r*0.8, Y: at.Y - r}, vg.Point{X: at.X - r*0.8, Y: at.Y + r}, vg.Point{X: at.X + r, Y: at.Y}), st.Near, st)
}
