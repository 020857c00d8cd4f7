package figure

import (
	"math"
	"slices"
	"sort"

	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Spectrum draws the averaged spectra of a pair over log frequency: quiet as a
// filled area, near as a line in a pale band of its extremes, the lines that were
// found marked with their harmonic, the strongest line's rise, on request the upper
// limits of lines that were not found as open marks; dotted below, what the
// instrument adds by itself, where that was recorded.
func Spectrum(set model.Settings, p model.Pair) Figure {
	return Figure{Name: doc.SpectrumOf, of: func(o Options) content { return spectrumContent(set, p, o) }}
}

func spectrumContent(set model.Settings, p model.Pair, o Options) content {
	set, p, step := oneScale(set, p)
	var residual model.Trace // none
	if p.Residual != nil {
		residual = p.Residual.Trace
	}
	lv := levelsFor(set, o)
	drawn := doc.Drawn{StepDB: step, Unit: lv.name(), Part: o.part(), BelowTrace: belowTrace(p), Limits: o.Limits && hasLimits(p)}
	f := content{FigureText: doc.SpectrumText(set, p, drawn), key: []entry{{doc.KeyQuiet, areaSwatch}, {doc.KeyNear, bandSwatch}}}
	if drawn.Limits {
		f.key = append(f.key, entry{doc.KeyLimit, func(c draw.Canvas, at vg.Point, st style) { nearMark(c, at, st, false) }})
	}
	if entries(residual) > 0 {
		f.key = append(f.key, entry{doc.KeyResidual, func(c draw.Canvas, at vg.Point, st style) {
			c.StrokeLine2(residualLine(st), at.X-st.size*0.8, at.Y, at.X+st.size*0.8, at.Y)
		}})
	}
	hz := [2]float64{20, topHz(p)}
	if o.Hz[0] < o.Hz[1] {
		hz = o.Hz
	}
	lo, hi := lv.within(levelRange(p, residual))
	f.scales = func(st style, w, h vg.Length) (x, y scale) {
		return logHz(hz[0], hz[1], w-st.size*4, st.size), lv.axis(lo, hi, rows(h, st))
	}
	f.plot = func(st style, c draw.Canvas, x, y axis) {
		spectrum{st, part(p.Quiet.Trace, hz), part(p.Near.Trace, hz), part(residual, hz), lineMarks(p, hz, lo, hi, o.Limits), toneMarks(p.Near, hz)}.draw(c,
			func(f, db model.Num) vg.Point {
				return vg.Point{X: x(math.Min(math.Max(float64(f), hz[0]), hz[1])), Y: y(math.Min(math.Max(float64(db), lo), hi))}
			})
	}
	return f
}

// lineMark is where the lines of a harmonic stand in the drawing; a level that is
// outside of the axes, or isn't there, is None.
type lineMark struct {
	harmonic          int
	label             string
	quietHz, nearHz   model.Num
	quiet, near       model.Num // levels found
	quietLim, nearLim model.Num // limits to show
	delta             string    // empty: not known by both levels
}

// lineMarks are those of a pair within the axes.
func lineMarks(p model.Pair, hz [2]float64, lo, hi float64, limits bool) (all []lineMark) {
	show := func(v float64, ok bool) model.Num {
		if !ok || v < lo || v > hi {
			return model.None
		}
		return model.Num(v)
	}
	for _, l := range p.Rows() {
		if at := float64(l.Hz); !(at >= hz[0] && at <= hz[1]) {
			continue
		}
		m := lineMark{harmonic: l.Harmonic, label: doc.HarmonicLabel(l), quietHz: l.LineHz(p.Quiet.Mains.Hz), nearHz: l.LineHz(p.Near.Mains.Hz),
			quiet: show(l.Quiet.Level.Value()), near: show(l.Near.Level.Value()), quietLim: model.None, nearLim: model.None}
		if m.quiet.Ok() && m.near.Ok() && l.Delta.Measured() {
			m.delta = doc.PostedDelta(l.Delta) + " dB"
		}
		if !limits {
		} else if !l.Near.Level.Measured() {
			m.nearLim = show(l.Near.Level.Upper())
		} else if !l.Quiet.Level.Measured() {
			m.quietLim = show(l.Quiet.Level.Upper())
		}
		all = append(all, m)
	}
	return all
}

// mostTones is how many tones are labelled, the strongest.
const mostTones = 6

// toneMarks are the strongest tones within the axes, with their frequencies.
func toneMarks(c model.Capture, hz [2]float64) (all []model.Tone) {
	for _, t := range c.Tones {
		if t.Hz >= hz[0] && t.Hz <= hz[1] && t.DBFS.Ok() && len(all) < mostTones {
			all = append(all, t)
		}
	}
	return all
}

// part is a trace's part of the frequency axis.
func part(t model.Trace, hz [2]float64) model.Trace {
	from, to := 0, entries(t)
	for from < to && float64(t.Hz[from]) < hz[0] {
		from++
	}
	for to > from && float64(t.Hz[to-1]) > hz[1] {
		to--
	}
	t.Hz, t.LoDBFS, t.MeanDBFS, t.HiDBFS = t.Hz[from:to], t.LoDBFS[from:to], t.MeanDBFS[from:to], t.HiDBFS[from:to]
	return t
}

func residualLine(st style) draw.LineStyle {
	return draw.LineStyle{Color: st.Ink, Width: st.line, Dashes: []vg.Length{st.line, st.line * 1.8}}
}

// belowTrace says whether a line that was found is marked below the trace of its
// own capture.
func belowTrace(p model.Pair) bool {
	return slices.ContainsFunc(p.Rows(), func(l model.Row) bool {
		return isBelow(p.Near.Trace, l.Near, l.LineHz(p.Near.Mains.Hz)) || isBelow(p.Quiet.Trace, l.Quiet, l.LineHz(p.Quiet.Mains.Hz))
	})
}

func isBelow(t model.Trace, l model.Line, hz model.Num) bool {
	n := entries(t)
	v, found := l.Level.Value()
	if !found || !hz.Ok() || n == 0 {
		return false
	}
	i := sort.Search(n, func(i int) bool { return t.Hz[i] >= hz })
	if i == n || i > 0 && hz-t.Hz[i-1] < t.Hz[i]-hz {
		i--
	}
	return t.LoDBFS[i].Ok() && v < float64(t.LoDBFS[i])
}

// hasLimits says whether drawLimits has any limit to mark.
func hasLimits(p model.Pair) bool {
	return slices.ContainsFunc(p.Rows(), func(l model.Row) bool {
		_, near := l.Near.Level.Upper()
		_, quiet := l.Quiet.Level.Upper()
		return !l.Near.Level.Measured() && near || l.Near.Level.Measured() && !l.Quiet.Level.Measured() && quiet
	})
}

func nearMark(c draw.Canvas, at vg.Point, st style, found bool) {
	if found {
		full(c, circle(at, st.mark), st.Near, st)
		return
	}
	open(c, circle(at, st.mark*0.8), st.Near, st)
}

func quietMark(c draw.Canvas, at vg.Point, st style, found bool) {
	if found {
		full(c, square(at, st.mark*0.9), st.Edge, st)
		return
	}
	open(c, square(at, st.mark*0.72), st.Edge, st)
}

// topHz is the end of the frequency axis: 20 kHz, or what the traces reach.
func topHz(p model.Pair) float64 {
	top := 0.0
	for _, t := range []model.Trace{p.Quiet.Trace, p.Near.Trace} {
		if n := entries(t); n > 0 && t.Hz[n-1].Ok() {
			top = math.Max(top, float64(t.Hz[n-1]))
		}
	}
	if top <= 25 || top > 19900 {
		return 20000
	}
	return top
}

// entries is how many entries of a trace are whole.
func entries(t model.Trace) int { return min(len(t.Hz), len(t.LoDBFS), len(t.MeanDBFS), len(t.HiDBFS)) }

// levelRange is the range of the level axis: everything drawn, to whole tens, with
// room for the numbers above the highest mark.
func levelRange(p model.Pair, residual model.Trace) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	take := func(v model.Num) {
		if v.Ok() {
			lo, hi = math.Min(lo, float64(v)), math.Max(hi, float64(v))
		}
	}
	for _, t := range []model.Trace{p.Quiet.Trace, p.Near.Trace, residual} {
		for i := range entries(t) {
			take(t.LoDBFS[i])
			take(t.HiDBFS[i])
		}
	}
	for _, l := range p.Rows() {
		for _, side := range []model.Line{l.Quiet, l.Near} {
			v, _ := side.Level.Value()
			take(model.Num(v))
			if hi, ok := side.Level.Upper(); ok && !side.Level.Measured() {
				take(model.Num(hi))
			}
		}
	}
	if lo > hi {
		return -160, -60
	}
	lo, hi = 10*math.Floor((lo-1)/10), 10*math.Ceil((hi+1)/10)
	return lo, hi + 0.1*(hi-lo)
}

