package figure

import (
	"bytes"
	"fmt"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// perInch is the points to an inch that gonum's canvases count by. Given as dots
// to an inch, a point is a pixel.
const perInch = 72

// PNG draws a figure as PNG, with Density pixels to a CSS pixel.
func (f Figure) PNG(o Options) ([]byte, error) {
	s := f.sheet(o)
	canvas := vgimg.NewWith(vgimg.UseWH(vg.Length(s.W), vg.Length(s.H)), vgimg.UseDPI(perInch*s.Density))
	s.draw(canvas)
	var b bytes.Buffer
	if _, err := (vgimg.PngCanvas{Canvas: canvas}).WriteTo(&b); err != nil {
		return nil, fmt.Errorf("figure %s: %w", f.Name, err)
	}
	return b.Bytes(), nil
}
