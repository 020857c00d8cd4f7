package figure

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// pen is the state that the canvases of our own share: where things go, and how
// they are drawn. Coordinates are in CSS pixels, y upwards.
type pen struct {
	now  state
	kept []state
}

type state struct {
	m     matrix
	color color.Color
	width float64
	dash  []vg.Length
	shift vg.Length
}

func newPen() pen {
	return pen{now: state{m: matrix{a: 1, d: 1}, color: color.Black, width: 1}}
}

// matrix maps (x, y) to (a·x + c·y + e, b·x + d·y + f), y upwards.
type matrix struct{ a, b, c, d, e, f float64 }

func (m matrix) apply(p vg.Point) (x, y float64) {
	return float64(m.a*float64(p.X)) + float64(m.c*float64(p.Y)) + m.e, float64(m.b*float64(p.X)) + float64(m.d*float64(p.Y)) + m.f
}

// then is the matrix that applies n first and m after it.
func (m matrix) then(n matrix) matrix {
	return matrix{
		m.a*n.a + m.c*n.b, m.b*n.a + m.d*n.b,
		m.a*n.c + m.c*n.d, m.b*n.c + m.d*n.d,
		m.a*n.e + m.c*n.f + m.e, m.b*n.e + m.d*n.f + m.f,
	}
}

// turn is the angle by which the pen is turned, in degrees against the clock.
func (p *pen) turn() float64 { return math.Atan2(p.now.m.b, p.now.m.a) * 180 / math.Pi }

// SetLineWidth and what follows are a part of vg.Canvas.
func (p *pen) SetLineWidth(w vg.Length) { p.now.width = float64(w) }

// SetLineDash is a part of vg.Canvas.
func (p *pen) SetLineDash(dash []vg.Length, at vg.Length) { p.now.dash, p.now.shift = dash, at }

// Push is a part of vg.Canvas.
func (p *pen) Push() { p.kept = append(p.kept, p.now) }

// SetColor is a part of vg.Canvas.
func (p *pen) SetColor(c color.Color) {
	if p.now.color = c; c == nil {
		p.now.color = color.Black
	}
}

// Pop is a part of vg.Canvas.
func (p *pen) Pop() {
	p.now = p.kept[len(p.kept)-1]
	p.kept = p.kept[:len(p.kept)-1]
}

// Rotate is a part of vg.Canvas.
func (p *pen) Rotate(rad float64) {
	sin, cos := math.Sincos(rad)
	p.now.m = p.now.m.then(matrix{a: cos, b: sin, c: -sin, d: cos})
}

// Translate is a part of vg.Canvas.
func (p *pen) Translate(at vg.Point) {
	p.now.m = p.now.m.then(matrix{a: 1, d: 1, e: float64(at.X), f: float64(at.Y)})
}

// Scale is a part of vg.Canvas.
func (p *pen) Scale(x, y float64) { p.now.m = p.now.m.then(matrix{a: x, d: y}) }