type spectrum struct {
	style
	quiet, near, residual model.Trace
	lines                 []lineMark
	tones                 []model.Tone // strongest first
}

func (s spectrum) draw(c draw.Canvas, at place) {
	s.drawQuiet(c, at)
	s.drawNear(c, at)
	s.outline(c, at, s.quiet, draw.LineStyle{Color: s.Edge, Width: s.line * 0.6}) // over near, to be seen where both are equal
	s.outline(c, at, s.residual, residualLine(s.style))
	s.drawLimits(c, at)
	s.drawLines(c, at)
}

// outline draws the line that stands for a trace.
func (s spectrum) outline(c draw.Canvas, at place, t model.Trace, sty draw.LineStyle) {
	for _, run := range runs(pixels(t, at)) {
		c.StrokeLines(sty, along(run))
	}
}

type place func(hz, db model.Num) vg.Point

func (s spectrum) drawQuiet(c draw.Canvas, at place) {
	for _, run := range runs(pixels(s.quiet, at)) {
		points := []vg.Point{{X: run[0].x, Y: c.Min.Y}}
		points = append(points, along(run)...)
		points = append(points, vg.Point{X: run[len(run)-1].x, Y: c.Min.Y})
		c.SetColor(s.Quiet)
		c.Fill(polygon(points...))
	}
}

