package doc

import (
	"fmt"
	"math"
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
	KeyInNear     = "line in near, with its harmonic"
	KeyInQuiet    = "line in quiet"
	KeyLimitNear  = "upper limit in near"
	KeyLimitQuiet = "upper limit in quiet"
	KeyAlone      = "line, with its harmonic"
	KeyLimit      = "upper limit of a line not found"
	KeyMeasured   = "value and its interval"
	KeyRange      = "range without a likeliest value"
	KeyAtLeast    = "at least this much"
	KeyAtMost     = "at most this much"
	KeyAlike      = "can't be told apart"
	KeyZero       = "interval holds zero"
	KeyBound      = "only a bound"
	KeyHum        = "hum"
)

// Rise is the finding of a pair in so few words that it can stand above a figure.
func Rise(p model.Pair) string {
	d := p.Hum.Delta
	if Clipped(p) != "" || Obstacle(p) != "" {
		return "Hum, quiet and near a live lead: not comparable"
	}
	lo, hi := ends(d)
	v, measured := d.Value()
	switch c := changeOf(d); {
	case c == rose && measured:
		return fmt.Sprintf("Hum rises %s beside a live lead", DB(model.Num(v)))
	case c == rose:
		return fmt.Sprintf("Hum rises by at least %s beside a live lead", DB(down(lo)))
	case c == fell && measured:
		return fmt.Sprintf("Hum falls %s beside a live lead", DB(model.Num(-v)))
	case c == fell:
		return fmt.Sprintf("Hum falls by at least %s beside a live lead", DB(down(-hi)))
	case c == same:
		return "No change of hum is shown beside a live lead"
	case c == nothing:
		return "No hum is found, quiet or beside a live lead"
	}
	return "A change of hum beside a live lead is not decided"
}

// ofChannel adds the channel to a kind of figure, where it isn't the first.
func ofChannel(kind string, p model.Pair) string {
	if p.Near.Channel == 1 && p.Quiet.Channel == 1 {
		return kind
	}
	return kind + ", " + lowerFirst(channels(p))
}

// conditions are the phrases that every figure of a pair has in its caption.
func conditions(p model.Pair) []string {
	said := []string{
		"Near: " + sideText(p.Near), "quiet: " + sideText(p.Quiet), "one placement of the lead",
	}
	if c := Clipped(p); c != "" {
		said = append(said, "not usable as it is: "+c)
	}
	return said
}

func sideText(c model.Capture) string {
	return fmt.Sprintf("%s, channel %d, %s, %s", Verbatim(Shorten(Base(c.File), 48)), c.Channel, Averaged(c), MainsFound(c.Mains))
}

