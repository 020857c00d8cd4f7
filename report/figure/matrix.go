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

// Matrix is what each cable did under each exposure.
type Matrix struct {
	Text    doc.FigureText
	Columns []string // exposures
	Rows    []MatrixRow
}

// MatrixRow is a cable's cells, one for each column.
type MatrixRow struct {
	Name  string
	Cells []MatrixCell
}

// MatrixCell is a value, and how it is written: in full, and where there is
// little room.
type MatrixCell struct {
	Value       model.Estimate
	Said, Short string
}

// Figure draws a matrix: in each cell the value, and a disc the larger the higher
// it is. Discs are grey where the interval holds zero, and open where there is
// only a bound. Names stand whole, on as many lines as they need.
func (m Matrix) Figure() Figure {
	return Figure{Name: "matrix", of: func(o Options) content {
		f := content{FigureText: m.Text, key: m.keys(), tight: true, paint: m.paint}
		f.least = m.layOut(styleFor(o), vg.Length(o.W)-2*styleFor(o).margin).height
		return f
	}}
}

// Heights in heights of the axis text.
const (
	matrixLine = 1.25
	matrixCell = 3.1
)

// matrixRows is where a matrix' rows stand, in heights of the axis text from the
// top.
type matrixRows struct {
	width  vg.Length  // of a column
	heads  [][]string // of each column, in lines
	names  [][]string // of each row, in lines
	tops   []float64
	height float64
}

func (m Matrix) layOut(st style, width vg.Length) (rows matrixRows) {
	head, name := m.styles(st)
	rows.width = width / vg.Length(max(len(m.Columns), 1))
	most := 0
	for _, h := range m.Columns {
		lines := wrap(head, doc.Verbatim(h), rows.width-st.size*0.6)
		rows.heads, most = append(rows.heads, lines), max(most, len(lines))
	}
	rows.height = matrixLine*float64(most) + 0.4
	for _, r := range m.Rows {
		lines := wrap(name, doc.Verbatim(r.Name), width)
		rows.names, rows.tops = append(rows.names, lines), append(rows.tops, rows.height)
		rows.height += matrixLine*float64(len(lines)) + matrixCell
	}
	return rows
}

func (m Matrix) styles(st style) (centred, name text.Style) {
	centred, name = st.text(0.9, false, st.Ink), st.text(0.95, true, st.Ink)
	centred.XAlign = text.XCenter
	return centred, name
}

func (m Matrix) keys() []entry {
	seen := map[disc]bool{}
	for _, r := range m.Rows {
		for _, e := range r.Cells {
			seen[discOf(e.Value)] = true
		}
	}
	var key []entry
	for _, k := range []struct {
		disc
		label string
	}{{filled, doc.KeyMeasured}, {grey, doc.KeyZero}, {hollow, doc.KeyBound}} {
		if seen[k.disc] {
			key = append(key, entry{k.label, func(c draw.Canvas, at vg.Point, st style) { drawDisc(c, at, st.size*0.4, k.disc, st) }})
		}
	}
	return key
}

type disc int

const (
	none disc = iota
	filled
	grey
	hollow
)

func discOf(e model.Estimate) disc {
	lo, hasLo := e.Lower()
	hi, hasHi := e.Upper()
	switch e.State() {
	case estimate.AtLeast, estimate.AtMost:
		return hollow
	case estimate.Measured, estimate.Range:
		if hasLo && hasHi && lo <= 0 && hi >= 0 {
			return grey
		}
		return filled
	}
	return none
}

func drawDisc(c draw.Canvas, at vg.Point, r vg.Length, d disc, st style) {
	switch d {
	case filled:
		c.SetColor(st.Near)
		c.Fill(circle(at, r))
	case grey:
		c.SetColor(st.Edge)
		c.Fill(circle(at, r))
	case hollow:
		stroke(c, circle(at, r), draw.LineStyle{Color: st.Near, Width: 1.4})
	}
}

func (m Matrix) paint(st style, c draw.Canvas) {
	rows := m.layOut(st, c.Size().X)
	centred, name := m.styles(st)
	down := func(heights float64) vg.Length { return c.Max.Y - st.size*vg.Length(heights) }
	across := func(column int) vg.Length { return c.Min.X + rows.width*(vg.Length(column)+0.5) }
	for i, lines := range rows.heads {
		for j, line := range lines {
			c.FillText(centred, vg.Point{X: across(i), Y: down(matrixLine * float64(j))}, line)
		}
	}
	for i, r := range m.Rows {
		top := rows.tops[i]
		c.StrokeLine2(draw.LineStyle{Color: st.Grid, Width: 1}, c.Min.X, down(top), c.Max.X, down(top))
		for j, line := range rows.names[i] {
			c.FillText(name, vg.Point{X: c.Min.X, Y: down(top + 0.2 + matrixLine*float64(j))}, line)
		}
		top += matrixLine * float64(len(rows.names[i]))
		for j, e := range r.Cells[:min(len(r.Cells), len(m.Columns))] {
			drawDisc(c, vg.Point{X: across(j), Y: down(top + 0.9)}, st.size*m.radius(e.Value), discOf(e.Value), st)
			said := e.Said
			if roomy(centred, said) > rows.width {
				said = e.Short
			}
			c.FillText(centred, vg.Point{X: across(j), Y: down(top + 1.75)}, said)
		}
	}
}

// size is what a disc's size goes by: the value, a bound, or a range's upper end.
func size(e model.Estimate) (float64, bool) {
	if v, ok := at(e); ok {
		return v, true
	}
	return e.Upper()
}

// radius grows with the value, from nothing seen to the largest in the matrix.
func (m Matrix) radius(e model.Estimate) vg.Length {
	const least, most = 0.16, 0.62
	top := 0.0
	for _, r := range m.Rows {
		for _, o := range r.Cells {
			if v, ok := size(o.Value); ok {
				top = math.Max(top, v)
			}
		}
	}
	v, ok := size(e)
	if !ok || top <= 0 {
		return least
	}
	return vg.Length(least + (most-least)*math.Max(0, math.Min(1, v/top)))
}