// drawNear draws the band of the extremes, and in it what stands for near.
func (s spectrum) drawNear(c draw.Canvas, at place) {
	all := runs(pixels(s.near, at))
	for _, run := range all {
		var band []vg.Point
		for _, q := range run {
			band = append(band, vg.Point{X: q.x, Y: q.hi})
		}
		for _, q := range slices.Backward(run) {
			band = append(band, vg.Point{X: q.x, Y: q.lo})
		}
		c.SetColor(s.Band)
		c.Fill(polygon(band...))
	}
	for _, run := range all {
		c.StrokeLines(draw.LineStyle{Color: s.Near, Width: s.line}, along(run))
	}
}

// along is the line that stands for columns: the mean, and the highest where that
// stands out of it, so that no line of the mains and no tone vanishes.
func along(run []pixel) (points []vg.Point) {
	for _, q := range run {
		y := q.mean
		if q.peak {
			y = q.hi
		}
		points = append(points, vg.Point{X: q.x, Y: y})
	}
	return points
}

// pixel is what a trace does within one column of the drawing.
type pixel struct {
	x, lo, mean, hi vg.Length
	means, top      model.Num // dB
	peak            bool      // its highest stands out of the means beside it
	gap             bool      // no level
}

// A column's highest bin stands out where it lies by so many dB above its own mean or
// that of the columns so far to either side, as a line or a tone does and no bin of noise.
const (
	standsOut = 8
	besides   = 8
)

