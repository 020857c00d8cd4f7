package figure

import (
	"fmt"
	"math"
	"slices"

	"humdiff/fft/estimate"
	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

const (
	// trendLines is how many chosen lines are drawn; more can't be told apart.
	trendLines = 3
	// trendColumns is how many points of a curve a figure shows at most.
	trendColumns = 1200
)

// Trend draws hum against time: its total as a line, chosen lines as thinner
// ones, upper limits where it wasn't seen, and below them, numbered, the
// spans in which it is steady.
func Trend(set model.Settings, c model.TrendCapture) Figure {
	return Figure{Name: "trend", of: func(o Options) content {
		lv := levelsFor(set, o)
		return content{FigureText: doc.TrendText(set, c, doc.Drawn{Unit: lv.name()}, trendLines), key: trendKey(c),
			scales: func(st style, w, h vg.Length) (x, y scale) {
				lo, hi := trendRange(c)
				return even(c.StartS, math.Max(c.EndS, c.StartS+1e-3), columns(w, st), 1e-3), lv.axis(lo, hi, rows(h, st))
			},
			plot: func(st style, cv draw.Canvas, x, y axis) { trendPlot{st, c, x, y}.draw(cv) }}
	}}
}

func trendKey(c model.TrendCapture) []entry {
	var found, below bool
	for _, s := range c.Steps {
		found, below = found || s.Hum.Measured(), below || s.Hum.State() == estimate.AtMost
	}
	var key []entry
	if found {
		key = append(key, entry{doc.KeyHum, lineSwatch})
	}
	if below {
		key = append(key, entry{doc.KeyLimit, func(cv draw.Canvas, at vg.Point, st style) {
			open(cv, circle(at, st.mark*0.7), st.Near, st)
		}})
	}
	for i, h := range c.Harmonics {
		if i < trendLines {
			key = append(key, entry{doc.KeyHarmonic(h), func(cv draw.Canvas, at vg.Point, st style) {
				cv.StrokeLine2(trendStyle(st, i), at.X-st.size*0.9, at.Y, at.X+st.size*0.9, at.Y)
			}})
		}
	}
	if slices.ContainsFunc(c.Spans, func(x model.TrendSpan) bool { return added(x).Known() }) {
		key = append(key, entry{doc.KeyAdded(c), func(cv draw.Canvas, at vg.Point, st style) {
			cv.StrokeLine2(draw.LineStyle{Color: st.Ink, Width: st.line * 2}, at.X-st.size*0.9, at.Y, at.X+st.size*0.9, at.Y)
		}})
	}
	return key
}

// added is what a reference shows to have come since the first span, in dBFS.
func added(x model.TrendSpan) model.Estimate {
	if x.Referred == nil {
		return model.Estimate{}
	}
	return doc.AmplitudeLevel(x.Referred.Added)
}

// trendStyle is how the i-th chosen line is drawn: full, dashed, dotted.
func trendStyle(st style, i int) draw.LineStyle {
	dashes := [trendLines][]vg.Length{nil, {st.size * 0.5, st.size * 0.3}, {st.size * 0.12, st.size * 0.25}}
	return draw.LineStyle{Color: st.Ink, Width: 1, Dashes: dashes[i%trendLines]}
}

// trendRange is the range of all that is drawn, in dBFS.
func trendRange(c model.TrendCapture) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	take := func(l model.Estimate) {
		if v, ok := at(l); ok {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	for _, s := range c.Steps {
		take(s.Hum)
		for i, l := range s.Lines {
			if i < trendLines {
				take(l)
			}
		}
	}
	for _, x := range c.Spans {
		take(added(x))
	}
	if lo > hi {
		return -160, -100
	}
	// Room below for the bars, of a tenth of the height.
	lo, hi = lo-2, hi+3
	return math.Floor((lo-(hi-lo)/8)/5) * 5, math.Ceil(hi/5) * 5
}

type trendPlot struct {
	style
	c    model.TrendCapture
	x, y axis
}

func (s trendPlot) draw(c draw.Canvas) {
	for i := range min(trendLines, len(s.c.Harmonics)) {
		s.curve(c, trendStyle(s.style, i), func(t model.TrendStep) model.Estimate { return t.Lines[i] })
	}
	s.curve(c, draw.LineStyle{Color: s.Near, Width: s.line * 1.2}, func(t model.TrendStep) model.Estimate { return t.Hum })
	s.limits(c)
	s.added(c)
	s.bars(c)
}

// added draws what came since the first span as a bar over each span, with its interval;
// where it is at most this much, an arrow.
func (s trendPlot) added(c draw.Canvas) {
	for _, span := range s.c.Spans {
		e := added(span)
		v, ok := at(e)
		if !ok {
			continue
		}
		from, to := s.x(float64(span.StartS)), s.x(float64(span.EndS))
		middle := vg.Point{X: (from + to) / 2, Y: s.y(v)}
		c.StrokeLine2(draw.LineStyle{Color: s.Ink, Width: s.line * 2}, from+1, middle.Y, to-1, middle.Y)
		if _, lo, hi := e.Numbers(); e.Measured() {
			stroke(c, whiskers(vg.Point{X: middle.X, Y: s.y(lo)}, vg.Point{X: middle.X, Y: s.y(hi)}, s.mark*0.7), draw.LineStyle{Color: s.Ink, Width: 1})
		} else {
			arrow(c, middle, -s.size*0.8, s.mark*0.7, draw.LineStyle{Color: s.Ink, Width: 1})
		}
	}
}

// curve draws the found levels of steps; where there are more steps than a figure
// shows, the lowest and the highest of each column.
func (s trendPlot) curve(c draw.Canvas, sty draw.LineStyle, of func(model.TrendStep) model.Estimate) {
	var run []vg.Point
	end := func() {
		if len(run) > 1 {
			c.StrokeLines(sty, run)
		}
		run = nil
	}
	each := max(1, (len(s.c.Steps)+trendColumns-1)/trendColumns)
	for steps := range slices.Chunk(s.c.Steps, each) {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, t := range steps {
			if v, ok := of(t).Value(); ok {
				lo, hi = math.Min(lo, v), math.Max(hi, v)
			}
		}
		if lo > hi {
			end()
			continue
		}
		at := s.x(float64(steps[0].StartS) + float64(each)*float64(s.c.StepS)/2)
		run = append(run, vg.Point{X: at, Y: s.y(hi)})
		if lo < hi {
			run = append(run, vg.Point{X: at, Y: s.y(lo)})
		}
	}
	end()
}

// limits marks steps in which no hum was found, no closer than their marks are
// wide: the highest limit of those that one mark stands for.
func (s trendPlot) limits(c draw.Canvas) {
	next, highest := vg.Length(math.Inf(-1)), math.Inf(-1)
	for _, t := range s.c.Steps {
		limit, ok := t.Hum.Upper()
		if !ok || t.Hum.Measured() {
			continue
		}
		highest = max(highest, limit)
		at := s.x(float64(t.StartS + s.c.StepS/2))
		if at < next {
			continue
		}
		open(c, circle(vg.Point{X: at, Y: s.y(highest)}, s.mark*0.7), s.Near, s.style)
		next, highest = at+s.mark*2.4, math.Inf(-1)
	}
}

// bars draws the still spans along the bottom, each with its number where there
// is room.
func (s trendPlot) bars(c draw.Canvas) {
	at := c.Min.Y + s.size*0.5
	text := s.text(0.85, false, s.Soft)
	for i, span := range s.c.Spans {
		if span.State != model.Still {
			continue
		}
		from, to := s.x(float64(span.StartS)), s.x(float64(span.EndS))
		width := s.line * 1.5
		if i == s.c.Loudest {
			width = s.line * 4
		}
		c.StrokeLine2(draw.LineStyle{Color: s.Edge, Width: width}, from+1, at, to-1, at)
		if label := fmt.Sprint(i + 1); to-from > text.Width(label)*1.5 {
			text.XAlign, text.YAlign = draw.XCenter, draw.YBottom
			c.FillText(text, vg.Point{X: (from + to) / 2, Y: at + s.size*0.35}, label)
		}
	}
}
