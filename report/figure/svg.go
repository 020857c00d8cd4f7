package figure

import (
	"bytes"
	"fmt"
	"image"
	"strconv"
	"strings"

	"humdiff/report/doc"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// svg is a canvas that writes SVG: one unit is one CSS pixel. Unlike gonum's
// own it names a list of sans-serif fonts, anchors text where it is aligned
// (fonts differ in width), has a title and a description, and keeps colours in
// attributes, which a strict content policy allows and a style sheet can
// override.
type svg struct {
	pen
	w, h float64
	body bytes.Buffer
}

func newSVG(w, h int) *svg { return &svg{pen: newPen(), w: float64(w), h: float64(h)} }

// SVG draws a figure as SVG.
func (f Figure) SVG(o Options) []byte {
	s := f.sheet(o)
	canvas := newSVG(s.W, s.H)
	s.draw(canvas)
	return canvas.document(s.ID, s.FigureText.Title, s.Desc)
}

// Size makes svg a vg.CanvasSizer.
func (s *svg) Size() (w, h vg.Length) { return vg.Length(s.w), vg.Length(s.h) }

// ofLine draws what belongs to one hum line. In an SVG it is a group that says
// so, by which a page's script finds it.
func ofLine(c draw.Canvas, harmonic int, draw func()) {
	s, ok := beneath(c).(*svg)
	if ok {
		fmt.Fprintf(&s.body, "<g data-line=\"%d\">", harmonic)
	}
	draw()
	if ok {
		s.body.WriteString("</g>\n")
	}
}

// beneath is the canvas that crops of it draw on.
func beneath(c vg.Canvas) vg.Canvas {
	for {
		switch d := c.(type) {
		case draw.Canvas:
			c = d.Canvas
		case *draw.Canvas:
			c = d.Canvas
		default:
			return c
		}
	}
}

func (s *svg) Stroke(p vg.Path) {
	if s.now.width <= 0 {
		return
	}
	fmt.Fprintf(&s.body, `<path d="%s" fill="none" stroke="%s" stroke-width="%s"`, s.path(p), Hex(s.now.color), px(s.now.width))
	if len(s.now.dash) > 0 {
		var parts []string
		for _, d := range s.now.dash {
			parts = append(parts, px(float64(d)))
		}
		fmt.Fprintf(&s.body, ` stroke-dasharray="%s"`, strings.Join(parts, " "))
	}
	s.body.WriteString("/>\n")
}

func (s *svg) Fill(p vg.Path) {
	fmt.Fprintf(&s.body, `<path d="%s" fill="%s"/>`+"\n", s.path(p), Hex(s.now.color))
}

func (s *svg) path(p vg.Path) string {
	var b strings.Builder
	for _, c := range p {
		switch c.Type {
		case vg.MoveComp:
			b.WriteString("M" + s.at(c.Pos))
		case vg.LineComp:
			b.WriteString("L" + s.at(c.Pos))
		case vg.ArcComp:
			b.WriteString(s.circle(c))
		case vg.CloseComp:
			b.WriteString("Z")
		}
	}
	return b.String()
}

// circle is drawn in two halves, since an SVG arc can't close a circle. Its ends lie
// by as much from its middle as its radius is written with: rounded by themselves,
// they would make a lens of it.
func (s *svg) circle(c vg.PathComp) string {
	x, y := float64(c.Pos.X), float64(c.Pos.Y)
	r := hundredths(float64(c.Radius))
	half := "a" + r + " " + r + " 0 0 1 "
	return "M" + px(x) + " " + px(s.h-y) + "m-" + r + " 0" + half + hundredths(2*float64(c.Radius)) + " 0" + half + "-" + hundredths(2*float64(c.Radius)) + " 0"
}

func (s *svg) at(p vg.Point) string {
	return px(float64(p.X)) + " " + px(s.h-float64(p.Y))
}

// nudge keeps lengths off the ties that plain arithmetic makes, such as 44.95: there
// processors that differ in a last bit would round to different tenths.
const nudge = 1e-6

// px writes a length to a tenth of a pixel.
func px(v float64) string { return decimals(v, 1) }

// hundredths writes one to a hundredth, an even one, so that twice it is twice.
func hundredths(v float64) string { return decimals(v, 2) }

func decimals(v float64, n int) string {
	t := strconv.FormatFloat(v+nudge, 'f', n, 64)
	if t = strings.TrimRight(strings.TrimRight(t, "0"), "."); t == "-0" || t == "" {
		return "0"
	}
	return t
}

func (s *svg) FillString(f font.Face, p vg.Point, str string) { s.text(f.Font, p, "start", str) }

func (s *svg) text(f font.Font, p vg.Point, anchor, str string) {
	fmt.Fprintf(&s.body, `<text x="%s" y="%s" font-size="%s" fill="%s"`, px(float64(p.X)), px(s.h-float64(p.Y)), px(float64(f.Size)), Hex(s.now.color))
	if f.Weight > 0 {
		s.body.WriteString(` font-weight="bold"`)
	}
	if anchor != "start" {
		fmt.Fprintf(&s.body, ` text-anchor="%s"`, anchor)
	}
	s.body.WriteString(">" + escape(str) + "</text>\n")
}

// DrawImage is there for the interface: no figure holds an image.
func (s *svg) DrawImage(vg.Rectangle, image.Image) { panic("figure: images are not drawn") }

// fonts are of one width as far as may be (the first three are), then whatever
// a reader has.
const fonts = "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif"

// document is the finished file.
func (s *svg) document(id, title, desc string) []byte {
	var b bytes.Buffer
	w, h := px(s.w), px(s.h)
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" width="%s" height="%s" role="img" aria-labelledby="%s-title %s-desc" font-family="%s" stroke-linejoin="round">`+"\n",
		w, h, w, h, escape(id), escape(id), fonts)
	fmt.Fprintf(&b, "<title id=\"%s-title\">%s</title>\n<desc id=\"%s-desc\">%s</desc>\n", escape(id), escape(title), escape(id), escape(desc))
	b.Write(s.body.Bytes())
	b.WriteString("</svg>\n")
	return b.Bytes()
}

// escape makes text safe in XML, in elements and in quoted attributes.
func escape(s string) string { return xmlEscapes.Replace(doc.Printable(s)) }

var xmlEscapes = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;")

// anchored is gonum's plain text. In an svg it is anchored where it is aligned instead of
// being placed by the width of a font the reader may lack.
type anchored struct{ text.Plain }

// Draw is a part of text.Handler.
func (h anchored) Draw(c vg.Canvas, txt string, sty text.Style, pt vg.Point) {
	if d, ok := c.(*draw.Canvas); ok {
		c = d.Canvas
	}
	s, ok := c.(*svg)
	if !ok {
		h.Plain.Draw(c, txt, sty, pt)
		return
	}
	anchor := map[text.XAlignment]string{text.XLeft: "start", text.XCenter: "middle", text.XRight: "end"}[sty.XAlign]
	s.SetColor(sty.Color)
	lines := h.Lines(txt)
	y := pt.Y + sty.Height(txt)*vg.Length(sty.YAlign) - h.Extents(sty.Font).Ascent
	for i, line := range lines {
		s.text(sty.Font, vg.Point{X: pt.X, Y: y + vg.Length(len(lines)-i)*sty.Font.Size}, anchor, line)
	}
}
