// Package figure draws a result: the spectrum of both captures, the delta of
// each line, one averaged mains cycle. It takes a pair as it is printed and
// gives a figure that can be published as it stands, with its conditions on it.
// Nothing is drawn for what was not measured; what is left out is said.
package figure

import (
	"cmp"
	"image/color"
	"slices"
	"strings"

	"humdiff/report/doc"
	"humdiff/report/model"

	stdfont "golang.org/x/image/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Figure is something to draw before it has a size, colours and a format. One
// Figure gives the same drawing in each of them, and the same bytes every time.
type Figure struct {
	Name string // what its file is called, without an ending: "spectrum"
	of   func(Options) content
	mark string // the result's fingerprint; empty: it has none
}

// Marked is the figure with its result's fingerprint at the end of its caption.
func (f Figure) Marked(fingerprint string) Figure {
	f.mark = fingerprint
	return f
}

// OfPair are the figures that a pair gives, in the order to show them in.
func OfPair(set model.Settings, p model.Pair) []Figure {
	draw := map[string]func(model.Settings, model.Pair) Figure{doc.SpectrumOf: Spectrum, doc.LinesOf: Lines, doc.CycleOf: Cycle, doc.PhasorsOf: Phasors}
	var all []Figure
	for _, name := range doc.PairFigures(p) {
		all = append(all, draw[name](set, p))
	}
	return all
}

// content is what a figure shows, under some options. A new figure is a function
// that returns a Figure with the content's parts filled in: see Cycle for a
// short one. Its texts are package doc's; layout, wrapping and formats are seen to
// here.
type content struct {
	doc.FigureText
	key   []entry // what the shapes mean
	least float64 // height that the drawing needs, in heights of the axis text; 0: any
	most  float64 // height that it can use, likewise; 0: any
	head  float64 // size of the title over that of the axis text; 0: 1.25

	scales func(st style, w, h vg.Length) (x, y scale) // the axes in so much room
	plot   func(st style, c draw.Canvas, x, y axis)    // what is drawn between them
	paint  func(st style, c draw.Canvas)               // draws in the room that is left; nil: plot between axes
}

// axis is where values lie in a drawing.
type axis = func(float64) vg.Length

// entry explains one shape.
type entry struct {
	label string
	draw  func(c draw.Canvas, at vg.Point, st style)
}

// style is the sizes and colours at one figure width.
type style struct {
	Theme
	size   vg.Length // of axis text
	margin vg.Length
	mark   vg.Length // radius of a mark
	line   vg.Length // width of a data line

	handler anchored
}

func styleFor(o Options) style {
	size := vg.Length(o.Text)
	return style{Theme: o.Theme, size: size, margin: size, mark: size / 4.6, line: size / 10,
		handler: handler}
}

// sheet is a figure with its content and the height that it really has.
type sheet struct {
	content
	Options
}

// sheet fixes a figure's height: one too low for its text and a plot is higher.
func (f Figure) sheet(o Options) sheet {
	o = o.withDefaults(f.Name)
	s := sheet{f.of(o), o}
	if o.Title != "" {
		s.FigureText.Title = doc.Printable(o.Title)
	}
	if f.mark != "" {
		s.Caption = append(slices.Clone(s.Caption), doc.FingerprintSaid(f.mark))
	}
	// Axis and numbers take four heights of the text; a plot is worth eleven more.
	st := styleFor(o)
	least := vg.Length(s.least) * st.size
	if s.head == 0 { // a plot
		least = max(min(vg.Length(o.W)*0.42, 15*st.size), least)
	}
	c := s.layOut(draw.New(newSVG(o.W, o.H)))
	if lack := least - c.Size().Y; lack > 0 {
		s.H += int(lack) + 1
	} else if over := c.Size().Y - vg.Length(s.most)*st.size; s.most > 0 && over > 0 {
		s.H -= int(over)
	}
	return s
}

// draw draws on a canvas of the sheet's size.
func (s sheet) draw(canvas vg.CanvasSizer) {
	st, c := styleFor(s.Options), s.layOut(draw.New(canvas))
	if s.paint != nil {
		s.paint(st, c)
		return
	}
	s.between(st, c)
}

// between draws the axes, and between them the plot.
func (f content) between(st style, c draw.Canvas) {
	x, y := f.scales(st, c.Size().X, c.Size().Y)
	pl := axes(st, f.X, x, y)
	pl.Add(plotting(func(c draw.Canvas, x, y axis) { f.plot(st, c, x, y) }))
	pl.Draw(c)
}

// layOut writes everything but the plot, from top to bottom title, key and the
// y axis' title, from the bottom up the caption, and returns what is left.
func (s sheet) layOut(c draw.Canvas) draw.Canvas {
	st := styleFor(s.Options)
	c.FillPolygon(st.Paper, []vg.Point{c.Min, {X: c.Max.X, Y: c.Min.Y}, c.Max, {X: c.Min.X, Y: c.Max.Y}})
	c = draw.Crop(c, st.margin, -st.margin, st.margin*0.7, -st.margin*0.7)

	c.Max.Y -= st.write(c, st.text(cmp.Or(s.head, 1.25), true, st.Ink), s.FigureText.Title)
	if s.Kind != "" {
		c.Max.Y -= st.write(c, st.text(0.95, false, st.Soft), s.Kind)
	}
	c.Max.Y -= st.size * 0.35
	if len(s.key) > 0 {
		c.Max.Y -= st.drawKey(c, s.key)
		c.Max.Y -= st.size * 0.35
	}
	if s.Y != "" {
		c.Max.Y -= st.write(c, st.text(0.95, false, st.Ink), s.Y)
		c.Max.Y -= st.size * 0.3
	}
	if len(s.Caption) > 0 {
		c.Min.Y += st.writeUp(c, st.text(small, false, st.Soft), strings.Join(s.Caption, "; ")+".")
		c.Min.Y += st.size * 0.6
	}
	return c
}

// small is the smallest text's size over that of axis text.
const small = 0.85

// text is a text style of so many times the axis text.
func (st style) text(scale float64, bold bool, c color.Color) text.Style {
	f := sans
	f.Size = st.size * vg.Length(scale)
	if bold {
		f.Weight = stdfont.WeightBold
	}
	return text.Style{Color: c, Font: f, YAlign: text.YTop, Handler: st.handler}
}

// write writes text from the top of c and returns the height it took.
func (st style) write(c draw.Canvas, sty text.Style, s string) vg.Length {
	lines := wrap(sty, s, c.Max.X-c.Min.X)
	leading := sty.Font.Size * 1.3
	for i, line := range lines {
		c.FillText(sty, vg.Point{X: c.Min.X, Y: c.Max.Y - vg.Length(i)*leading}, line)
	}
	return vg.Length(len(lines)) * leading
}

// writeUp writes text so that it ends at the bottom of c.
func (st style) writeUp(c draw.Canvas, sty text.Style, s string) vg.Length {
	height := vg.Length(len(wrap(sty, s, c.Max.X-c.Min.X))) * sty.Font.Size * 1.3
	c.Max.Y = c.Min.Y + height
	return st.write(c, sty, s)
}

// drawKey sets the entries in a row, and in more rows where they don't fit.
func (st style) drawKey(c draw.Canvas, key []entry) vg.Length {
	sty := st.text(0.9, false, st.Ink)
	swatch, gap, leading := st.size*1.7, st.size*1.1, st.size*1.4
	at := vg.Point{X: c.Min.X, Y: c.Max.Y}
	for i, e := range key {
		width := swatch + st.size*0.4 + roomy(sty, e.label)
		if i > 0 && at.X+width > c.Max.X {
			at = vg.Point{X: c.Min.X, Y: at.Y - leading}
		}
		e.draw(c, vg.Point{X: at.X + swatch/2, Y: at.Y - st.size*0.6}, st)
		c.FillText(sty, vg.Point{X: at.X + swatch + st.size*0.4, Y: at.Y}, e.label)
		at.X += width + gap
	}
	return c.Max.Y - at.Y + leading
}

// roomy is the width to allow for a text: fonts that stand in for ours are up
// to a seventh wider.
func roomy(sty text.Style, s string) vg.Length { return sty.Width(s) * 1.14 }

// wrap breaks text into lines between words; a word longer than a line is cut.
func wrap(sty text.Style, s string, width vg.Length) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		if line != "" && roomy(sty, line+" "+word) <= width {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for line = word; roomy(sty, line) > width; {
			n := fit(sty, line, width)
			lines, line = append(lines, line[:n]), line[n:]
		}
	}
	return append(lines, line)
}

// fit is how many bytes of a word go on a line: whole characters, at least one.
func fit(sty text.Style, s string, width vg.Length) int {
	last := 0
	for i := range s {
		if i > 0 && roomy(sty, s[:i]) > width {
			return max(last, 1)
		}
		last = max(i, 1)
	}
	return len(s)
}
