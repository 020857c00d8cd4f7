package doc

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/report/model"
)

// FigureText is what is written on a figure.
type FigureText struct {
	Title   string   // the finding
	Kind    string   // what is drawn; a line below the title
	Desc    string   // for those who don't see it
	X, Y    string   // of the axes, with units
	Caption []string // conditions, in phrases: they are joined by semicolons
}

// Labels of figures' keys.
const (
	KeyQuiet      = "quiet"
	KeyNear       = "near"
	KeyResidual   = "residual"
	KeyLimitNear  = "upper limit in near"
	KeyLimitQuiet = "upper limit in quiet"
	KeyLimit      = "upper limit of a line not found"
	KeyMeasured   = "value and its interval"
	KeyRange      = "range, no single value"
	KeyAtLeast    = "at least this much"
	KeyAtMost     = "at most this much"
	KeyAlike      = "can't be told apart"
	KeyHum        = "hum"
)

// ofChannel adds the channel to a kind of figure, where it isn't the first.
func ofChannel(kind string, p model.Pair) string {
	if p.Near.Channel == 1 && p.Quiet.Channel == 1 {
		return kind
	}
	return kind + ", " + lowerFirst(channels(p))
}

// sideText is a capture as captions have it: the kind says which channel where
// files have more than one, and the page how sure the mains frequency is.
func sideText(c model.Capture) string {
	mains := "no mains frequency found"
	if c.Mains.Detected {
		mains = "mains " + Fixed(c.Mains.Hz, 4) + " Hz"
	}
	return fmt.Sprintf("%s, %s, %s", Printable(shorten(Base(c.File), 48)), averaged(c), mains)
}

// bins says how wide a spectrum's bins are.
func bins(t model.Trace) string {
	if !t.BinHz.Ok() || !t.ENBWHz.Ok() {
		return ""
	}
	return fmt.Sprintf("bins of %s Hz, ENBW %s Hz, %s window", Fixed(t.BinHz, 2), Fixed(t.ENBWHz, 2), Printable(t.Window))
}

func add(list []string, phrases ...string) []string {
	for _, p := range phrases {
		if p != "" {
			list = append(list, p)
		}
	}
	return list
}

// Drawn is what a figure leaves out or adds, which its text has to say.
type Drawn struct {
	Part       bool      // only a part of the axes
	BelowTrace bool      // lines are marked below their trace
	Limits     bool      // open marks of limits
	StepDB     model.Num // by which quiet was moved onto near's scale; 0 or None: it wasn't
	Last       int       // last harmonic that has a place; 0: all
	Unit       string    // of levels, as it stands on the axis
}

// drawn is a pair as a figure draws it.
type drawn struct {
	pairSaid
	Drawn
	Unsteady string // lines
	Beyond   int    // lines above the last harmonic that has a place
}

func drawnOf(set model.Settings, p model.Pair, d Drawn) drawn {
	return drawn{pairOf(p, set), d, unsteadyLines(p), count(p.Lines, func(l model.LineChange) bool { return l.Harmonic > d.Last })}
}

// captioned is a figure's text with its caption from told.toml, and its title as titles end.
func (t FigureText) captioned(place string, v any) FigureText {
	t.Title = strings.TrimSuffix(t.Title, ".")
	t.Caption = tell(place, v)
	return t
}

// counted is a description with the answer and how many lines were found where.
func counted(what string, p model.Pair, set model.Settings) string {
	return strings.Join(slices.Concat([]string{what, headline(p, set)}, tell("pair.counts", found{pairSaid: pairOf(p, set), Counts: CountLines(p)})), " ")
}

// SpectrumText is the text of a pair's spectrum.
func SpectrumText(set model.Settings, p model.Pair, d Drawn) FigureText {
	return FigureText{Title: rise(p, set), Kind: ofChannel("Spectrum, quiet and near", p), X: "frequency, Hz", Y: "level in a bin, " + d.Unit,
		Desc: counted("Averaged spectra of quiet (grey area, its lines as squares) and near (line, its lines as dots).", p, set)}.captioned("figure.spectrum", drawnOf(set, p, d))
}

