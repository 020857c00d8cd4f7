package figure

import (
	"math"

	"humdiff/fft/estimate"
	"humdiff/report/model"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// at is where an estimate has a place on an axis: its value or its bound. A range
// has no place, only two ends.
func at(e model.Estimate) (v float64, ok bool) {
	switch e.State() {
	case estimate.Measured:
		return e.Value()
	case estimate.AtLeast:
		return e.Lower()
	case estimate.AtMost:
		return e.Upper()
	}
	return math.NaN(), false
}

// interval is an estimate's two ends; false where it lacks one.
func interval(e model.Estimate) (lo, hi float64, whole bool) {
	lo, hasLo := e.Lower()
	hi, hasHi := e.Upper()
	return lo, hi, hasLo && hasHi
}

// spread takes all that an estimate has on an axis into a range.
func spread(lo, hi float64, e model.Estimate) (float64, float64) {
	v, l, h := e.Numbers()
	for _, x := range []float64{v, l, h} {
		if !math.IsNaN(x) && !math.IsInf(x, 0) {
			lo, hi = math.Min(lo, x), math.Max(hi, x)
		}
	}
	return lo, hi
}

// rangeOf holds all estimates and their intervals. Nothing to hold gives 0 to 1.
func rangeOf(all []model.Estimate) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, e := range all {
		lo, hi = spread(lo, hi, e)
	}
	if lo > hi {
		return 0, 1
	}
	room := math.Max(0.06*(hi-lo), 0.5)
	return lo - room, hi + room
}

// across draws an estimate on a horizontal axis: a mark with its interval; a bar
// without one for a range, in which no value is likelier than another; or an
// open triangle that points the way in which it may lie, with an arrow.
func across(mark func(at vg.Point, r vg.Length) vg.Path, c draw.Canvas, e model.Estimate, x axis, y vg.Length, st style) {
	v, placed := at(e)
	switch e.State() {
	case estimate.AtLeast:
		sideways(c, vg.Point{X: x(v), Y: y}, st.size*0.9, st)
		return
	case estimate.AtMost:
		sideways(c, vg.Point{X: x(v), Y: y}, -st.size*0.9, st)
		return
	}
	if lo, hi, whole := interval(e); whole {
		stroke(c, whiskers(vg.Point{X: x(lo), Y: y}, vg.Point{X: x(hi), Y: y}, st.mark*0.9), draw.LineStyle{Color: st.Near, Width: st.line})
	}
	if placed {
		full(c, mark(vg.Point{X: x(v), Y: y}, st.mark), st.Near, st)
	}
}

// whiskers is an interval from a to b, which lie beside or above each other, with
// an end stroke of twice half at each.
func whiskers(a, b vg.Point, half vg.Length) vg.Path {
	off := vg.Point{Y: half}
	if a.X == b.X {
		off = vg.Point{X: half}
	}
	var p vg.Path
	for _, ends := range [][2]vg.Point{{a, b}, {a.Sub(off), a.Add(off)}, {b.Sub(off), b.Add(off)}} {
		p.Move(ends[0])
		p.Line(ends[1])
	}
	return p
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
