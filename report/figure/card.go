package figure

import (
	"math"

	"humdiff/fft/estimate"
	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Card draws what to publish of a pair where there is room for one image: the
// finding, the change of the lines that matter most, and what has to be said with it.
func Card(r model.Compare, p model.Pair) Figure {
	return Figure{Name: "card", of: func(o Options) content {
		s := strip{rows: doc.PostedRows(p, doc.MostPosted)}
		st := styleFor(o)
		s.rows = doc.PostedRows(p, s.fitting(st, vg.Length(o.W)-2*st.margin))
		caveats := doc.Caveats(r, p)
		f := content{FigureText: doc.CardText(r, p, len(s.rows)), head: 1.7, least: stripLeast + 1.3}
		f.paint = func(st style, c draw.Canvas) {
			c.Min.Y += st.caveats(c, caveats)
			c.Min.Y += st.writeUp(c, st.text(small, false, st.Ink), f.X)
			s.draw(st, c)
		}
		return f
	}}
}

// stripLeast is the least height of a strip, in heights of the axis text.
const stripLeast = 7

// caveats writes as many of them as leave room for the strip, at the bottom, and
// returns their height.
func (st style) caveats(c draw.Canvas, all []string) (height vg.Length) {
	sty := st.text(0.95, false, st.Ink)
	for n := len(all); n > 0; n-- {
		height = 0
		for _, s := range all[:n] {
			height += vg.Length(len(wrap(sty, s, c.Size().X-st.size))) * sty.Font.Size * 1.3
		}
		if height += st.size * 0.9; c.Size().Y-height < st.size*(stripLeast+1.3) {
			continue
		}
		at := c
		at.Max.Y = c.Min.Y + height - st.size*0.6
		c.StrokeLine2(draw.LineStyle{Color: st.Grid, Width: st.line}, c.Min.X, at.Max.Y+st.size*0.2, c.Max.X, at.Max.Y+st.size*0.2)
		for _, s := range all[:n] {
			c.SetColor(st.Near)
			c.Fill(square(vg.Point{X: c.Min.X + st.size*0.25, Y: at.Max.Y - sty.Font.Size*0.55}, st.size*0.2))
			beside := at
			beside.Min.X += st.size
			at.Max.Y -= st.write(beside, sty, s)
		}
		return height
	}
	return 0
}

// strip is the changes of some lines side by side: each a stem from no change to its
// delta, with its interval, or an open triangle for a bound, and the number above.
type strip struct{ rows []model.Row }

func (s strip) numbers(st style) text.Style {
	sty := st.text(0.9, false, st.Ink)
	sty.XAlign = text.XCenter
	return sty
}

// fitting is how many lines have room for their numbers.
func (s strip) fitting(st style, width vg.Length) int {
	widest := st.size
	for _, l := range s.rows {
		widest = max(widest, roomy(s.numbers(st), doc.PostedDelta(l.Delta)))
	}
	return max(1, min(len(s.rows), int(width/(widest+st.size*0.25))))
}

func (s strip) draw(st style, c draw.Canvas) {
	numbers, names := s.numbers(st), st.text(0.9, false, st.Ink)
	names.XAlign = text.XCenter
	each := c.Size().X / vg.Length(len(s.rows))
	plot := draw.Crop(c, 0, 0, st.size*1.5, -st.size*1.6)
	y := s.scale(plot, st)
	c.StrokeLine2(draw.LineStyle{Color: st.Soft, Width: st.line}, c.Min.X, y(0), c.Max.X, y(0))
	for i, l := range s.rows {
		x := c.Min.X + each*(vg.Length(i)+0.5)
		c.FillText(numbers, vg.Point{X: x, Y: c.Max.Y - st.size*0.1}, doc.PostedDelta(l.Delta))
		c.FillText(names, vg.Point{X: x, Y: c.Min.Y + st.size*1.2}, doc.HarmonicLabel(l))
		ofLine(c, l.Harmonic, func() { st.stem(c, x, y, l.Delta) })
	}
}

// scale is where decibels lie: all deltas and zero, with room for marks.
func (s strip) scale(c draw.Canvas, st style) func(db float64) vg.Length {
	lo, hi := 0.0, 0.0
	for _, l := range s.rows {
		lo, hi = spread(lo, hi, l.Delta)
	}
	hi = math.Max(hi, lo+1)
	room := st.size * 0.5
	bottom := c.Min.Y
	if lo < 0 {
		bottom += room
	}
	return func(db float64) vg.Length {
		return bottom + vg.Length((db-lo)/(hi-lo)*float64(c.Max.Y-room-bottom))
	}
}

// stem draws one change.
func (st style) stem(c draw.Canvas, x vg.Length, y axis, d model.Estimate) {
	v, ok := at(d)
	lo, hi, whole := interval(d)
	thick := draw.LineStyle{Color: st.Near, Width: st.size * 0.5}
	switch {
	case !ok && whole:
		c.StrokeLine2(thick, x, y(lo), x, y(hi))
	case !ok:
	case d.State() == estimate.Measured:
		c.StrokeLine2(thick, x, y(0), x, y(v))
		if whole {
			stroke(c, whiskers(vg.Point{X: x, Y: y(lo)}, vg.Point{X: x, Y: y(hi)}, st.size*0.45), draw.LineStyle{Color: st.Ink, Width: st.line})
		}
	default:
		r := st.size * 0.45
		if d.State() == estimate.AtMost {
			r = -r
		}
		c.StrokeLine2(draw.LineStyle{Color: st.Near, Width: st.line, Dashes: []vg.Length{st.size * 0.3, st.size * 0.2}}, x, y(0), x, y(v))
		head := triangle(vg.Point{X: x, Y: y(v)}, r)
		c.SetColor(st.Paper)
		c.Fill(head)
		stroke(c, head, draw.LineStyle{Color: st.Near, Width: st.line})
	}
}
