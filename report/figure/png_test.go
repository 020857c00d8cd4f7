package figure

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fixtures/kit"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Text in a small PNG is that of a large one made smaller: no letter is moved to
// a whole pixel. Where they were, the two ones of "11.3" ran into each other.
func TestSmallTextIsLargeTextMadeSmaller(t *testing.T) {
	const w, h, times = 60, 14, 10
	for _, said := range []string{"11.3 dB", "near.wav, 1", "+11.1"} {
		small, large := inked(said, w, h, 1), inked(said, w, h, times)
		worst, most := 0.0, 0.0
		for x := range w {
			var mean float64
			for i := range times {
				mean += large[x*times+i] / times / times
			}
			worst, most = max(worst, math.Abs(small[x]-mean)), max(most, mean)
		}
		// What the edges of a letter cost in 256 steps of grey, over a column of 14.
		if most < 2 || worst > 0.25 {
			t.Errorf("%q: a column has up to %.2f pixels of ink, and differs by %.2f", said, most, worst)
		}
	}
}

// inked is how many pixels of each column of a drawn text are full, in parts.
func inked(said string, w, h, density int) []float64 {
	canvas := newRaster(w, h, density)
	c := draw.New(canvas)
	st := styleFor(Options{Size: Size{Text: 11}, Theme: Light})
	c.FillPolygon(color.White, []vg.Point{c.Min, {X: c.Max.X, Y: c.Min.Y}, c.Max, {X: c.Min.X, Y: c.Max.Y}})
	c.FillText(st.text(small, false, color.Black), vg.Point{X: 2, Y: vg.Length(h) - 1}, said)
	out := make([]float64, w*density)
	for x := range out {
		for y := range h * density {
			grey := color.GrayModel.Convert(canvas.Image().(image.Image).At(x, y)).(color.Gray)
			out[x] += float64(255-grey.Y) / 255
		}
	}
	return out
}

// Figures for a person to look at, on demand, in every size and theme:
// HUMDIFF_SHOTS=FOLDER go test -run TestShots ./report/figure
func TestShots(t *testing.T) {
	only := os.Getenv("HUMDIFF_ONLY")
	dir := os.Getenv("HUMDIFF_SHOTS")
	if dir == "" {
		t.Skip("HUMDIFF_SHOTS names no folder")
	}
	for name, f := range everyFigure() {
		if !strings.Contains(name, only) {
			continue
		}
		sizes := SizeNames
		if f.Name == "card" {
			sizes = append(sizes[:len(sizes):len(sizes)], NamedSize{"post", Post}, NamedSize{"square-post", SquarePost})
		}
		for _, size := range sizes {
			for theme, colours := range map[string]Theme{"light": Light, "dark": Dark} {
				o := Options{Size: size.Size, Theme: colours, Density: 2}
				if (size.Name == "column" || size.Name == "phone") != (theme == "light") {
					continue
				}
				png := kit.Must(f.PNG(o))(t)
				pdf := kit.Must(f.PDF(o))(t)
				path := filepath.Join(dir, fmt.Sprintf("%s-%s-%s", strings.ReplaceAll(name, "/", "-"), size.Name, theme))
				for ending, data := range map[string][]byte{".svg": f.SVG(o), ".png": png, ".pdf": pdf} {
					kit.OK(t, os.WriteFile(path+ending, data, 0o644))
				}
			}
		}
	}
}

// A palette changes no pixel, and what has more colours than it holds goes without.
func TestFewColours(t *testing.T) {
	for n, packed := range map[int]bool{1: true, 256: true, 257: false} {
		drawn := image.NewRGBA(image.Rect(0, 0, 300, 2))
		for i := range 600 {
			drawn.SetRGBA(i%300, i/300, color.RGBA{uint8(i % n), uint8(i % n >> 8), 7, 255})
		}
		got := fewColours(drawn)
		_, is := got.(*image.Paletted)
		kit.Same(t, is, packed, "%d colours: a palette", n)
		for i := range 600 {
			kit.Same(t, color.RGBAModel.Convert(got.At(i%300, i/300)), color.Color(drawn.RGBAAt(i%300, i/300)), "%d colours: pixel %d", n, i)
		}
	}
}
