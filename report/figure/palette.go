package figure

import (
	"fmt"
	"image/color"
	"strings"
)

// Theme is the colours of a figure, one for each thing drawn. Near takes its
// colour from the set of M. Okabe and K. Ito, "Color Universal Design", 2008
// (from memory): vermillion on light paper, orange on dark. Everything else is
// grey, so that one accent stands out; shapes carry the same meaning without
// colour.
type Theme struct {
	Paper color.RGBA // background
	Ink   color.RGBA // text, axes
	Soft  color.RGBA // secondary text
	Grid  color.RGBA
	Quiet color.RGBA // quiet's area
	Edge  color.RGBA // quiet's marks
	Near  color.RGBA // near's line and marks
	Band  color.RGBA // of near's extremes
}

// The themes. All colours of a theme differ, so that a style sheet can turn
// one theme into the other: see DarkCSS.
var (
	Light = Theme{
		Paper: rgb(0xFFFFFF), Ink: rgb(0x1C1C1C), Soft: rgb(0x575757), Grid: rgb(0xE6E6E6),
		Quiet: rgb(0xCDCDCD), Edge: rgb(0x6B6B6B), Near: rgb(0xD55E00), Band: rgb(0xF5C9A6),
	}
	Dark = Theme{
		Paper: rgb(0x15171A), Ink: rgb(0xECECEC), Soft: rgb(0xB4B7BB), Grid: rgb(0x30343A),
		Quiet: rgb(0x4E545C), Edge: rgb(0xA3A9B1), Near: rgb(0xE69F00), Band: rgb(0x5C4718),
	}
	// Ink is for paper: black and greys, so that any printer and any copy of it
	// shows what there is.
	Ink = Theme{
		Paper: rgb(0xFFFFFF), Ink: rgb(0x000001), Soft: rgb(0x404040), Grid: rgb(0xE0E0E0),
		Quiet: rgb(0xC4C4C4), Edge: rgb(0x6E6E6E), Near: rgb(0x000000), Band: rgb(0x9A9A9A),
	}
)

// ThemeNames are the themes by the names that a user gives.
var ThemeNames = []struct {
	Name string
	Theme
}{{"light", Light}, {"dark", Dark}, {"print", Ink}}

func rgb(hex uint32) color.RGBA {
	return color.RGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 255}
}

func (t Theme) all() []color.RGBA {
	return []color.RGBA{t.Paper, t.Ink, t.Soft, t.Grid, t.Quiet, t.Edge, t.Near, t.Band}
}

// Hex writes a colour as in CSS, e.g. "#D55E00".
func Hex(c color.Color) string {
	r, g, b, _ := c.RGBA()
	return fmt.Sprintf("#%02X%02X%02X", r>>8, g>>8, b>>8)
}

// DarkCSS is style rules that give a light figure inside an element matched by
// the selector the dark theme's colours.
func DarkCSS(selector string) string {
	var b strings.Builder
	dark := Dark.all()
	for i, c := range Light.all() {
		for _, property := range []string{"fill", "stroke"} {
			fmt.Fprintf(&b, "%s [%s=\"%s\"]{%s:%s}\n", selector, property, Hex(c), property, Hex(dark[i]))
		}
	}
	return b.String()
}
