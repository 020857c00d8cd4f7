package figure

import (
	"image/color"

	"gonum.org/v1/plot/vg"
)

// pen is the state that the canvases of our own share: how things are drawn.
// Coordinates are in CSS pixels, y upwards.
type pen struct {
	now  state
	kept []state
}

type state struct {
	color color.Color
	width float64
	dash  []vg.Length
	shift vg.Length
}

func newPen() pen {
	return pen{now: state{color: color.Black, width: 1}}
}

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

// Translate, Rotate and Scale are a part of vg.Canvas: figures are drawn where they stand.
func (p *pen) Translate(vg.Point) { panic("figure: nothing is moved") }
func (p *pen) Rotate(float64)     { panic("figure: nothing is turned") }
func (p *pen) Scale(x, y float64) { panic("figure: nothing is scaled") }
