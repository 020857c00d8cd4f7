package figure

import (
	"fmt"
	"image/color"
	"slices"

	"humdiff/fft/estimate"
	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Places is what each cable of a session picks up, on one axis: at one place in order,
// or at several, each with a mark and a colour.
type Places struct {
	Name  string // of the figure
	Text  doc.FigureText
	At    []string // places by the names that the key has, up to MostPlaces; none: a ranking at one, in numbers
	Volts bool     // values are in dBV, and the axis in volts
	Rows  []PlaceRow
	Alike [][2]int // spans of Rows, first and last, that can't be told apart
}

// PlaceRow is a cable with what it picks up at each place; unknown where it was not
// recorded.
type PlaceRow struct {
	Name   string
	Values []model.Estimate
	Said   string // the value in words, and what it stands on; may be empty
}

// MostPlaces is how many places a figure tells apart.
const MostPlaces = 4

// series is the mark and the colour of a place.
func series(i int, st style) (mark func(at vg.Point, r vg.Length) vg.Path, c style) {
	i %= MostPlaces
	st.Near = [MostPlaces]color.RGBA{st.Near, st.Ink, st.Edge, st.Soft}[i]
	return [MostPlaces]func(at vg.Point, r vg.Length) vg.Path{circle, square, triangle, diamond}[i], st
}

// Figure draws it: below each cable's name, on as many lines as it needs, a strip for
// each place in the order of the key, and a bracket beside those that can't be told
// apart.
func (p Places) Figure() Figure {
	return Figure{Name: p.Name, of: func(o Options) content {
		columns, st := lanes(p.Alike), styleFor(o)
		f := content{FigureText: p.Text, key: p.keys()}
		f.least = 4 + p.layOut(st, vg.Length(o.W)-st.margin*3-columns.width(st)).height
		f.most = 1.1 * f.least
		f.paint = func(st style, c draw.Canvas) {
			c.Max.X -= columns.width(st)
			p.paint(st, c, columns)
		}
		return f
	}}
}

func (p Places) keys() (key []entry) {
	states := map[estimate.State]bool{}
	for _, r := range p.Rows {
		for _, e := range r.Values {
			states[e.State()] = true
		}
	}
	for _, k := range []struct {
		label string
		model.Estimate
		asPlace bool // several places have marks of their own
	}{
		{doc.KeyMeasured, estimate.Of(0, -1, 1), true}, {doc.KeyRange, estimate.Between(-1, 1), false},
		{doc.KeyAtLeast, estimate.Above(-0.6), true}, {doc.KeyAtMost, estimate.Below(0.6), true},
	} {
		if states[k.State()] && !(k.asPlace && len(p.At) > 1) {
			key = append(key, entry{k.label, func(c draw.Canvas, at vg.Point, st style) {
				across(circle, c, k.Estimate, func(v float64) vg.Length { return at.X + vg.Length(v)*st.size*0.7 }, at.Y, st)
			}})
		}
	}
	for i, name := range p.At {
		if len(p.At) > 1 {
			key = append(key, entry{doc.Printable(name), func(c draw.Canvas, at vg.Point, st style) {
				mark, own := series(i, st)
				full(c, mark(at, st.mark*1.2), own.Near, st)
			}})
		}
	}
	if len(p.Alike) > 0 {
		key = append(key, entry{doc.KeyAlike, func(c draw.Canvas, at vg.Point, st style) {
			bracket(c, at.X, at.Y-st.size*0.5, at.Y+st.size*0.5, st)
		}})
	}
	return key
}

// placeRows is where rows stand, in heights of the axis text from the top.
type placeRows struct {
	names  [][]string // of each row, in lines
	below  []bool     // what is said stands below the name, for want of room beside it
	tops   []float64
	height float64
}

const (
	placeLine  = 1.3  // of a line of text
	placeStrip = 0.85 // of a place's strip
	placeGap   = 0.4  // below the last
)

func (p Places) layOut(st style, width vg.Length) (rows placeRows) {
	name, said := p.styles(st)
	for i, r := range p.Rows {
		label := doc.Printable(r.Name)
		if len(p.At) == 0 {
			label = fmt.Sprintf("%d  %s", i+1, label)
		}
		lines := wrap(name, label, width)
		under := r.Said != "" && (len(lines) > 1 || roomy(name, lines[0])+roomy(said, r.Said)+st.size > width)
		rows.names, rows.below, rows.tops = append(rows.names, lines), append(rows.below, under), append(rows.tops, rows.height)
		rows.height += placeLine*float64(len(lines)+bit(under)) + placeStrip*float64(len(r.Values)) + placeGap
	}
	rows.height = max(rows.height, 1)
	return rows
}

func (p Places) styles(st style) (name, said text.Style) {
	name, said = st.text(0.95, false, st.Ink), st.text(small, false, st.Soft)
	said.XAlign = text.XRight
	return name, said
}

// bracket is the bar beside what can't be told apart.
func bracket(c draw.Canvas, x, bottom, top vg.Length, st style) {
	tooth := st.size * 0.3
	c.StrokeLines(draw.LineStyle{Color: st.Ink, Width: st.line * 1.3}, []vg.Point{
		{X: x - tooth, Y: top}, {X: x, Y: top}, {X: x, Y: bottom}, {X: x - tooth, Y: bottom}})
}

func (p Places) paint(st style, c draw.Canvas, columns laneSet) {
	var values []model.Estimate
	for _, r := range p.Rows {
		values = append(values, r.Values...)
	}
	lo, hi := rangeOf(values)
	rows, most := p.layOut(st, c.Size().X-st.margin), int(c.Size().X/(st.size*4))
	x := even(lo, hi, most, 0.1)
	if p.Volts {
		x = levels{}.volts(lo, hi, most)
	}
	pl := axes(st, p.Text.X, x, scale{lo: -rows.height, hi: 0})
	pl.Y.LineStyle.Width = 0
	pl.Add(plotting(func(c draw.Canvas, x, y axis) { p.draw(st, c, rows, columns, x, y) }))
	pl.Draw(c)
}

// laneSet puts spans that overlap beside each other.
type laneSet struct {
	of    []int // of each span
	count int
}

func (l laneSet) width(st style) vg.Length { return st.size * 0.9 * vg.Length(l.count) }

func lanes(spans [][2]int) (l laneSet) {
	var last []int // end of the newest span in each lane
	for _, s := range spans {
		at := slices.IndexFunc(last, func(end int) bool { return end < s[0] })
		if at < 0 {
			at, last = len(last), append(last, 0)
		}
		last[at] = s[1]
		l.of = append(l.of, at)
	}
	l.count = len(last)
	return l
}

func (p Places) draw(st style, c draw.Canvas, rows placeRows, lanes laneSet, x, y axis) {
	name, said := p.styles(st)
	for i, r := range p.Rows {
		from := rows.tops[i]
		for j, line := range rows.names[i] {
			c.FillText(name, vg.Point{X: c.Min.X, Y: y(-from - placeLine*float64(j) - 0.1)}, line)
		}
		from += placeLine * float64(len(rows.names[i])+bit(rows.below[i]))
		c.FillText(said, vg.Point{X: c.Max.X, Y: y(placeLine - from - 0.1)}, r.Said)
		for k, v := range r.Values {
			if mark, own := series(k, st); v.Known() {
				across(mark, c, v, x, y(-from-placeStrip*(float64(k)+0.5)), own)
			}
		}
		end := from + placeStrip*float64(len(r.Values)) + placeGap
		c.StrokeLine2(draw.LineStyle{Color: st.Grid, Width: 1}, c.Min.X, y(-end), c.Max.X, y(-end))
	}
	for i, a := range p.Alike {
		at := c.Max.X + st.size*0.9*(vg.Length(lanes.of[i])+0.8)
		bottom := rows.height
		if a[1]+1 < len(rows.tops) {
			bottom = rows.tops[a[1]+1]
		}
		bracket(c, at, y(-bottom)+st.size*0.3, y(-rows.tops[a[0]])-st.size*0.3, st)
	}
}
