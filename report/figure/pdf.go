package figure

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// points is what a CSS pixel measures on paper: 72 points and 96 pixels are an
// inch.
const points = 0.75

// pdf is a canvas that writes one page of PDF. Unlike gonum's own it writes any
// letter that the font has, embeds no more of the font than it uses, has a
// title, and no date in it.
type pdf struct {
	pen
	w, h float64
	doc  *fpdf.Fpdf
	has  map[string]bool // fonts
}

// PDF draws a figure as one page of PDF, 96 CSS pixels to the inch.
func (f Figure) PDF(o Options) ([]byte, error) {
	s := f.sheet(o)
	canvas := newPDF(s.W, s.H, s.FigureText.Title, s.Desc)
	s.draw(canvas)
	var b bytes.Buffer
	if err := canvas.doc.Output(&b); err != nil {
		return nil, fmt.Errorf("figure %s: %w", f.Name, err)
	}
	return b.Bytes(), nil
}

func newPDF(w, h int, title, subject string) *pdf {
	p := &pdf{pen: newPen(), w: float64(w), h: float64(h), has: map[string]bool{}}
	p.doc = fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: p.w * points, Ht: p.h * points}})
	p.doc.SetCatalogSort(true) // fonts in the same order every time
	epoch := time.Unix(0, 0).UTC()
	p.doc.SetCreationDate(epoch)
	p.doc.SetModificationDate(epoch)
	p.doc.SetTitle(title, true)
	p.doc.SetSubject(subject, true)
	p.doc.SetProducer("humdiff", true)
	p.doc.SetMargins(0, 0, 0)
	p.doc.SetAutoPageBreak(false, 0)
	p.doc.SetLineJoinStyle("round")
	p.doc.AddPage()
	return p
}

// Size makes pdf a vg.CanvasSizer.
func (p *pdf) Size() (w, h vg.Length) { return vg.Length(p.w), vg.Length(p.h) }

// at is a point in points from the page's upper left corner.
func (p *pdf) at(q vg.Point) (x, y float64) {
	return float64(q.X) * points, (p.h - float64(q.Y)) * points
}

func (p *pdf) Stroke(path vg.Path) {
	if p.now.width <= 0 {
		return
	}
	var dash []float64
	for _, d := range p.now.dash {
		dash = append(dash, float64(d)*points)
	}
	p.doc.SetDashPattern(dash, float64(p.now.shift)*points)
	p.doc.SetLineWidth(p.now.width * points)
	p.doc.SetDrawColor(parts(p.now.color))
	p.trace(path)
	p.doc.DrawPath("D")
}

func (p *pdf) Fill(path vg.Path) {
	p.doc.SetFillColor(parts(p.now.color))
	p.trace(path)
	p.doc.DrawPath("F")
}

func parts(c color.Color) (r, g, b int) {
	cr, cg, cb, _ := c.RGBA()
	return int(cr >> 8), int(cg >> 8), int(cb >> 8)
}

func (p *pdf) trace(path vg.Path) {
	for _, c := range path {
		switch c.Type {
		case vg.MoveComp:
			p.doc.MoveTo(p.at(c.Pos))
		case vg.LineComp:
			p.doc.LineTo(p.at(c.Pos))
		case vg.ArcComp:
			p.arc(c)
		case vg.CloseComp:
			p.doc.ClosePath()
		}
	}
}

func (p *pdf) curve(a, b, to vg.Point) {
	ax, ay := p.at(a)
	bx, by := p.at(b)
	x, y := p.at(to)
	p.doc.CurveBezierCubicTo(ax, ay, bx, by, x, y)
}

// arc is drawn in cubic curves, each of an eighth of a circle or less: there the
// handles' length is 4/3·tan(angle/4) of the radius, and the curve is within
// a millionth of it (the usual construction; from memory).
func (p *pdf) arc(c vg.PathComp) {
	on := func(angle, ahead float64) vg.Point {
		sin, cos := math.Sincos(angle)
		return c.Pos.Add(vg.Point{X: c.Radius * vg.Length(cos-ahead*sin), Y: c.Radius * vg.Length(sin+ahead*cos)})
	}
	p.doc.MoveTo(p.at(on(c.Start, 0)))
	n := math.Ceil(math.Abs(c.Angle) / (math.Pi / 4))
	step := c.Angle / n
	handle := 4.0 / 3 * math.Tan(step/4)
	for i := range int(n) {
		from := c.Start + float64(i)*step
		p.curve(on(from, handle), on(from+step, -handle), on(from+step, 0))
	}
}

func (p *pdf) FillString(f font.Face, at vg.Point, str string) {
	if str == "" {
		return
	}
	p.setFont(f)
	p.doc.SetTextColor(parts(p.now.color))
	x, y := p.at(at)
	p.doc.Text(x, y, str)
}

// setFont adds a font to the document the first time it is used.
func (p *pdf) setFont(f font.Face) {
	name := f.Name()
	if !p.has[name] {
		var source bytes.Buffer
		if _, err := f.Face.WriteSourceTo(nil, &source); err != nil {
			p.doc.SetError(err)
			return
		}
		p.doc.AddUTF8FontFromBytes(name, "", source.Bytes())
		p.has[name] = true
	}
	p.doc.SetFont(name, "", float64(f.Font.Size)*points)
}

// DrawImage is there for the interface: no figure holds an image.
func (p *pdf) DrawImage(vg.Rectangle, image.Image) { panic("figure: images are not drawn") }
