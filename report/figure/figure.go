// Package figure draws a result: the spectrum of both captures, the delta of
// each line, one averaged mains cycle. It takes a pair as it is printed and
// gives a figure that can be published as it stands, with its conditions on it.
// Nothing is drawn for what was not measured; what is left out is said.
package figure

import (
	"fmt"
	"image/color"
	"strings"

	"humdiff/report/result"
	"humdiff/report/words"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Options are what a figure looks like. The zero value is 960 by 540 pixels
// on light paper.
type Options struct {
	W, H  int    // CSS pixels; readable down to a width of 360; made higher where text needs it
	Theme Theme  // the zero Theme: Light
	ID    string // prefix of the ids in the SVG, for a page that holds several
}

func (o Options) withDefaults(id string) Options {
	if o.W <= 0 {
		o.W = 960
	}
	o.W = max(o.W, 240) // narrower, no text fits
	if o.H <= 0 {
		o.H = max(o.W*9/16, 420)
	}
	if o.Theme == (Theme{}) {
		o.Theme = Light
	}
	if o.ID == "" {
		o.ID = id
	}
	return o
}

// content is a figure before it has a size.
type content struct {
	title   string
	desc    string   // for those who do not see it
	yTitle  string   // stands above the axis, where there is room for it
	key     []entry  // what the shapes mean
	caption []string // conditions, in phrases
	plot    func(style) *plot.Plot
}

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
}

func styleFor(o Options) style {
	size := vg.Length(min(max(float64(o.W)/66, 11), 15))
	return style{Theme: o.Theme, size: size, margin: size, mark: size / 4.6, line: size / 10}
}

// svgOf draws a figure; one too low for its text and a plot is made higher.
func svgOf(f content, o Options) []byte {
	canvas, c := layOut(f, o)
	if lack := vg.Length(min(o.W/3, 160)) - c.Size().Y; lack > 0 {
		o.H += int(lack) + 1
		canvas, c = layOut(f, o)
	}
	f.plot(styleFor(o)).Draw(c)
	return canvas.document(o.ID, f.title, f.desc)
}

// layOut writes everything but the plot, from top to bottom title, key and the
// y axis' title, from the bottom up the caption, and returns what is left.
func layOut(f content, o Options) (*svg, draw.Canvas) {
	canvas := newSVG(o.W, o.H)
	st := styleFor(o)
	c := draw.New(canvas)
	c.FillPolygon(st.Paper, []vg.Point{c.Min, {X: c.Max.X, Y: c.Min.Y}, c.Max, {X: c.Min.X, Y: c.Max.Y}})
	c = draw.Crop(c, st.margin, -st.margin, st.margin*0.7, -st.margin*0.7)

	c.Max.Y -= st.write(c, st.text(1.25, true, st.Ink), f.title)
	c.Max.Y -= st.size * 0.35
	c.Max.Y -= st.drawKey(c, f.key)
	c.Max.Y -= st.size * 0.35
	c.Max.Y -= st.write(c, st.text(0.95, false, st.Ink), f.yTitle)
	c.Max.Y -= st.size * 0.3
	c.Min.Y += st.writeUp(c, st.text(0.85, false, st.Soft), strings.Join(f.caption, "; ")+".")
	c.Min.Y += st.size * 0.6
	return canvas, c
}

// text is a text style of so many times the axis text.
func (st style) text(scale float64, bold bool, c color.Color) text.Style {
	f := sans
	f.Size = st.size * vg.Length(scale)
	if bold {
		f.Weight = 2 // as in golang.org/x/image/font: bold
	}
	return text.Style{Color: c, Font: f, YAlign: text.YTop, Handler: handler}
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

// conditions are the phrases that every figure's caption starts with.
func conditions(p result.Pair) []string {
	said := []string{
		"Near: " + side(p.Near) + ", " + words.Mains(p.Mains.NearDetected, p.Mains.NearHz, p.Mains.NearU95Hz),
		"quiet: " + side(p.Quiet) + ", " + words.Mains(p.Mains.QuietDetected, p.Mains.QuietHz, p.Mains.QuietU95Hz),
		"one placement of the lead",
	}
	if c := words.Clipped(p); c != "" {
		said = append(said, "not usable as it is: "+c)
	}
	return said
}

func side(s result.Side) string {
	s.File = shorten(words.File(s.File), 48)
	return words.Side(s)
}

// shorten keeps the end of a long name, which tells more than its folders.
func shorten(name string, n int) string {
	r := []rune(name)
	if len(r) <= n {
		return name
	}
	return "…" + string(r[len(r)-n+1:])
}

// titled adds the channel to a title.
func titled(title string, p result.Pair) string {
	return fmt.Sprintf("%s, %s", title, strings.ToLower(words.Channels(p)))
}
