package figure

import (
	"image/color"
	"math"

	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Lines draws each line before and after: quiet's level and near's, joined by the
// way from one to the other, each with its interval where it was found and its
// upper limit, open with an arrow down, where it was not. Harmonics above the last
// that was found have no place in it; the caption says so.
func Lines(set model.Settings, p model.Pair) Figure {
	return Figure{Name: doc.LinesOf, of: func(o Options) content {
		set, p, step := oneScale(set, p)
		lv, shown := levelsFor(set, o), foundRows(p)
		last := max(10, len(shown))
		lo, hi := linesRange(shown)
		drawn := doc.Drawn{StepDB: step, Unit: lv.name(), Last: last}
		return content{FigureText: doc.LinesText(set, p, drawn), key: linesKey(shown),
			scales: func(st style, w, h vg.Length) (x, y scale) {
				return harmonics(last, int(w/(st.size*3.4))), lv.axis(lo, hi, rows(h, st))
			},
			plot: func(st style, c draw.Canvas, x, y axis) { dumbbells{st, lo, hi, y}.draw(c, shown, x) }}
	}}
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
	add := func(drawn bool, label string, mark marking, found bool) {
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

// marking draws a mark: full where something was found, else open.
type marking = func(c draw.Canvas, at vg.Point, st style, found bool)

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}

// levelMark is a mark of a level, or of a limit with the way to what lies below.
func levelMark(c draw.Canvas, at vg.Point, st style, mark marking, found bool) {
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
	lo, hi float64 // of the level axis: nothing is drawn outside
	y      axis
}

func (s dumbbells) draw(c draw.Canvas, shown []model.Row, x axis) {
	apart := x(2) - x(1)
	s.mark = min(s.mark, max(apart*0.24, 1.3))
	for _, l := range shown {
		from, to := x(float64(l.Harmonic))-apart*0.2, x(float64(l.Harmonic))+apart*0.2
		ofLine(c, l.Harmonic, func() {
			s.join(c, from, to, l)
			s.level(c, from, l.Quiet.Level, s.Edge, quietMark)
			s.level(c, to, l.Near.Level, s.Near, nearMark)
		})
	}
}

// join is the way from quiet to near: full where both were found, dashed where one
// is only bounded; none where neither was found.
func (s dumbbells) join(c draw.Canvas, from, to vg.Length, l model.Row) {
	quiet, hasQuiet := s.place(l.Quiet.Level)
	near, hasNear := s.place(l.Near.Level)
	found := bit(l.Quiet.Level.Measured()) + bit(l.Near.Level.Measured())
	if !hasQuiet || !hasNear || found == 0 {
		return
	}
	sty := draw.LineStyle{Color: s.Soft, Width: min(1, s.mark*0.5)}
	if found < 2 {
		sty.Dashes = []vg.Length{3, 2.5}
	}
	c.StrokeLine2(sty, from, s.y(quiet), to, s.y(near))
}

// place is where a level is drawn, where it is on the axis.
func (s dumbbells) place(e model.Estimate) (float64, bool) {
	v, ok := at(e)
	return v, ok && v >= s.lo && v <= s.hi
}

func (s dumbbells) level(c draw.Canvas, x vg.Length, e model.Estimate, ink color.Color, mark marking) {
	v, ok := s.place(e)
	if !ok {
		return
	}
	if lo, hi, whole := interval(e); whole && e.Measured() {
		c.StrokeLine2(draw.LineStyle{Color: ink, Width: min(1.4, s.mark*0.6)}, x, s.y(math.Max(lo, s.lo)), x, s.y(math.Min(hi, s.hi)))
	}
	levelMark(c, vg.Point{X: x, Y: s.y(v)}, s.style, mark, e.Measured())
}
