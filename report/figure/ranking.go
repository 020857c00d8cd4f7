package figure

import (
	"fmt"
	"strings"

	"humdiff/report/result"
	"humdiff/report/words"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Ranking is the cables of a session in order, each with its estimate.
type Ranking struct {
	Title      string
	Desc       string   // for those who do not see it; what the order is goes after it
	Axis       string   // what is ranked, with its unit, e.g. "rise of hum, dB"
	Conditions []string // phrases for the caption
	Ranked     []Ranked // in the order to show them in, from the top
	Alike      [][2]int // spans of Ranked, first and last, that can't be told apart
}

// Ranked is one cable in a ranking.
type Ranked struct {
	Name  string
	Value Estimate
	Note  string // e.g. "4 runs"; may be empty
}

// Figure draws a ranking: a dot and its interval a cable, and a bar beside those
// that can't be told apart.
func (r Ranking) Figure() Figure {
	return Figure{"ranking", func(Options) content {
		return content{
			title: r.Title, desc: r.describe(), key: r.keys(), caption: r.Conditions,
			least: 4 + rankRow*float64(max(len(r.Ranked), 1)),
			paint: r.paint,
		}
	}}
}

// rankRow is the height of a cable's row, in heights of the axis text.
const rankRow = 2.7

func (r Ranking) describe() string {
	var said []string
	for i, k := range r.Ranked {
		said = append(said, fmt.Sprintf("%d: %s, %s", i+1, words.Verbatim(k.Name), k.Value.long()))
	}
	for _, a := range r.Alike {
		said = append(said, fmt.Sprintf("%d to %d can't be told apart", a[0]+1, a[1]+1))
	}
	return strings.TrimSpace(r.Desc + " " + r.Axis + ". " + strings.Join(said, "; ") + ".")
}

func (r Ranking) keys() []entry {
	states := map[string]bool{}
	for _, k := range r.Ranked {
		states[k.Value.State] = true
	}
	var key []entry
	add := func(state, label string, e Estimate) {
		if states[state] {
			key = append(key, entry{label, func(c draw.Canvas, at vg.Point, st style) {
				scale := func(v float64) vg.Length { return at.X + vg.Length(v)*st.size*0.7 }
				e.across(c, scale, at.Y, st)
			}})
		}
	}
	add(result.Measured, "value and its interval", Estimate{result.Measured, 0, -1, 1})
	add(result.AtLeast, "at least this much", Estimate{result.AtLeast, result.None, -0.6, result.None})
	add(result.AtMost, "at most this much", Estimate{result.AtMost, result.None, result.None, 0.6})
	if len(r.Alike) > 0 {
		key = append(key, entry{"can't be told apart", func(c draw.Canvas, at vg.Point, st style) {
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

func (r Ranking) paint(st style, c draw.Canvas) {
	columns := lanes(r.Alike)
	var values []Estimate
	for _, k := range r.Ranked {
		values = append(values, k.Value)
	}
	lane := st.size * 0.9
	c.Max.X -= lane * vg.Length(columns.count)
	lo, hi := rangeOf(values)
	n := float64(max(len(r.Ranked), 1))
	pl := axes(st, r.Axis, even(lo, hi, int(c.Size().X/(st.size*4)), 0.1), scale{lo: -n, hi: 0})
	pl.Y.LineStyle.Width = 0
	pl.Add(rows2D{st, r, columns, lane})
	pl.Draw(c)
}

// lanes puts spans that overlap beside each other.
func lanes(spans [][2]int) (l struct {
	of    []int // of each span
	count int
}) {
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

type rows2D struct {
	style
	Ranking
	lanes struct {
		of    []int
		count int
	}
	lane vg.Length
}

func (r rows2D) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	name := r.text(0.95, false, r.Ink)
	side := r.text(small, false, r.Soft)
	side.XAlign = text.XRight
	for i, k := range r.Ranked {
		top := y(-float64(i)) - r.size*0.25
		said := k.Value.long()
		if k.Note != "" {
			said += ", " + k.Note
		}
		label := fmt.Sprintf("%d  ", i+1)
		room := c.Size().X - roomy(side, said) - r.size - roomy(name, label)
		c.FillText(name, vg.Point{X: c.Min.X, Y: top}, label+cut(name, words.Verbatim(k.Name), room))
		c.FillText(side, vg.Point{X: c.Max.X, Y: top}, said)
		k.Value.across(c, x, top-r.size*1.65, r.style)
		rule := y(-float64(i + 1))
		c.StrokeLine2(draw.LineStyle{Color: r.Grid, Width: 1}, c.Min.X, rule, c.Max.X, rule)
	}
	for i, a := range r.Alike {
		at := c.Max.X + r.lane*(vg.Length(r.lanes.of[i])+0.8)
		bracket(c, at, y(-float64(a[1]+1))+r.size*0.3, y(-float64(a[0]))-r.size*0.3, r.style)
	}
}

// cut shortens a text to a width, with an ellipsis where something is lost.
func cut(sty text.Style, s string, width vg.Length) string {
	if roomy(sty, s) <= width {
		return s
	}
	all := []rune(s)
	for n := len(all) - 1; n > 0; n-- {
		if short := string(all[:n]) + "…"; roomy(sty, short) <= width {
			return short
		}
	}
	return "…"
}
