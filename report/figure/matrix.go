package figure

import (
	"fmt"
	"math"
	"strings"

	"humdiff/report/words"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Matrix is what each cable did under each exposure.
type Matrix struct {
	Title      string
	Desc       string
	Axis       string   // what stands in the cells, with its unit
	Conditions []string // phrases for the caption
	Columns    []string // exposures
	Rows       []MatrixRow
}

// MatrixRow is a cable's cells, one for each column; the zero Estimate stands for
// no run.
type MatrixRow struct {
	Name  string
	Cells []Estimate
}

// Figure draws a matrix: in each cell the value, and a disc the larger the higher
// it is. Discs are grey where the interval holds zero, and open where there is
// only a bound.
func (m Matrix) Figure() Figure {
	return Figure{"matrix", func(Options) content {
		return content{
			title: m.Title, desc: m.describe(), yTitle: m.Axis, key: m.keys(),
			caption: append(m.numberedColumns(), m.Conditions...),
			least:   matrixHead + matrixRow*float64(max(len(m.Rows), 1)),
			paint:   m.paint,
		}
	}}
}

// Heights in heights of the axis text.
const (
	matrixHead = 1.6
	matrixRow  = 4.4
)

func (m Matrix) describe() string {
	var said []string
	for _, r := range m.Rows {
		var cells []string
		for i, e := range r.Cells[:min(len(r.Cells), len(m.Columns))] {
			cells = append(cells, words.Verbatim(m.Columns[i])+" "+e.cell())
		}
		said = append(said, words.Verbatim(r.Name)+": "+strings.Join(cells, ", "))
	}
	return strings.TrimSpace(m.Desc + " " + m.Axis + ". " + strings.Join(said, "; ") + ".")
}

// numberedColumns says what the numbers above the columns stand for.
func (m Matrix) numberedColumns() []string {
	var out []string
	for i, c := range m.Columns {
		out = append(out, fmt.Sprintf("%d: %s", i+1, words.Verbatim(c)))
	}
	if len(out) > 0 {
		out[0] = "Columns: " + out[0]
	}
	return out
}

// cell is an estimate in a cell.
func (e Estimate) cell() string {
	if e.State == "" {
		return "no run"
	}
	return e.short()
}

func (m Matrix) keys() []entry {
	seen := map[disc]bool{}
	for _, r := range m.Rows {
		for _, e := range r.Cells {
			seen[discOf(e)] = true
		}
	}
	var key []entry
	for _, k := range []struct {
		disc
		label string
	}{{filled, "measured"}, {grey, "interval holds zero"}, {hollow, "only a bound"}} {
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

func discOf(e Estimate) disc {
	switch _, way, ok := e.at(); {
	case !ok:
		return none
	case way != 0:
		return hollow
	case e.Lo.Ok() && e.Hi.Ok() && e.Lo <= 0 && e.Hi >= 0:
		return grey
	}
	return filled
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
	columns := max(len(m.Columns), 1)
	width := c.Size().X / vg.Length(columns)
	head := st.size * matrixHead
	row := min(max((c.Size().Y-head)/vg.Length(max(len(m.Rows), 1)), st.size*matrixRow), st.size*matrixRow*1.4)
	centred := st.text(0.9, false, st.Ink)
	centred.XAlign = text.XCenter
	for i, h := range m.headings(centred, width) {
		c.FillText(centred, vg.Point{X: c.Min.X + width*(vg.Length(i)+0.5), Y: c.Max.Y}, h)
	}
	name := st.text(0.95, true, st.Ink)
	for i, r := range m.Rows {
		top := c.Max.Y - head - row*vg.Length(i)
		c.StrokeLine2(draw.LineStyle{Color: st.Grid, Width: 1}, c.Min.X, top, c.Max.X, top)
		c.FillText(name, vg.Point{X: c.Min.X, Y: top - st.size*0.25}, cut(name, words.Verbatim(r.Name), c.Size().X))
		for j, e := range r.Cells[:min(len(r.Cells), len(m.Columns))] {
			at := vg.Point{X: c.Min.X + width*(vg.Length(j)+0.5), Y: top - st.size*2.3}
			drawDisc(c, at, st.size*m.radius(e), discOf(e), st)
			c.FillText(centred, vg.Point{X: at.X, Y: top - st.size*3.1}, cut(centred, e.tight(centred, width), width))
		}
	}
}

// headings are the columns' names with their numbers, or the numbers alone where
// a name doesn't fit.
func (m Matrix) headings(sty text.Style, width vg.Length) []string {
	var whole, numbers []string
	fits := true
	for i, c := range m.Columns {
		numbers = append(numbers, fmt.Sprint(i+1))
		whole = append(whole, numbers[i]+": "+words.Verbatim(c))
		fits = fits && roomy(sty, whole[i]) <= width-sty.Font.Size
	}
	if fits {
		return whole
	}
	return numbers
}

// tight is a cell's text, with signs for words where there is little room.
func (e Estimate) tight(sty text.Style, width vg.Length) string {
	said := e.cell()
	if roomy(sty, said) <= width {
		return said
	}
	if e.State == "" {
		return "-"
	}
	return strings.NewReplacer("at least ", "≥ ", "at most ", "≤ ", "not measurable", "-").Replace(said)
}

// radius grows with the value, from nothing seen to the largest in the matrix.
func (m Matrix) radius(e Estimate) vg.Length {
	const least, most = 0.16, 0.62
	top := 0.0
	for _, r := range m.Rows {
		for _, o := range r.Cells {
			if v, _, ok := o.at(); ok {
				top = math.Max(top, float64(v))
			}
		}
	}
	v, _, ok := e.at()
	if !ok || top <= 0 {
		return least
	}
	return vg.Length(least + (most-least)*math.Max(0, math.Min(1, float64(v)/top)))
}
