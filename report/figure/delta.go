package figure

import (
	"fmt"
	"math"

	"humdiff/report/result"
	"humdiff/report/words"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// HasDelta reports whether a pair has any delta or bound to draw.
func HasDelta(p result.Pair) bool {
	for _, l := range p.Lines {
		if _, ok := bound(l.Delta); ok {
			return true
		}
	}
	return false
}

// Delta draws near minus quiet of each line: a stem with its interval where it
// was measured, an open mark with an arrow where it is only bounded, and
// nothing where it is not measurable; how many those are is in the caption. It
// says something only of a pair that HasDelta.
func Delta(set result.Settings, p result.Pair) Figure {
	return Figure{"delta", func(o Options) content { return deltaContent(set, p, o) }}
}

func deltaContent(set result.Settings, p result.Pair, o Options) content {
	n := deltaCounts(p)
	f := content{
		title:   titled("Hum, near minus quiet, line by line", p),
		desc:    deltaDesc(set, p),
		yTitle:  fmt.Sprintf("delta, dB, with %s intervals from recording noise alone", words.Percent(set.Confidence)),
		key:     deltaKey(n),
		caption: append(conditions(p), deltaNotes(p, n)...),
	}
	f.paint = func(st style, c draw.Canvas) {
		w, h := c.Size().X, c.Size().Y
		last := lastHarmonic(p)
		lo, hi := deltaRange(p)
		pl := axes(st, "harmonic of the mains"+fundamental(p.Mains),
			harmonics(last, int(w/(st.size*3.4))),
			even(lo, hi, rows(h, st), 1))
		pl.Add(stems{st, p})
		pl.Draw(c)
	}
	return f
}

func fundamental(m result.PairMains) string {
	if !m.NominalHz.Ok() || m.NominalHz <= 0 {
		return ""
	}
	return fmt.Sprintf(" (1 is %s)", words.Hz(m.NominalHz))
}

type counts map[string]int

func deltaCounts(p result.Pair) counts {
	n := counts{}
	for _, l := range p.Lines {
		n[l.Delta.State]++
	}
	return n
}

func (n counts) String() string {
	return fmt.Sprintf("%d measured, %d at least, %d at most, %d not measurable",
		n[result.Measured], n[result.AtLeast], n[result.AtMost], n[result.NotMeasurable])
}

func deltaDesc(set result.Settings, p result.Pair) string {
	return fmt.Sprintf("Near minus quiet in decibels for each of %s: %s. %s",
		words.Count(len(p.Lines), "line"), deltaCounts(p), words.Headline(p, set))
}

func deltaNotes(p result.Pair, n counts) []string {
	notes := unsteady(p, "")
	if p.Hum.Delta.State != "" && p.Hum.Delta.State != result.NotMeasurable {
		notes = append(notes, fmt.Sprintf("hum total over %s: %s", words.Count(p.Hum.Lines, "line"), words.Delta(p.Hum.Delta)))
	}
	if left := n[result.NotMeasurable]; left > 0 {
		notes = append(notes, fmt.Sprintf("%s of %d not measurable and not drawn: found in neither capture",
			words.Count(left, "line"), len(p.Lines)))
	}
	return notes
}

func deltaKey(n counts) []entry {
	var key []entry
	add := func(state, label string, d result.Delta) {
		if n[state] > 0 {
			key = append(key, entry{label, func(c draw.Canvas, at vg.Point, st style) {
				at.Y -= st.size * 0.3 * vg.Length(arrowOf(d)) // so that mark and arrow together are centred
				stemMark(c, at, st, d)
			}})
		}
	}
	add(result.Measured, "measured", result.Delta{State: result.Measured})
	add(result.AtLeast, "at least this much", result.Delta{State: result.AtLeast})
	add(result.AtMost, "at most this much", result.Delta{State: result.AtMost})
	return key
}

// arrowOf is the way in which a delta may lie beyond its mark: 1 up, -1 down.
func arrowOf(d result.Delta) int {
	switch d.State {
	case result.AtLeast:
		return 1
	case result.AtMost:
		return -1
	}
	return 0
}

func stemMark(c draw.Canvas, at vg.Point, st style, d result.Delta) {
	way := vg.Length(arrowOf(d))
	if way == 0 {
		full(c, circle(at, st.mark), st.Near, st)
		return
	}
	arrow(c, at, way*st.size*0.9, st.size*0.22, draw.LineStyle{Color: st.Near, Width: 1.4})
	open(c, triangle(at, way*st.mark*1.1), st.Near, st)
}

// bound is the value at which a delta is drawn.
func bound(d result.Delta) (result.Num, bool) {
	v := map[string]result.Num{result.Measured: d.DB, result.AtLeast: d.LoDB, result.AtMost: d.HiDB}[d.State]
	return v, d.State != result.NotMeasurable && d.State != "" && v.Ok()
}

// lastHarmonic is the last that has a delta to draw, and 10 at least.
func lastHarmonic(p result.Pair) int {
	last := 10
	for _, l := range p.Lines {
		if _, ok := bound(l.Delta); ok {
			last = max(last, l.Harmonic)
		}
	}
	return last
}

// harmonics is an axis with the first harmonic and round ones labelled.
func harmonics(last, most int) scale {
	s := even(0, float64(last)+1, most, 1)
	s.lo, s.hi = 0, float64(last)+1
	s.ticks[0] = plot.Tick{Value: 1, Label: "1"}
	if len(s.ticks) > 1 && s.ticks[1].Value <= 2 {
		return scale{lo: s.lo, hi: s.hi, ticks: dropTwins(s.ticks)}
	}
	return s
}

// dropTwins keeps one tick at each value.
func dropTwins(ticks []plot.Tick) []plot.Tick {
	out := ticks[:1]
	for _, t := range ticks[1:] {
		if t.Value != out[len(out)-1].Value {
			out = append(out, t)
		}
	}
	return out
}

// deltaRange holds zero, all values and their intervals, and room for arrows.
func deltaRange(p result.Pair) (lo, hi float64) {
	for _, l := range p.Lines {
		v, ok := bound(l.Delta)
		if !ok {
			continue
		}
		for _, x := range []result.Num{v, l.Delta.LoDB, l.Delta.HiDB} {
			if x.Ok() {
				lo, hi = math.Min(lo, float64(x)), math.Max(hi, float64(x))
			}
		}
	}
	if lo == hi {
		return -10, 10
	}
	room := math.Max(0.08*(hi-lo), 1)
	return lo - room, hi + room
}

type stems struct {
	style
	pair result.Pair
}

func (s stems) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	c.StrokeLine2(draw.LineStyle{Color: s.Ink, Width: 1}, c.Min.X, y(0), c.Max.X, y(0))
	apart := x(2) - x(1)
	s.mark, s.line = min(s.mark, max(apart*0.42, 1.7)), min(s.line, max(apart*0.4, 0.5))
	for _, l := range s.pair.Lines {
		if v, ok := bound(l.Delta); ok {
			ofLine(c, l.Harmonic, func() { s.stem(c, x(float64(l.Harmonic)), y, float64(v), l.Delta) })
		}
	}
}

func (s stems) stem(c draw.Canvas, x vg.Length, y func(float64) vg.Length, v float64, d result.Delta) {
	stem := draw.LineStyle{Color: s.Quiet, Width: s.line * 1.6}
	if d.State != result.Measured {
		stem.Dashes = []vg.Length{3, 2.5}
	}
	c.StrokeLine2(stem, x, y(0), x, y(v))
	if d.State == result.Measured && d.LoDB.Ok() && d.HiDB.Ok() {
		lo, hi, half := y(float64(d.LoDB)), y(float64(d.HiDB)), s.mark*0.7
		var interval vg.Path
		for _, ends := range [][2]vg.Point{{{X: x, Y: lo}, {X: x, Y: hi}}, {{X: x - half, Y: lo}, {X: x + half, Y: lo}}, {{X: x - half, Y: hi}, {X: x + half, Y: hi}}} {
			interval.Move(ends[0])
			interval.Line(ends[1])
		}
		stroke(c, interval, draw.LineStyle{Color: s.Near, Width: min(1.4, s.mark*0.5)})
	}
	stemMark(c, vg.Point{X: x, Y: y(v)}, s.style, d)
}