// pixels joins a trace's entries that fall on the same three quarters of a
// pixel: lowest, mean and highest, so that no line vanishes.
func pixels(t model.Trace, at place) []pixel {
	const width = 0.75
	var out []pixel
	for i := 0; i < entries(t); {
		if !t.Hz[i].Ok() || !t.HiDBFS[i].Ok() || !t.MeanDBFS[i].Ok() || !t.LoDBFS[i].Ok() {
			out = append(out, pixel{gap: true})
			i++
			continue
		}
		x := at(t.Hz[i], t.HiDBFS[i]).X
		lo, hi, power, n := t.LoDBFS[i], t.HiDBFS[i], 0.0, 0.0
		for ; i < entries(t) && t.HiDBFS[i].Ok() && t.MeanDBFS[i].Ok() && at(t.Hz[i], 0).X-x < width; i++ {
			lo, hi = min(lo, t.LoDBFS[i]), max(hi, t.HiDBFS[i])
			power, n = power+math.Pow(10, float64(t.MeanDBFS[i])/10), n+1
		}
		mean := model.Num(10 * math.Log10(power/n))
		y := func(db model.Num) vg.Length { return at(t.Hz[i-1], db).Y }
		out = append(out, pixel{x: x, lo: y(lo), mean: y(mean), hi: y(hi), means: mean, top: hi})
	}
	for i, q := range out {
		beside := func(j int) bool {
			return j >= 0 && j < len(out) && !out[j].gap && q.top-out[j].means > standsOut
		}
		out[i].peak = !q.gap && (beside(i) || beside(i-besides) || beside(i+besides))
	}
	return out
}

// runs parts a trace at its gaps.
func runs(all []pixel) [][]pixel {
	var out [][]pixel
	open := false
	for _, p := range all {
		switch {
		case p.gap:
			open = false
			continue
		case !open:
			out = append(out, nil)
			open = true
		}
		out[len(out)-1] = append(out[len(out)-1], p)
	}
	return out
}

// drawLimits marks limits from the lowest harmonic up, where there is room: a
// crowd of them says no more than some of it.
func (s spectrum) drawLimits(c draw.Canvas, at place) {
	var taken []vg.Rectangle
	put := func(harmonic int, hz, limit model.Num, draw marking) {
		if !limit.Ok() || !hz.Ok() {
			return
		}
		p := at(hz, limit)
		if box := around(p, s.mark, s.mark); !touchesAny(box, taken) {
			taken = append(taken, box)
			ofLine(c, harmonic, func() { draw(c, p, s.style, false) })
		}
	}
	for _, l := range s.lines {
		put(l.harmonic, l.nearHz, l.nearLim, nearMark)
		put(l.harmonic, l.quietHz, l.quietLim, quietMark)
	}
}

func (s spectrum) drawLines(c draw.Canvas, at place) {
	var marks []mark
	var taken []vg.Rectangle
	for _, l := range s.lines {
		if l.quiet.Ok() && l.quietHz.Ok() {
			p := at(l.quietHz, l.quiet)
			ofLine(c, l.harmonic, func() { quietMark(c, p, s.style, true) })
			taken = append(taken, around(p, s.mark, s.mark))
		}
	}
	for _, l := range s.lines {
		if l.near.Ok() && l.nearHz.Ok() {
			p := at(l.nearHz, l.near)
			ofLine(c, l.harmonic, func() { nearMark(c, p, s.style, true) })
			marks = append(marks, mark{at: p, label: l.label})
		}
	}
	for _, t := range s.tones {
		marks = append(marks, mark{at: at(model.Num(t.Hz), t.DBFS), label: doc.ToneHz(t.Hz), tone: true})
	}
	sty := s.text(0.8, false, s.Ink)
	sty.XAlign, sty.YAlign = text.XCenter, text.YBottom
	for _, q := range pixels(s.near, at) {
		taken = append(taken, vg.Rectangle{Min: vg.Point{X: q.x - s.line, Y: q.lo}, Max: vg.Point{X: q.x + s.line, Y: q.hi}})
	}
	taken = append(taken, s.drawRise(c, at, taken))
	for _, m := range chosen(marks, sty, s.mark, taken, c.Max.Y) {
		foot := m.at.Y + s.mark*1.2 + m.raised
		if m.raised > 0 {
			c.StrokeLine2(draw.LineStyle{Color: s.Soft, Width: 0.7}, m.at.X, m.at.Y, m.at.X, foot)
		}
		c.FillText(sty, vg.Point{X: m.at.X, Y: foot}, m.label)
	}
}