// Bins says how wide a spectrum's bins are.
func Bins(t model.Trace) string {
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

func (d Drawn) phrases() (said []string) {
	if d.StepDB.Ok() && d.StepDB != 0 {
		said = append(said, fmt.Sprintf("quiet is drawn on near's scale: its own full scale is %s from near's", DB(-d.StepDB)))
	}
	if d.Part {
		said = append(said, "a part of the axes: what lies outside is not drawn")
	}
	return said
}

// SpectrumText is the text of a pair's spectrum.
func SpectrumText(set model.Settings, p model.Pair, d Drawn) FigureText {
	t := FigureText{
		Title: Rise(p), Kind: ofChannel("Spectrum, quiet and near", p),
		Desc: strings.Join(append([]string{"Averaged spectra of quiet (grey area) and near (line).", Headline(p, set)}, LineCounts(p)...), " "),
		X:    "frequency, Hz", Y: "level in a bin, " + d.Unit,
	}
	t.Caption = add(conditions(p), Bins(p.Near.Trace))
	t.Caption = append(t.Caption, spectrumNotes(set, p.Near, d)...)
	t.Caption = append(add(t.Caption, unsteadyPhrase(UnsteadyLines(p), " marked "+UnsteadyMark)), d.phrases()...)
	return t
}

// AloneText is the text of the spectrum of one capture.
func AloneText(set model.Settings, c model.Capture, d Drawn) FigureText {
	said := CaptureHeadline(c, set)
	t := FigureText{Title: said, Kind: "Spectrum", Desc: "Averaged spectrum of one capture. " + said, X: "frequency, Hz", Y: "level in a bin, " + d.Unit}
	t.Caption = add([]string{sideText(c)}, Bins(c.Trace))
	t.Caption = append(t.Caption, spectrumNotes(set, c, d)...)
	t.Caption = append(add(t.Caption, unsteadyPhrase(UnsteadyAlone(c), " marked "+UnsteadyMark)), d.phrases()...)
	return t
}

// spectrumNotes says what a reader could wonder at in the drawing.
func spectrumNotes(set model.Settings, near model.Capture, d Drawn) []string {
	notes := []string{"lines sought to " + Hz(model.Num(set.UpToHz))}
	if d.BelowTrace {
		notes = append(notes, "lines below the trace were found by averaging over the whole capture")
	}
	if d.Limits {
		notes = append(notes, "open marks, where there is room: a line not found lies below its limit")
	}
	if len(near.Tones) > 0 {
		notes = append(notes, "peaks with a frequency are tones, not counted as hum")
	}
	return notes
}

func unsteadyPhrase(lines, marked string) string {
	if lines == "" {
		return ""
	}
	return "levels" + marked + " changed during the capture: " + lines
}

// LinesText is the text of the figure of all lines, before and after.
func LinesText(set model.Settings, p model.Pair, d Drawn) FigureText {
	t := FigureText{
		Title: Rise(p), Kind: ofChannel("Each hum line, from quiet to near", p),
		Desc: strings.Join(append([]string{"Level of each line in quiet (squares) and near (circles).", Headline(p, set)}, LineCounts(p)...), " "),
		X:    "harmonic of the mains" + fundamental(p.NominalHz()),
		Y:    fmt.Sprintf("level, %s, with %s intervals from recording noise alone", d.Unit, Percent(set.Confidence)),
	}
	t.Caption = add(conditions(p), unsteadyPhrase(UnsteadyLines(p), ""))
	if beyond := count(p.Lines, func(l model.LineChange) bool { return l.Harmonic > d.Last }); beyond > 0 {
		t.Caption = append(t.Caption, fmt.Sprintf("%s above harmonic %d not drawn: found in neither capture", Count(beyond, "line"), d.Last))
	}
	if p.Hum.Delta.Known() {
		t.Caption = append(t.Caption, fmt.Sprintf("hum total over %s: %s", Count(p.Hum.Lines, "line"), Delta(p.Hum.Delta)))
	}
	t.Caption = append(t.Caption, d.phrases()...)
	return t
}

func fundamental(nominal model.Num) string {
	if !nominal.Ok() || nominal <= 0 {
		return ""
	}
	return fmt.Sprintf(" (1 is %s)", Hz(nominal))
}

// CycleText is the text of the averaged mains cycle.
func CycleText(set model.Settings, p model.Pair, d Drawn) FigureText {
	near, quiet := crest(p.Near.Cycle), crest(p.Quiet.Cycle)
	t := FigureText{
		Title: Rise(p), Kind: ofChannel("One mains cycle, quiet and near", p),
		Desc: fmt.Sprintf("One averaged mains cycle. Near: %s. Quiet: %s.", near, quiet),
		X:    "time from the fundamental's upward zero crossing, ms", Y: "signal, " + d.Unit,
		Caption: append(conditions(p), "averaged on the mains, lines to "+Hz(model.Num(set.UpToHz))+" only",
			"near: "+near, "quiet: "+quiet, "each starts at its own zero crossing, so the phase between them is not shown"),
	}
	if !set.FullScaleVolts.Ok() {
		t.Caption = append(t.Caption, "volts are unknown")
	}
	t.Caption = append(t.Caption, d.phrases()...)
	return t
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
	t := FigureText{
		Title: TrendHeadline(c, set), Kind: "Hum against time", Desc: "Hum against time. " + TrendHeadline(c, set),
		X: "time, s", Y: "hum in " + Fixed(model.Num(math.Round(float64(c.StepS)*1000)), 0) + " ms, " + d.Unit,
	}
	t.Caption = []string{sideText(model.Capture{Side: c.Side, Mains: c.Mains}),
		fmt.Sprintf("hum is the sum of %s to %s", Count(c.Lines-len(c.LeftOut), "line"), Hz(model.Num(set.UpToHz)))}
	t.Caption = add(t.Caption, trendBars(c))
	if len(c.Harmonics) > drawn {
		t.Caption = append(t.Caption, fmt.Sprintf("only the first %d chosen lines are drawn", drawn))
	}
	return t
}

func trendBars(c model.TrendCapture) string {
	switch still := stillSpans(c); {
	case still > 1 && c.Loudest >= 0:
		return "bars below: hum stands still; the thick one is where it is strongest"
	case still == 1:
		return "bar below: hum stands still"
	case still > 1:
		return "bars below: hum stands still"
	}
	return ""
}

// KeyHarmonic labels a chosen line.
func KeyHarmonic(h int) string { return fmt.Sprintf("harmonic %d", h) }

// HarmonicLabel is a line's harmonic, marked where its level changed.
func HarmonicLabel(l model.Row) string {
	if l.Near.Unsteady || l.Quiet.Unsteady {
		return fmt.Sprint(l.Harmonic) + UnsteadyMark
	}
	return fmt.Sprint(l.Harmonic)
}
