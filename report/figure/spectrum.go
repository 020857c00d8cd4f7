package figure

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Spectrum draws the averaged spectra of a pair over log frequency: quiet as a
// filled area, near as a line, the lines that were found marked with their
// harmonic, the detection limits of those that were not as open marks; dotted
// below, what the instrument adds by itself, where that was recorded.
func Spectrum(set result.Settings, p result.Pair) Figure {
	return Figure{"spectrum", func(o Options) content { return spectrumContent(set, p, o) }}
}

func spectrumContent(set result.Settings, p result.Pair, o Options) content {
	set, p, scales := oneScale(set, p)
	var residual result.Trace // none
	if p.Residual != nil {
		residual = p.Residual.Trace
	}
	lv := levelsFor(set, o)
	f := content{
		title:   titled("Spectrum, quiet and near", p),
		desc:    spectrumDesc(set, p),
		yTitle:  "level, " + lv.name() + perBin(p.Trace.Near),
		key:     spectrumKey(p),
		caption: conditions(p),
	}
	if entries(residual) > 0 {
		f.key = append(f.key, entry{"residual", func(c draw.Canvas, at vg.Point, st style) {
			c.StrokeLine2(residualLine(st), at.X-st.size*0.8, at.Y, at.X+st.size*0.8, at.Y)
		}})
	}
	if b := p.Trace.Near; b.BinHz.Ok() && b.ENBWHz.Ok() {
		f.caption = append(f.caption, table.Bins(b))
	}
	f.caption = append(f.caption, spectrumNotes(set, p)...)
	f.caption = append(append(f.caption, unsteady(p, " marked "+words.UnsteadyMark)...), scales...)
	if o.Hz != [2]float64{} || o.Level != [2]float64{} {
		f.caption = append(f.caption, "a part of the axes: what lies outside is not drawn")
	}
	f.paint = func(st style, c draw.Canvas) {
		w, h := c.Size().X, c.Size().Y
		hz := [2]float64{20, topHz(p)}
		if o.Hz[0] < o.Hz[1] {
			hz = o.Hz
		}
		lo, hi := lv.within(levelRange(p, residual))
		pl := axes(st, "frequency, Hz", logHz(hz[0], hz[1], w-st.size*4, st.size),
			lv.axis(lo, hi, rows(h, st)))
		pl.Add(spectrum{st, cutTo(p, hz, lo, hi), part(residual, hz)})
		pl.Draw(c)
	}
	return f
}

// cutTo leaves out of a pair what lies outside of the axes.
func cutTo(p result.Pair, hz [2]float64, lo, hi float64) result.Pair {
	p.Trace.Quiet, p.Trace.Near = part(p.Trace.Quiet, hz), part(p.Trace.Near, hz)
	show := func(v result.Num) result.Num {
		if float64(v) < lo || float64(v) > hi {
			return result.None
		}
		return v
	}
	var lines []result.PairLine
	for _, l := range p.Lines {
		if at := float64(l.Hz); at < hz[0] || at > hz[1] {
			continue
		}
		for _, side := range []*result.Line{&l.Quiet, &l.Near} {
			side.DBFS, side.LimitDBFS = show(side.DBFS), show(side.LimitDBFS)
		}
		lines = append(lines, l)
	}
	p.Lines = lines
	return p
}

// part is a trace's part of the frequency axis.
func part(t result.Trace, hz [2]float64) result.Trace {
	from, to := 0, entries(t)
	for from < to && float64(t.Hz[from]) < hz[0] {
		from++
	}
	for to > from && float64(t.Hz[to-1]) > hz[1] {
		to--
	}
	t.Hz, t.LoDBFS, t.HiDBFS = t.Hz[from:to], t.LoDBFS[from:to], t.HiDBFS[from:to]
	return t
}

func residualLine(st style) draw.LineStyle {
	return draw.LineStyle{Color: st.Ink, Width: st.line, Dashes: []vg.Length{st.line, st.line * 1.8}}
}

