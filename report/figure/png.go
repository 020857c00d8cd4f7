package figure

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"

	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// perInch is the points to an inch that gonum's canvases count by. Given as dots
// to an inch, a point is a pixel.
const perInch = 72

// PNG draws a figure as PNG, with Density pixels to a CSS pixel.
func (f Figure) PNG(o Options) ([]byte, error) {
	s := f.sheet(o)
	canvas := newRaster(s.W, s.H, s.Density)
	s.draw(canvas)
	var b bytes.Buffer
	if err := png.Encode(&b, fewColours(canvas.Image())); err != nil {
		return nil, fmt.Errorf("figure %s: %w", f.Name, err)
	}
	return b.Bytes(), nil
}

// fewColours is the same picture as an image with a palette, if it has no more colours
// than one holds: it is packed in a fifth of the time, and takes half the bytes.
func fewColours(from image.Image) image.Image {
	drawn, ok := from.(*image.RGBA)
	if !ok {
		return from
	}
	to := image.NewPaletted(drawn.Rect, nil)
	places := map[color.RGBA]uint8{}
	var last color.RGBA
	var place uint8
	for i := range to.Pix {
		c := color.RGBA{drawn.Pix[4*i], drawn.Pix[4*i+1], drawn.Pix[4*i+2], drawn.Pix[4*i+3]}
		if i == 0 || c != last {
			if place, ok = places[c]; !ok {
				if len(places) == 256 {
					return from
				}
				place = uint8(len(places))
				places[c], to.Palette = place, append(to.Palette, c)
			}
			last = c
		}
		to.Pix[i] = place
	}
	return to
}

// raster is gonum's image, but for its text. That one puts every letter on a whole
// pixel: in small text two ones then run into each other, and the point of
// "near.wav" disappears.
type raster struct{ *vgimg.Canvas }

func newRaster(w, h, density int) raster {
	return raster{vgimg.NewWith(vgimg.UseWH(vg.Length(w), vg.Length(h)), vgimg.UseDPI(perInch*density))}
}

// FillString fills the letters' outlines where they belong, between pixels too.
func (r raster) FillString(f font.Face, at vg.Point, str string) {
	var buf sfnt.Buffer
	em := fixed.I(int(f.Face.UnitsPerEm())) // outlines in the font's own units: nothing is rounded
	scale := f.Font.Size / vg.Length(em)
	var before sfnt.GlyphIndex
	for i, c := range str {
		glyph, err := f.Face.GlyphIndex(&buf, c)
		if err != nil {
			continue
		}
		if i > 0 {
			// A font without such pairs gives an error, and no shift.
			if kern, err := f.Face.Kern(&buf, before, glyph, em, xfont.HintingNone); err == nil {
				at.X += vg.Length(vg.Length(kern) * scale)
			}
		}
		if outline, err := f.Face.LoadGlyph(&buf, glyph, em, nil); err == nil && len(outline) > 0 {
			r.Fill(outlinePath(outline, at, scale))
		}
		if advance, err := f.Face.GlyphAdvance(&buf, glyph, em, xfont.HintingNone); err == nil {
			at.X += vg.Length(vg.Length(advance) * scale)
		}
		before = glyph
	}
}

// outlinePath is a letter's outline at a point of its base line. Fonts count y
// downwards.
func outlinePath(outline sfnt.Segments, at vg.Point, scale vg.Length) (p vg.Path) {
	to := func(q fixed.Point26_6) vg.Point {
		x, y := vg.Length(vg.Length(q.X)*scale), vg.Length(vg.Length(q.Y)*scale) // rounded before they are added, on every processor
		return vg.Point{X: at.X + x, Y: at.Y - y}
	}
	for _, s := range outline {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if len(p) > 0 {
				p.Close()
			}
			p.Move(to(s.Args[0]))
		case sfnt.SegmentOpLineTo:
			p.Line(to(s.Args[0]))
		case sfnt.SegmentOpQuadTo:
			p.QuadTo(to(s.Args[0]), to(s.Args[1]))
		case sfnt.SegmentOpCubeTo:
			p.CubeTo(to(s.Args[0]), to(s.Args[1]), to(s.Args[2]))
		}
	}
	p.Close()
	return p
}
