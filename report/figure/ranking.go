package figure

import (
	"fmt"

	"humdiff/fft/estimate"
	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Ranking is the cables of a session in order, each with its estimate.
type Ranking struct {
	Text   doc.FigureText
	Ranked []Ranked // in the order to show them in, from the top
	Alike  [][2]int // spans of Ranked, first and last, that can't be told apart
}

// Ranked is one cable in a ranking.
type Ranked struct {
	Name  string
	Value model.Estimate
	Said  string // the value in words, and what it stands on
}

// Figure draws a ranking: a dot and its interval a cable, and a bracket beside
// those that can't be told apart. Names stand whole, on as many lines as they need.
func (r Ranking) Figure() Figure {
	return Figure{Name: "ranking", of: func(o Options) content {
		columns := lanes(r.Alike)
		f := content{FigureText: r.Text, key: r.keys()}
		f.least = 4 + r.layOut(styleFor(o), vg.Length(o.W)-styleFor(o).margin*3-columns.width(styleFor(o))).height
		f.paint = func(st style, c draw.Canvas) {
			c.Max.X -= columns.width(st)
			r.paint(st, c, columns)
		}
		return f
	}}
}

// rankRows is where a ranking's rows stand, in heights of the axis text from the
// top.
type rankRows struct {
	names  [][]string // of each row, in lines
	below  []bool     // what is said stands below the name, for want of room beside it
	tops   []float64
	height float64
}

const (
	rankLine = 1.3 // of a line of text
	rankDot  = 1.2 // of the dot's strip
)

func (r Ranking) layOut(st style, width vg.Length) (rows rankRows) {
	name, said := r.styles(st)
	for i, k := range r.Ranked {
		lines := wrap(name, r.label(i), width)
		under := len(lines) > 1 || roomy(name, lines[0])+roomy(said, k.Said)+st.size > width
		rows.names, rows.below, rows.tops = append(rows.names, lines), append(rows.below, under), append(rows.tops, rows.height)
		rows.height += rankLine*float64(len(lines)+bit(under)) + rankDot
	}
	rows.height = max(rows.height, 1)
	return rows
}

func (r Ranking) label(i int) string {
	return fmt.Sprintf("%d  %s", i+1, doc.Verbatim(r.Ranked[i].Name))
}

func (r Ranking) styles(st style) (name, said text.Style) {
	name, said = st.text(0.95, false, st.Ink), st.text(small, false, st.Soft)
	said.XAlign = text.XRight
	return name, said
}

func (r Ranking) keys() []entry {
	states := map[estimate.State]bool{}
	for _, k := range r.Ranked {
		states[k.Value.State()] = true
	}
	var key []entry
	for _, k := range []struct {
		label string
		model.Estimate
	}{
		{doc.KeyMeasured, estimate.Of(0, -1, 1)}, {doc.KeyRange, estimate.Between(-1, 1)},
		{doc.KeyAtLeast, estimate.Above(-0.6)}, {doc.KeyAtMost, estimate.Below(0.6)},
	} {
		if states[k.State()] {
			key = append(key, entry{k.label, func(c draw.Canvas, at vg.Point, st style) {
				across(c, k.Estimate, func(v float64) vg.Length { return at.X + vg.Length(v)*st.size*0.7 }, at.Y, st)
			}})
		}
	}
	if len(r.Alike) > 0 {
		key = append(key, entry{doc.KeyAlike, func(c draw.Canvas, at vg.Point, st style) {
			bracket(c, at.X, at.Y-st.size*0.5, at.Y+st.size*0.5, st)
		}})
	}
	return key
}

// bracket is the bar beside what can't be told apart.
func bracket(c draw.Canvas, x, bottom, top vg.Length, st style) {
	tooth := st.size * 0.3
	c.StrokeLines(draw.LineStyle{Color: st.Ink, Width: st.line * 1.3}, []vg.Point{
		{X: x - tooth, Y: top}, {X: x, Y: top}, {X: x, Y: bottom}, {X: x - tooth, Y: bottom}})
}

func (r Ranking) paint(st style, c draw.Canvas, columns laneSet) {
	var values []model.Estimate
	for _, k := range r.Ranked {
		values = append(values, k.Value)
	}
	lo, hi := rangeOf(values)
	rows := r.layOut(st, c.Size().X-st.margin)
	pl := axes(st, r.Text.X, even(lo, hi, int(c.Size().X/(st.size*4)), 0.1), scale{lo: -rows.height, hi: 0})
	pl.Y.LineStyle.Width = 0
	pl.Add(rankPlot{st, r, rows, columns})
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
		at := 0
		for at < len(last) && last[at] >= s[0] {
			at++
		}
		if at == len(last) {
			last = append(last, 0)
		}
		last[at] = s[1]
		l.of = append(l.of, at)
	}
	l.count = len(last)
	return l
}

type rankPlot struct {
	style
	Ranking
	rows  rankRows
	lanes laneSet
}

func (r rankPlot) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	name, said := r.styles(r.style)
	for i, k := range r.Ranked {
		from := r.rows.tops[i]
		for j, line := range r.rows.names[i] {
			c.FillText(name, vg.Point{X: c.Min.X, Y: y(-from - rankLine*float64(j) - 0.1)}, line)
		}
		lines := float64(len(r.rows.names[i]))
		beside := from + rankLine*(lines-1)
		if r.rows.below[i] {
			beside += rankLine
		}
		c.FillText(said, vg.Point{X: c.Max.X, Y: y(-beside - 0.1)}, k.Said)
		end := beside + rankLine + rankDot
		across(c, k.Value, x, y(-(end - rankDot*0.6)), r.style)
		c.StrokeLine2(draw.LineStyle{Color: r.Grid, Width: 1}, c.Min.X, y(-end), c.Max.X, y(-end))
	}
	for i, a := range r.Alike {
		at := c.Max.X + r.size*0.9*(vg.Length(r.lanes.of[i])+0.8)
		bottom := r.rows.height
		if a[1]+1 < len(r.rows.tops) {
			bottom = r.rows.tops[a[1]+1]
		}
		bracket(c, at, y(-bottom)+r.size*0.3, y(-r.rows.tops[a[0]])-r.size*0.3, r.style)
	}
}