// drawResidual follows the middle of the residual's columns.
func (s spectrum) drawResidual(c draw.Canvas, at place) {
	for _, run := range runs(pixels(s.residual, at)) {
		var points []vg.Point
		for _, q := range run {
			points = append(points, vg.Point{X: q.x, Y: (q.lo + q.hi) / 2})
		}
		c.StrokeLines(residualLine(s.style), points)
	}
}

func perBin(t result.Trace) string {
	if !t.ENBWHz.Ok() {
		return ""
	}
	return fmt.Sprintf(", in a bin's noise bandwidth of %s Hz", words.Fixed(t.ENBWHz, 2))
}

// spectrumNotes says what a reader could wonder at in the drawing.
func spectrumNotes(set result.Settings, p result.Pair) []string {
	notes := []string{"lines sought to " + words.Hz(result.Num(set.UpToHz))}
	if belowTrace(p) {
		notes = append(notes, "lines below the trace were found by averaging over the whole capture")
	}
	if hasLimits(p) {
		notes = append(notes, "open marks, where there is room: a line not found lies below its limit")
	}
	if len(p.Tones.Near) > 0 {
		notes = append(notes, "peaks without a mark are not counted as hum")
	}
	return notes
}

// belowTrace says whether a line that was found is marked below the trace of its
// own capture.
func belowTrace(p result.Pair) bool {
	for _, l := range p.Lines {
		if isBelow(p.Trace.Near, l.Near, words.LineHz(l, p.Mains.NearHz)) || isBelow(p.Trace.Quiet, l.Quiet, words.LineHz(l, p.Mains.QuietHz)) {
			return true
		}
	}
	return false
}

func isBelow(t result.Trace, l result.Line, hz result.Num) bool {
	n := entries(t)
	if l.State != result.Detected || !l.DBFS.Ok() || !hz.Ok() || n == 0 {
		return false
	}
	i := sort.Search(n, func(i int) bool { return t.Hz[i] >= hz })
	if i == n || i > 0 && hz-t.Hz[i-1] < t.Hz[i]-hz {
		i--
	}
	return t.LoDBFS[i].Ok() && l.DBFS < t.LoDBFS[i]
}

// hasLimits says whether drawLimits has any limit to mark.
func hasLimits(p result.Pair) bool {
	for _, l := range p.Lines {
		found := l.Near.State == result.Detected
		if !found && l.Near.LimitDBFS.Ok() || found && l.Quiet.State != result.Detected && l.Quiet.LimitDBFS.Ok() {
			return true
		}
	}
	return false
}

// unsteady says which lines changed their level, and how they are marked.
func unsteady(p result.Pair, marked string) []string {
	if lines := words.UnsteadyLines(p); lines != "" {
		return []string{"levels" + marked + " changed during the capture: " + lines}
	}
	return nil
}

func spectrumDesc(set result.Settings, p result.Pair) string {
	said := append([]string{"Averaged spectra of quiet (grey area) and near (line).", words.Headline(p, set)}, words.LineCounts(p)...)
	return strings.Join(said, " ")
}

