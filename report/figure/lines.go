package figure

import (
	"fmt"
	"image/color"
	"math"

	"humdiff/report/result"
	"humdiff/report/words"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// HasLines reports whether a line was found in either capture of a pair.
func HasLines(p result.Pair) bool {
	n := words.CountLines(p)
	return n.Both+n.NearOnly+n.QuietOnly > 0
}

// Lines draws the level of each line in both captures, with its interval where
// it was found and its detection limit, open with an arrow down, where it was
// not. Harmonics above the last that was found have no place in it; the caption
// says so.
func Lines(set result.Settings, p result.Pair) Figure {
	return Figure{"lines", func(o Options) content { return linesContent(set, p, o) }}
}

func linesContent(set result.Settings, p result.Pair, o Options) content {
	set, p, scales := oneScale(set, p)
	lv := levelsFor(set, o)
	last := lastFound(p)
	f := content{
		title:   titled("Hum lines, quiet and near", p),
		desc:    linesDesc(set, p),
		yTitle:  fmt.Sprintf("level, %s, with %s intervals from recording noise alone", lv.name(), words.Percent(set.Confidence)),
		key:     linesKey(p, last),
		caption: append(append(conditions(p), linesNotes(p, last)...), scales...),
	}
	if o.Level != [2]float64{} {
		f.caption = append(f.caption, "a part of the axis: what lies outside is not drawn")
	}
	f.paint = func(st style, c draw.Canvas) {
		w, h := c.Size().X, c.Size().Y
		lo, hi := lv.within(linesRange(p, last))
		pl := axes(st, "harmonic of the mains"+fundamental(p.Mains),
			harmonics(last, int(w/(st.size*3.4))), lv.axis(lo, hi, rows(h, st)))
		pl.Add(levelMarks{st, p, last, lo, hi})
		pl.Draw(c)
	}
	return f
}

// lastFound is the last harmonic that was found in either, and 10 at least.
func lastFound(p result.Pair) int {
	last := 10
	for _, l := range p.Lines {
		if l.Near.State == result.Detected || l.Quiet.State == result.Detected {
			last = max(last, l.Harmonic)
		}
	}
	return last
}

func linesDesc(set result.Settings, p result.Pair) string {
	said := "Level of each line in quiet (squares) and near (circles)."
	for _, s := range append([]string{words.Headline(p, set)}, words.LineCounts(p)...) {
		said += " " + s
	}
	return said
}

func linesNotes(p result.Pair, last int) []string {
	notes := unsteady(p, "")
	beyond := 0
	for _, l := range p.Lines {
		if l.Harmonic > last {
			beyond++
		}
	}
	if beyond > 0 {
		notes = append(notes, fmt.Sprintf("%s above harmonic %d not drawn: found in neither capture", words.Count(beyond, "line"), last))
	}
	return notes
}

// linesKey explains the marks that are drawn up to a harmonic.
func linesKey(p result.Pair, last int) []entry {
	drawn := map[string]bool{}
	for _, l := range p.Lines {
		if l.Harmonic <= last {
			drawn["quiet "+l.Quiet.State], drawn["near "+l.Near.State] = true, true
		}
	}
	var key []entry
	add := func(which, label string, mark func(draw.Canvas, vg.Point, style, bool), found bool) {
		if drawn[which] {
			key = append(key, entry{label, func(c draw.Canvas, at vg.Point, st style) { levelMark(c, at, st, mark, found) }})
		}
	}
	add("quiet "+result.Detected, "quiet", quietMark, true)
	add("near "+result.Detected, "near", nearMark, true)
	add("quiet "+result.Undetected, "not found in quiet: below this limit", quietMark, false)
	add("near "+result.Undetected, "not found in near: below this limit", nearMark, false)
	return key
}

// levelMark is a mark of a level, or of a limit with the way to what lies below.
func levelMark(c draw.Canvas, at vg.Point, st style, mark func(draw.Canvas, vg.Point, style, bool), found bool) {
	if !found {
		arrow(c, at, -st.mark*2.6, st.mark*0.8, draw.LineStyle{Color: st.Soft, Width: min(1.2, st.mark*0.5)})
	}
	mark(c, at, st, found)
}

// levelOf is the value at which a line is drawn: its level, or its limit.
func levelOf(l result.Line) result.Num {
	if l.State == result.Detected {
		return l.DBFS
	}
	return l.LimitDBFS
}

// linesRange holds all levels, intervals and limits up to a harmonic, to whole
// tens.
func linesRange(p result.Pair, last int) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, l := range p.Lines {
		if l.Harmonic > last {
			continue
		}
		for _, s := range []result.Line{l.Quiet, l.Near} {
			take := []result.Num{levelOf(s)}
			if s.State == result.Detected {
				take = append(take, s.LoDBFS, s.HiDBFS)
			}
			for _, v := range take {
				if v.Ok() {
					lo, hi = math.Min(lo, float64(v)), math.Max(hi, float64(v))
				}
			}
		}
	}
	if lo > hi {
		return -160, -60
	}
	return 10 * math.Floor((lo-4)/10), 10 * math.Ceil((hi+1)/10)
}

// levelMarks draws quiet left and near right of each harmonic's place.
type levelMarks struct {
	style
	pair   result.Pair
	last   int
	lo, hi float64 // of the level axis: nothing is drawn outside
}

func (s levelMarks) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	apart := x(2) - x(1)
	s.mark = min(s.mark, max(apart*0.24, 1.3))
	for _, l := range s.pair.Lines {
		if l.Harmonic > s.last {
			continue
		}
		at := x(float64(l.Harmonic))
		ofLine(c, l.Harmonic, func() {
			s.level(c, at-apart*0.2, y, l.Quiet, s.Edge, quietMark)
			s.level(c, at+apart*0.2, y, l.Near, s.Near, nearMark)
		})
	}
}

func (s levelMarks) level(c draw.Canvas, x vg.Length, y func(float64) vg.Length, l result.Line, ink color.Color,
	mark func(draw.Canvas, vg.Point, style, bool)) {
	v := levelOf(l)
	if !v.Ok() || float64(v) < s.lo || float64(v) > s.hi {
		return
	}
	found := l.State == result.Detected
	if found && l.LoDBFS.Ok() && l.HiDBFS.Ok() {
		lo, hi := math.Max(float64(l.LoDBFS), s.lo), math.Min(float64(l.HiDBFS), s.hi)
		c.StrokeLine2(draw.LineStyle{Color: ink, Width: min(1.4, s.mark*0.6)}, x, y(lo), x, y(hi))
	}
	levelMark(c, vg.Point{X: x, Y: y(float64(v))}, s.style, mark, found)
}
