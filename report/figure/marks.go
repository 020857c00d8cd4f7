package figure

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// The marks. Full means measured, open means a bound; round is near, square is
// quiet; a triangle points the way in which the value may lie.

func circle(at vg.Point, r vg.Length) vg.Path {
	var p vg.Path
	p.Arc(at, r, 0, 2*math.Pi)
	p.Close()
	return p
}

func polygon(points ...vg.Point) vg.Path {
	var p vg.Path
	p.Move(points[0])
	for _, q := range points[1:] {
		p.Line(q)
	}
	p.Close()
	return p
}

func square(at vg.Point, r vg.Length) vg.Path { return box(at, r, r) }

// triangle points up, or down where r is negative.
func triangle(at vg.Point, r vg.Length) vg.Path {
	return polygon(vg.Point{X: at.X - r, Y: at.Y - r*0.8}, vg.Point{X: at.X + r, Y: at.Y - r*0.8}, vg.Point{X: at.X, Y: at.Y + r})
}

func diamond(at vg.Point, r vg.Length) vg.Path {
	r *= 1.2
	return polygon(vg.Point{X: at.X - r, Y: at.Y}, vg.Point{X: at.X, Y: at.Y - r}, vg.Point{X: at.X + r, Y: at.Y}, vg.Point{X: at.X, Y: at.Y + r})
}

// box is twice w wide and twice h high.
func box(at vg.Point, w, h vg.Length) vg.Path {
	return polygon(vg.Point{X: at.X - w, Y: at.Y - h}, vg.Point{X: at.X + w, Y: at.Y - h}, vg.Point{X: at.X + w, Y: at.Y + h}, vg.Point{X: at.X - w, Y: at.Y + h})
}

// areaSwatch and lineSwatch stand for quiet and near in a key.
func areaSwatch(c draw.Canvas, at vg.Point, st style) {
	c.SetColor(st.Quiet)
	c.Fill(box(at, st.size*0.8, st.size*0.4))
}

func lineSwatch(c draw.Canvas, at vg.Point, st style) {
	c.StrokeLine2(draw.LineStyle{Color: st.Near, Width: st.line * 1.5}, at.X-st.size*0.8, at.Y, at.X+st.size*0.8, at.Y)
}

// bandSwatch is near's line in the band of its extremes.
func bandSwatch(c draw.Canvas, at vg.Point, st style) {
	c.SetColor(st.Band)
	c.Fill(box(at, st.size*0.8, st.size*0.25))
	lineSwatch(c, at, st)
}

// full fills a mark, with a rim of paper that sets it off from what is below.
func full(c draw.Canvas, p vg.Path, fill color.Color, st style) {
	stroke(c, p, draw.LineStyle{Color: st.Paper, Width: st.mark * 0.5})
	c.SetColor(fill)
	c.Fill(p)
}

// open draws a mark's outline on paper.
func open(c draw.Canvas, p vg.Path, line color.Color, st style) {
	c.SetColor(st.Paper)
	c.Fill(p)
	stroke(c, p, draw.LineStyle{Color: line, Width: min(1.2, st.mark*0.5)})
}

func stroke(c draw.Canvas, p vg.Path, sty draw.LineStyle) {
	c.SetLineStyle(sty)
	c.Stroke(p)
}

// arrow draws a line of some length from a point up, or down where it is
// negative, with a head at its end.
func arrow(c draw.Canvas, from vg.Point, length, head vg.Length, sty draw.LineStyle) {
	to := vg.Point{X: from.X, Y: from.Y + length}
	back := head
	if length < 0 {
		back = -head
	}
	c.StrokeLines(sty, []vg.Point{from, to})
	c.StrokeLines(sty, []vg.Point{{X: to.X - head*0.7, Y: to.Y - back}, to, {X: to.X + head*0.7, Y: to.Y - back}})
}