func spectrumKey(p result.Pair) []entry {
	n := words.CountLines(p)
	key := []entry{{"quiet", areaSwatch}, {"near", lineSwatch}}
	if n.Both+n.NearOnly > 0 {
		key = append(key, entry{"line in near, with its harmonic", func(c draw.Canvas, at vg.Point, st style) { nearMark(c, at, st, true) }})
	}
	if n.Both+n.QuietOnly > 0 {
		key = append(key, entry{"line in quiet", func(c draw.Canvas, at vg.Point, st style) { quietMark(c, at, st, true) }})
	}
	if n.QuietOnly+n.Neither > 0 {
		key = append(key, entry{"limit in near", func(c draw.Canvas, at vg.Point, st style) { nearMark(c, at, st, false) }})
	}
	if n.NearOnly > 0 {
		key = append(key, entry{"limit in quiet", func(c draw.Canvas, at vg.Point, st style) { quietMark(c, at, st, false) }})
	}
	return key
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
func topHz(p result.Pair) float64 {
	top := 0.0
	for _, t := range []result.Trace{p.Trace.Quiet, p.Trace.Near} {
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
func entries(t result.Trace) int { return min(len(t.Hz), len(t.LoDBFS), len(t.HiDBFS)) }

// levelRange is the range of the level axis: everything drawn, to whole tens, with
// room for the numbers above the highest mark.
func levelRange(p result.Pair, residual result.Trace) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	take := func(v result.Num) {
		if v.Ok() {
			lo, hi = math.Min(lo, float64(v)), math.Max(hi, float64(v))
		}
	}
	for _, t := range []result.Trace{p.Trace.Quiet, p.Trace.Near, residual} {
		for i := range entries(t) {
			take(t.LoDBFS[i])
			take(t.HiDBFS[i])
		}
	}
	for _, l := range p.Lines {
		for _, s := range []result.Line{l.Quiet, l.Near} {
			take(s.DBFS)
			take(s.LimitDBFS)
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
	pair     result.Pair
	residual result.Trace
}

func (s spectrum) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	at := func(hz, db result.Num) vg.Point {
		return vg.Point{X: x(math.Min(math.Max(float64(hz), p.X.Min), p.X.Max)), Y: y(math.Min(math.Max(float64(db), p.Y.Min), p.Y.Max))}
	}
	s.drawQuiet(c, at)
	s.drawNear(c, at)
	s.drawResidual(c, at)
	s.drawLimits(c, at)
	s.drawLines(c, at)
}

type place func(hz, db result.Num) vg.Point

func (s spectrum) drawQuiet(c draw.Canvas, at place) {
	for _, run := range runs(pixels(s.pair.Trace.Quiet, at)) {
		points := []vg.Point{{X: run[0].x, Y: c.Min.Y}}
		for _, q := range run {
			points = append(points, vg.Point{X: q.x, Y: q.hi})
		}
		points = append(points, vg.Point{X: run[len(run)-1].x, Y: c.Min.Y})
		c.SetColor(s.Quiet)
		c.Fill(polygon(points...))
	}
}

func (s spectrum) drawNear(c draw.Canvas, at place) {
	for _, run := range runs(pixels(s.pair.Trace.Near, at)) {
		c.StrokeLines(draw.LineStyle{Color: s.Near, Width: s.line}, polyline(run))
	}
}

// polyline joins columns by lowest and highest. Which of the two came first in
// a column is no longer known: the order is taken that makes the shorter way
// from the column before to the one after, so that what rises is drawn rising.
func polyline(run []pixel) []vg.Point {
	var points []vg.Point
	for i, q := range run {
		first, last := q.lo, q.hi
		if fallsWithin(points, q, run[i+1:]) {
			first, last = last, first
		}
		points = append(points, vg.Point{X: q.x, Y: first})
		if last != first {
			points = append(points, vg.Point{X: q.x, Y: last})
		}
	}
	return points
}

// fallsWithin says whether the way from the last point drawn through a column
// to the next is shorter from highest to lowest; where both are equal, whether
// it starts nearer there.
func fallsWithin(drawn []vg.Point, q pixel, next []pixel) bool {
	enter, leave := 0.0, 0.0 // how much farther lowest before highest is than the other way round
	if n := len(drawn); n > 0 {
		enter = apart(drawn[n-1].Y, q.lo) - apart(drawn[n-1].Y, q.hi)
	}
	if len(next) > 0 {
		middle := (next[0].lo + next[0].hi) / 2
		leave = apart(middle, q.hi) - apart(middle, q.lo)
	}
	if longer := enter + leave; math.Abs(longer) > 1e-6 {
		return longer > 0
	}
	return enter > 0
}

func apart(a, b vg.Length) float64 { return math.Abs(float64(a - b)) }

// pixel is what a trace does within one column of the drawing.
type pixel struct {
	x, lo, hi vg.Length
	gap       bool // no level
}

// pixels joins a trace's entries that fall on the same three quarters of a
// pixel: lowest and highest, so that no line vanishes.
func pixels(t result.Trace, at place) []pixel {
	const width = 0.75
	var out []pixel
	for i, hz := range t.Hz[:entries(t)] {
		if !hz.Ok() || !t.HiDBFS[i].Ok() || !t.LoDBFS[i].Ok() {
			out = append(out, pixel{gap: true})
			continue
		}
		lo, hi := at(hz, t.LoDBFS[i]), at(hz, t.HiDBFS[i])
		if n := len(out) - 1; n >= 0 && !out[n].gap && lo.X-out[n].x < width {
			out[n].lo, out[n].hi = min(out[n].lo, lo.Y), max(out[n].hi, hi.Y)
			continue
		}
		out = append(out, pixel{x: lo.X, lo: lo.Y, hi: hi.Y})
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
	put := func(harmonic int, hz, limit result.Num, draw func(draw.Canvas, vg.Point, style, bool)) {
		if !limit.Ok() || !hz.Ok() {
			return
		}
		p := at(hz, limit)
		if box := around(p, s.mark, s.mark); !touchesAny(box, taken) {
			taken = append(taken, box)
			ofLine(c, harmonic, func() { draw(c, p, s.style, false) })
		}
	}
	for _, l := range s.pair.Lines {
		if l.Near.State != result.Detected {
			put(l.Harmonic, words.LineHz(l, s.pair.Mains.NearHz), l.Near.LimitDBFS, nearMark)
		} else if l.Quiet.State != result.Detected {
			put(l.Harmonic, words.LineHz(l, s.pair.Mains.QuietHz), l.Quiet.LimitDBFS, quietMark)
		}
	}
}

func (s spectrum) drawLines(c draw.Canvas, at place) {
	var marks []mark
	var taken []vg.Rectangle
	for _, l := range s.pair.Lines {
		if hz := words.LineHz(l, s.pair.Mains.QuietHz); l.Quiet.State == result.Detected && l.Quiet.DBFS.Ok() && hz.Ok() {
			p := at(hz, l.Quiet.DBFS)
			ofLine(c, l.Harmonic, func() { quietMark(c, p, s.style, true) })
			taken = append(taken, around(p, s.mark, s.mark))
		}
	}
	for _, l := range s.pair.Lines {
		if hz := words.LineHz(l, s.pair.Mains.NearHz); l.Near.State == result.Detected && l.Near.DBFS.Ok() && hz.Ok() {
			p := at(hz, l.Near.DBFS)
			ofLine(c, l.Harmonic, func() { nearMark(c, p, s.style, true) })
			marks = append(marks, mark{p, label(l)})
		}
	}
	sty := s.text(0.8, false, s.Ink)
	sty.XAlign, sty.YAlign = text.XCenter, text.YBottom
	for _, q := range pixels(s.pair.Trace.Near, at) {
		taken = append(taken, vg.Rectangle{Min: vg.Point{X: q.x - s.line, Y: q.lo}, Max: vg.Point{X: q.x + s.line, Y: q.hi}})
	}
	for _, m := range chosen(marks, sty, s.mark, taken) {
		c.FillText(sty, vg.Point{X: m.at.X, Y: m.at.Y + s.mark*1.2}, m.label)
	}
}

// mark is a line's place in the drawing.
type mark struct {
	at    vg.Point
	label string
}

// label is a line's harmonic, marked where its level changed.
func label(l result.PairLine) string {
	if words.Unsteady(l.Near) || words.Unsteady(l.Quiet) {
		return fmt.Sprint(l.Harmonic) + words.UnsteadyMark
	}
	return fmt.Sprint(l.Harmonic)
}

// chosen picks the marks that get their number: the highest first, each whose
// number touches neither another number, nor another mark, nor what is taken.
func chosen(marks []mark, sty text.Style, radius vg.Length, taken []vg.Rectangle) []mark {
	order := append([]mark(nil), marks...)
	sort.SliceStable(order, func(i, j int) bool { return order[i].at.Y > order[j].at.Y })
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
