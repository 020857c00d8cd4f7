package figure

import "humdiff/report/doc"

// Options are what a figure looks like. The zero value is a wide figure on
// light paper.
type Options struct {
	Size
	Theme   Theme  // the zero Theme: Light
	ID      string // prefix of the ids in the SVG, for a page that holds several
	Title   string // instead of the figure's own
	Density int    // pixels of a PNG to a CSS pixel; 0: 1

	Unit   doc.Unit // of levels; "": dBFS
	Limits bool     // a spectrum also shows the upper limits of lines that were not found

	// The part of a spectrum to show, so that several figures have the same axes; zero: all of it.
	Hz    [2]float64
	Level [2]float64 // dBFS, or dBV with a Unit of volts
}

// Size is a figure's size in CSS pixels, of which there are 96 to the inch, and
// the height of its axis text. A figure is made higher where its text needs it, and
// lower where it has no use for the room.
type Size struct {
	W, H int
	Text float64
}

// The sizes that figures are published in. Column and Square are made to be read
// where they are shown 360 pixels wide, as on a phone: no text is then less than
// 8 pixels high.
var (
	Phone  = Size{360, 420, 12}   // as it is, on a page that knows how narrow it is
	Column = Size{640, 480, 17}   // in a column of text on the web
	Square = Size{540, 540, 15}   // in a post; 1080 by 1080 at double density
	Wide   = Size{840, 473, 14.5} // across a page on a screen: no text is less than 10 pixels high on one of 768
	Print  = Size{643, 440, 11.5} // 170 mm: between the margins of an A4 page, and all but a letter page

	Post       = Size{1200, 630, 27}  // the card, where a link to a page is shown with an image
	SquarePost = Size{1080, 1080, 28} // the card by itself
)

// NamedSize is a size by the name that a user gives.
type NamedSize struct {
	Name string
	Size
}

// SizeNames are the sizes to choose from.
var SizeNames = []NamedSize{{"column", Column}, {"square", Square}, {"print", Print}, {"wide", Wide}, {"phone", Phone}}

func (o Options) withDefaults(id string) Options {
	if o.Size == (Size{}) {
		o.Size = Wide
	}
	if o.Theme == (Theme{}) {
		o.Theme = Light
	}
	if o.ID == "" {
		o.ID = id
	}
	o.Density = max(o.Density, 1)
	return o
}

// part says that only a part of the axes is shown.
func (o Options) part() bool { return o.Hz != [2]float64{} || o.Level != [2]float64{} }
