package figure

import (
	"image/color"
	"math"

	"humdiff/fft/estimate"
	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// HasLines reports whether a line was found in either capture of a pair.
func HasLines(p model.Pair) bool {
	n := doc.CountLines(p)
	return n.Both+n.NearOnly+n.QuietOnly > 0
}

// Lines draws each line before and after: quiet's level and near's, joined by the
// way from one to the other, each with its interval where it was found and its
// upper limit, open with an arrow down, where it was not. Harmonics above the last
// that was found have no place in it; the caption says so.
func Lines(set model.Settings, p model.Pair) Figure {
	return Figure{Name: "lines", of: func(o Options) content { return linesContent(set, p, o) }}
}

func linesContent(set model.Settings, p model.Pair, o Options) content {
	set, p, step := oneScale(set, p)
	lv := levelsFor(set, o)
	shown := foundRows(p)
	last := max(10, len(shown))
	drawn := doc.Drawn{StepDB: step, Unit: lv.name(), Part: o.Level != [2]float64{}, Last: last}
	f := content{FigureText: doc.LinesText(set, p, drawn), key: linesKey(shown)}
	f.paint = func(st style, c draw.Canvas) {
		w, h := c.Size().X, c.Size().Y
		lo, hi := lv.within(linesRange(shown))
		pl := axes(st, f.X, harmonics(last, int(w/(st.size*3.4))), lv.axis(lo, hi, rows(h, st)))
		pl.Add(dumbbells{st, shown, lo, hi})
		pl.Draw(c)
	}
	return f
}

// foundRows are the rows up to the last harmonic that was found in either capture,
// and up to the tenth at least.
func foundRows(p model.Pair) []model.Row {
	all := p.Rows()
	last := min(10, len(all))
	for i, l := range all {
		if l.Near.Level.Measured() || l.Quiet.Level.Measured() {
			last = max(last, i+1)
		}
	}
	return all[:last]
}

// linesKey explains the marks that are drawn.
func linesKey(shown []model.Row) []entry {
	var quiet, near [2]bool // not found, found
	for _, l := range shown {
		for _, side := range []struct {
			model.Line
			has *[2]bool
		}{{l.Quiet, &quiet}, {l.Near, &near}} {
			if _, ok := at(side.Level); ok {
				side.has[bit(side.Level.Measured())] = true
			}
		}
	}
	var key []entry
	add := func(drawn bool, label string, mark func(draw.Canvas, vg.Point, style, bool), found bool) {
		if drawn {
			key = append(key, entry{label, func(c draw.Canvas, at vg.Point, st style) { levelMark(c, at, st, mark, found) }})
		}
	}
	add(quiet[1], doc.KeyQuiet, quietMark, true)
	add(near[1], doc.KeyNear, nearMark, true)
	add(quiet[0], doc.KeyLimitQuiet, quietMark, false)
	add(near[0], doc.KeyLimitNear, nearMark, false)
	return key
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}

// levelMark is a mark of a level, or of a limit with the way to what lies below.
func levelMark(c draw.Canvas, at vg.Point, st style, mark func(draw.Canvas, vg.Point, style, bool), found bool) {
	if !found {
		arrow(c, at, -st.mark*2.6, st.mark*0.8, draw.LineStyle{Color: st.Soft, Width: min(1.2, st.mark*0.5)})
	}
	mark(c, at, st, found)
}

// linesRange holds all levels, intervals and limits, to whole tens.
func linesRange(shown []model.Row) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, l := range shown {
		lo, hi = spread(lo, hi, l.Quiet.Level)
		lo, hi = spread(lo, hi, l.Near.Level)
	}
	if lo > hi {
		return -160, -60
	}
	return 10 * math.Floor((lo-4)/10), 10 * math.Ceil((hi+1)/10)
}

// harmonics is an axis with the first harmonic and round ones labelled.
func harmonics(last, most int) scale {
	s := even(0, float64(last)+1, most, 1)
	s.lo, s.hi = 0, float64(last)+1
	s.ticks[0] = plot.Tick{Value: 1, Label: "1"}
	if len(s.ticks) > 1 && s.ticks[1].Value == 1 {
		s.ticks = s.ticks[1:]
	}
	return s
}

// dumbbells draws quiet left and near right of each harmonic's place, and what
// joins them.
type dumbbells struct {
	style
	shown  []model.Row
	lo, hi float64 // of the level axis: nothing is drawn outside
}

func (s dumbbells) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	apart := x(2) - x(1)
	s.mark = min(s.mark, max(apart*0.24, 1.3))
	for _, l := range s.shown {
		middle := x(float64(l.Harmonic))
		ofLine(c, l.Harmonic, func() {
			s.join(c, middle-apart*0.2, middle+apart*0.2, y, l)
			s.level(c, middle-apart*0.2, y, l.Quiet.Level, s.Edge, quietMark)
			s.level(c, middle+apart*0.2, y, l.Near.Level, s.Near, nearMark)
		})
	}
}

// join is the way from quiet to near: full where both were found, dashed where one
// is only bounded; none where neither was found.
func (s dumbbells) join(c draw.Canvas, from, to vg.Length, y func(float64) vg.Length, l model.Row) {
	quiet, hasQuiet := s.place(l.Quiet.Level)
	near, hasNear := s.place(l.Near.Level)
	both := l.Quiet.Level.Measured() && l.Near.Level.Measured()
	if !hasQuiet || !hasNear || !l.Quiet.Level.Measured() && !l.Near.Level.Measured() {
		return
	}
	sty := draw.LineStyle{Color: s.Soft, Width: min(1, s.mark*0.5)}
	if !both {
		sty.Dashes = []vg.Length{3, 2.5}
	}
	c.StrokeLine2(sty, from, y(quiet), to, y(near))
}

// place is where a level is drawn, where it is on the axis.
func (s dumbbells) place(e model.Estimate) (float64, bool) {
	v, ok := at(e)
	return v, ok && v >= s.lo && v <= s.hi
}

func (s dumbbells) level(c draw.Canvas, x vg.Length, y func(float64) vg.Length, e model.Estimate, ink color.Color,
	mark func(draw.Canvas, vg.Point, style, bool)) {
	v, ok := s.place(e)
	if !ok {
		return
	}
	lo, hasLo := e.Lower()
	hi, hasHi := e.Upper()
	if e.State() == estimate.Measured && hasLo && hasHi {
		c.StrokeLine2(draw.LineStyle{Color: ink, Width: min(1.4, s.mark*0.6)}, x, y(math.Max(lo, s.lo)), x, y(math.Min(hi, s.hi)))
	}
	levelMark(c, vg.Point{X: x, Y: y(v)}, s.style, mark, e.Measured())
}
