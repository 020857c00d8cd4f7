package figure

import (
	"image/color"
	"slices"

	"humdiff/fft/estimate"
	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Article is the figure of a session for an article: what each cable picks up at
// each place, on one axis.
type Article struct {
	Text   doc.FigureText
	Places []string // up to MostPlaces, by the names that the key has
	Volts  bool     // values are in dBV, and the axis in volts
	Rows   []ArticleRow
}

// ArticleRow is a cable with what it picks up at each place; unknown where it was
// not recorded.
type ArticleRow struct {
	Name   string
	Values []model.Estimate
}

// MostPlaces is how many places an article's figure tells apart.
const MostPlaces = 4

// series is the mark and the colour of a place.
func series(i int, st style) (mark func(at vg.Point, r vg.Length) vg.Path, c color.RGBA) {
	switch i % MostPlaces {
	case 1:
		return square, st.Ink
	case 2:
		return triangle, st.Edge
	case 3:
		return diamond, st.Soft
	}
	return circle, st.Near
}

func diamond(at vg.Point, r vg.Length) vg.Path {
	r *= 1.2
	return polygon(vg.Point{X: at.X - r, Y: at.Y}, vg.Point{X: at.X, Y: at.Y - r}, vg.Point{X: at.X + r, Y: at.Y}, vg.Point{X: at.X, Y: at.Y + r})
}

// Figure draws it: below each cable's name, whole, a strip for each place in the
// order of the key.
func (a Article) Figure() Figure {
	return Figure{Name: "article", of: func(o Options) content {
		f := content{FigureText: a.Text, key: a.keys(), paint: a.paint}
		f.least = 4 + a.layOut(styleFor(o), vg.Length(o.W)-styleFor(o).margin*3).height
		return f
	}}
}

func (a Article) keys() []entry {
	var key []entry
	if slices.ContainsFunc(a.Rows, func(r ArticleRow) bool {
		return slices.ContainsFunc(r.Values, func(e model.Estimate) bool { return e.State() == estimate.Range })
	}) {
		key = append(key, entry{doc.KeyRange, func(c draw.Canvas, at vg.Point, st style) {
			across(c, estimate.Between(-1, 1), func(v float64) vg.Length { return at.X + vg.Length(v)*st.size*0.7 }, at.Y, st)
		}})
	}
	if len(a.Places) < 2 {
		return key
	}
	for i, name := range a.Places {
		key = append(key, entry{doc.Verbatim(name), func(c draw.Canvas, at vg.Point, st style) {
			mark, colour := series(i, st)
			full(c, mark(at, st.mark*1.2), colour, st)
		}})
	}
	return key
}

// articleRows is where a figure's rows stand, in heights of the axis text from the
// top.
type articleRows struct {
	names  [][]string
	tops   []float64
	height float64
}

const articleStrip = 0.85 // of a place's strip

func (a Article) layOut(st style, width vg.Length) (rows articleRows) {
	for _, r := range a.Rows {
		lines := wrap(st.text(0.95, false, st.Ink), doc.Verbatim(r.Name), width)
		rows.names, rows.tops = append(rows.names, lines), append(rows.tops, rows.height)
		rows.height += rankLine*float64(len(lines)) + articleStrip*float64(len(a.Places)) + 0.5
	}
	rows.height = max(rows.height, 1)
	return rows
}

func (a Article) paint(st style, c draw.Canvas) {
	var values []model.Estimate
	for _, r := range a.Rows {
		values = append(values, r.Values...)
	}
	lo, hi := rangeOf(values)
	rows := a.layOut(st, c.Size().X-st.margin)
	most := int(c.Size().X / (st.size * 4))
	x := even(lo, hi, most, 0.1)
	if a.Volts {
		x = levels{}.volts(lo, hi, most)
	}
	pl := axes(st, a.Text.X, x, scale{lo: -rows.height, hi: 0})
	pl.Y.LineStyle.Width = 0
	pl.Add(articlePlot{st, a, rows})
	pl.Draw(c)
}

type articlePlot struct {
	style
	Article
	rows articleRows
}

func (a articlePlot) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	name := a.text(0.95, false, a.Ink)
	for i, r := range a.Rows {
		from := a.rows.tops[i]
		for j, line := range a.rows.names[i] {
			c.FillText(name, vg.Point{X: c.Min.X, Y: y(-from - rankLine*float64(j) - 0.1)}, line)
		}
		from += rankLine * float64(len(a.rows.names[i]))
		for k, v := range r.Values {
			st := a.style
			mark, colour := series(k, st)
			st.Near = colour
			if v.Known() {
				acrossAs(mark, c, v, x, y(-from-articleStrip*(float64(k)+0.5)), st)
			}
		}
		end := from + articleStrip*float64(len(r.Values)) + 0.5
		c.StrokeLine2(draw.LineStyle{Color: a.Grid, Width: 1}, c.Min.X, y(-end), c.Max.X, y(-end))
	}
}