// drawRise writes beside the strongest line how far it rose or fell, where there is
// room, and returns what that takes.
func (s spectrum) drawRise(c draw.Canvas, at place, taken []vg.Rectangle) vg.Rectangle {
	var best *lineMark
	for i, l := range s.lines {
		if l.delta != "" && (best == nil || l.near > best.near) {
			best = &s.lines[i]
		}
	}
	if best == nil {
		return vg.Rectangle{}
	}
	sty := s.text(0.8, false, s.Ink)
	quiet, near := at(best.quietHz, best.quiet), at(best.nearHz, best.near)
	top, bottom := max(quiet.Y, near.Y), min(quiet.Y, near.Y)
	width, off := roomy(sty, best.delta)+s.size*0.5, s.mark*2.2
	for _, side := range []vg.Length{1, -1} {
		x := near.X + side*off
		box := vg.Rectangle{Min: vg.Point{X: x, Y: min(bottom, (top+bottom)/2-s.size*0.6)}, Max: vg.Point{X: x + width, Y: max(top, (top+bottom)/2+s.size*0.6)}}
		if side < 0 {
			box.Min.X, box.Max.X = x-width, x
		}
		if touchesAny(box, taken) || box.Min.X < c.Min.X || box.Max.X > c.Max.X {
			continue
		}
		stroke(c, whiskers(vg.Point{X: x, Y: bottom}, vg.Point{X: x, Y: top}, s.mark*0.7), draw.LineStyle{Color: s.Ink, Width: 1})
		sty.XAlign, sty.YAlign = map[bool]text.XAlignment{true: text.XLeft, false: text.XRight}[side > 0], text.YCenter
		c.FillText(sty, vg.Point{X: x + side*s.size*0.4, Y: (top + bottom) / 2}, best.delta)
		return box
	}
	return vg.Rectangle{}
}

// mark is a line's place in the drawing, or a tone's.
type mark struct {
	at     vg.Point
	label  string
	tone   bool
	raised vg.Length // by which the label stands higher than right above the mark
}

// chosen picks the marks that get their label, lines first, the highest first: each whose
// label touches neither another, nor another mark, nor what is taken. A tone's label may
// stand higher, up to the top, with a thin line down to its peak.
func chosen(marks []mark, sty text.Style, radius vg.Length, taken []vg.Rectangle, top vg.Length) []mark {
	order := append([]mark(nil), marks...)
	sort.SliceStable(order, func(i, j int) bool {
		a, b := order[i], order[j]
		return !a.tone && b.tone || a.tone == b.tone && a.at.Y > b.at.Y
	})
	var out []mark
	for _, m := range marks {
		taken = append(taken, around(m.at, radius, 2*radius))
	}
	for _, m := range order {
		half := roomy(sty, m.label)/2 + 1.5
		box := vg.Rectangle{
			Min: vg.Point{X: m.at.X - half, Y: m.at.Y + radius*1.05},
			Max: vg.Point{X: m.at.X + half, Y: m.at.Y + radius*1.2 + sty.Font.Size},
		}
		for m.tone && box.Max.Y < top && touchesAny(box, taken) {
			step := sty.Font.Size / 2
			m.raised, box.Min.Y, box.Max.Y = m.raised+step, box.Min.Y+step, box.Max.Y+step
		}
		if !touchesAny(box, taken) {
			out = append(out, m)
			taken = append(taken, box)
		}
	}
	return out
}

// around is the box of a mark and of the peak that leads up to it.
func around(at vg.Point, radius, below vg.Length) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: at.X - radius, Y: at.Y - below}, Max: vg.Point{X: at.X + radius, Y: at.Y + radius}}
}

func touchesAny(box vg.Rectangle, others []vg.Rectangle) bool {
	for _, o := range others {
		if box.Min.X < o.Max.X && o.Min.X < box.Max.X && box.Min.Y < o.Max.Y && o.Min.Y < box.Max.Y {
			return true
		}
	}
	return false
}