// AloneText is the text of the spectrum of one capture.
func AloneText(set model.Settings, c model.Capture, d Drawn) FigureText {
	said := captureHeadline(c, set)
	return FigureText{Title: said, Kind: "Spectrum", X: "frequency, Hz", Y: "level in a bin, " + d.Unit,
		Desc: "Averaged spectrum of one capture. " + said}.captioned("figure.alone", drawn{pairOf(model.Pair{Near: c}, set), d, unsteadyAlone(c), 0})
}

// LinesText is the text of the figure of all lines, before and after.
func LinesText(set model.Settings, p model.Pair, d Drawn) FigureText {
	return FigureText{Title: rise(p, set), Kind: ofChannel("Each hum line, from quiet to near", p),
		Desc: counted("Level of each line in quiet (squares) and near (circles).", p, set),
		X:    "harmonic of the mains" + fundamental(p.NominalHz()),
		Y:    fmt.Sprintf("level, %s, with %s intervals from recording noise alone", d.Unit, Percent(set.Confidence)),
	}.captioned("figure.lines", drawnOf(set, p, d))
}

func fundamental(nominal model.Num) string {
	if !nominal.Ok() || nominal <= 0 {
		return ""
	}
	return fmt.Sprintf(" (1 is %s)", Hz(nominal))
}

// CycleText is the text of the averaged mains cycle.
func CycleText(set model.Settings, p model.Pair, d Drawn) FigureText {
	return FigureText{Title: rise(p, set), Kind: ofChannel("One mains cycle, quiet and near", p),
		Desc: fmt.Sprintf("One averaged mains cycle. Near: %s. Quiet: %s.", crest(p.Near.Cycle), crest(p.Quiet.Cycle)),
		X:    "time from the fundamental's upward zero crossing, ms", Y: "signal, " + d.Unit}.captioned("figure.cycle", drawnOf(set, p, d))
}

func crest(c model.Cycle) string {
	if len(c.Samples) < 2 {
		return "none, for want of a mains track"
	}
	if !c.Crest.Ok() {
		return "crest factor unknown"
	}
	return "crest factor " + Fixed(c.Crest, 2)
}

// MillionthsOfFullScale is the unit of a cycle whose scale isn't known.
const MillionthsOfFullScale = "millionths of full scale"

// TrendText is the text of hum against time; of the chosen lines, the first drawn
// ones are drawn.
func TrendText(set model.Settings, c model.TrendCapture, d Drawn, drawn int) FigureText {
	said := trendHeadline(c, set)
	return FigureText{Title: said, Kind: "Hum against time", Desc: "Hum against time. " + said,
		X: "time, s", Y: "hum in " + Fixed(model.Num(math.Round(float64(c.StepS)*1000)), 0) + " ms, " + d.Unit,
	}.captioned("figure.trend", map[string]any{"side": model.Capture{Side: c.Side, Mains: c.Mains}, "trend": trendOf(c, set), "more": len(c.Harmonics) > drawn, "drawn": drawn})
}

// KeyHarmonic labels a chosen line.
func KeyHarmonic(h int) string { return fmt.Sprintf("harmonic %d", h) }

// KeyAdded labels what a reference shows to have come since the first span.
func KeyAdded(c model.TrendCapture) string {
	return fmt.Sprintf("added since span %d, by the reference", c.FirstReferred()+1)
}

// HarmonicLabel is a line's harmonic, marked where its level changed.
func HarmonicLabel(l model.Row) string {
	if l.Near.Unsteady || l.Quiet.Unsteady {
		return fmt.Sprint(l.Harmonic) + unsteadyMark
	}
	return fmt.Sprint(l.Harmonic)
}
