package figure

import (
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
		rows := doc.PostedRows(p, fitting(styleFor(o), o, doc.PostedRows(p, doc.MostPosted)))
		caveats := doc.Caveats(r, p)
		f := content{FigureText: doc.CardText(r, p, len(rows)), head: 1.7, least: stripLeast + 1.3}
		f.scales = func(st style, _, h vg.Length) (x, y scale) {
			return columnsOf(rows, doc.HarmonicLabel), deltaAxis(st, h, rows)
		}
		f.plot = func(st style, c draw.Canvas, x, y axis) { stems(st, c, rows, x, y) }
		f.paint = func(st style, c draw.Canvas) {
			c.Min.Y += st.caveats(c, caveats)
			f.between(st, c)
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

// changed is how the number above a column is written.
func changed(st style) text.Style {
	sty := st.text(0.9, false, st.Ink)
	sty.XAlign = text.XCenter
	return sty
}

// fitting is how many lines have room for their numbers.
func fitting(st style, o Options, rows []model.Row) int {
	widest := st.size
	for _, l := range rows {
		widest = max(widest, roomy(changed(st), doc.PostedDelta(l.Delta)))
	}
	return max(1, min(len(rows), int((vg.Length(o.W)-5*st.size)/widest)))
}

// deltaAxis holds all deltas and zero, with room above for their numbers.
func deltaAxis(st style, h vg.Length, rows []model.Row) scale {
	lo, hi := 0.0, 1.0
	for _, l := range rows {
		lo, hi = spread(lo, hi, l.Delta)
	}
	margin := (hi - lo) * float64(st.size/h)
	if lo < 0 {
		lo -= margin
	}
	return even(lo, hi+2.2*margin, int(h/(st.size*2.2)), 1)
}

// stems are the changes of some lines side by side: each from no change to its delta, with its
// interval, or an open triangle for a bound, and the number above.
func stems(st style, c draw.Canvas, rows []model.Row, x, y axis) {
	c.StrokeLine2(draw.LineStyle{Color: st.Soft, Width: st.line}, c.Min.X, y(0), c.Max.X, y(0))
	for i, l := range rows {
		c.FillText(changed(st), vg.Point{X: x(float64(i)), Y: c.Max.Y}, doc.PostedDelta(l.Delta))
		ofLine(c, l.Harmonic, func() { st.stem(c, x(float64(i)), y, l.Delta) })
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
