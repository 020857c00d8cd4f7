package figure

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image/color"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/fixtures/kit"
	"humdiff/report/doc"
	"humdiff/report/internal/samples"
	"humdiff/report/model"

	stdfont "golang.org/x/image/font"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"
)

var results = sync.OnceValue(func() map[string]model.Compare {
	return map[string]model.Compare{
		"compare": samples.Compare(), "no volts": samples.NoVolts(), "nothing": samples.NothingFound(),
		"new in near": samples.NewInNear(), "swapped": samples.Swapped(), "unchanged": samples.Unchanged(),
		"hostile": samples.Hostile(), "long names": samples.LongNames(), "mains differ": samples.MainsDiffer(), "clipped": samples.Clipped(), "unsteady": samples.Unsteady(), "bare": bare(), "many lines": manyLines(),
	}
})

// bare is a pair with nothing in it but its sides.
func bare() model.Compare {
	r := samples.NothingFound()
	p := &r.Pairs[0]
	blank := func(c model.Capture) model.Capture {
		return model.Capture{Side: c.Side, Mains: model.Mains{NominalHz: model.None, Hz: model.None, U95Hz: model.None}}
	}
	*p = model.Pair{Quiet: blank(p.Quiet), Near: blank(p.Near)}
	return r
}

// manyLines has lines to 20 kHz, as many as an audio band holds at 50 Hz, each
// with a delta.
func manyLines() model.Compare {
	r := samples.Compare()
	p := &r.Pairs[0]
	for h := len(p.Lines) + 1; h <= 400; h++ {
		l, quiet, near := p.Lines[h%6], p.Quiet.Lines[h%6], p.Near.Lines[h%6]
		for _, x := range []struct {
			harmonic *int
			hz       *model.Num
		}{{&l.Harmonic, &l.Hz}, {&quiet.Harmonic, &quiet.Hz}, {&near.Harmonic, &near.Hz}} {
			*x.harmonic, *x.hz = h, model.Num(50*h)
		}
		p.Lines, p.Quiet.Lines, p.Near.Lines = append(p.Lines, l), append(p.Quiet.Lines, quiet), append(p.Near.Lines, near)
	}
	return r
}

var kinds = map[string]func(model.Settings, model.Pair) Figure{"spectrum": Spectrum, "lines": Lines, "cycle": Cycle, "alone": aloneOf}

// aloneOf is near's spectrum as that of a capture compared with no other.
func aloneOf(set model.Settings, p model.Pair) Figure { return Alone(set, p.Near) }

// everyFigure is every kind of figure of every samples.
func everyFigure() map[string]Figure {
	all := sessionFigures()
	set := model.Settings{FullScaleVolts: model.None, UpToHz: 1000}
	all["trend/some"], all["trend/long"] = Trend(set, someTrend()), Trend(set, longTrend())
	all["coupling/some"] = Coupling(somePassport(), 0)
	for name, r := range results() {
		for kind, of := range kinds {
			all[kind+"/"+name] = of(r.Settings, r.Pairs[0])
		}
		if len(doc.PostedRows(r.Pairs[0], 1)) > 0 {
			all["card/"+name] = Card(r, r.Pairs[0])
		}
	}
	return all
}

// somePassport has tones of all drives, one of them a bound.
func somePassport() model.Passport {
	c := model.CablePassport{Cable: "Heron", Couplings: []model.Quotient{{Quantity: model.OfCapacitance, Unit: "F", Value: estimate.Of(3e-12, 2.8e-12, 3.2e-12), Hz: model.None}}}
	for _, drive := range model.Drives {
		for i, hz := range []float64{75, 375, 925, 2425, 7825} {
			size := map[string]float64{model.DriveWire: 2e-8 * hz, model.DriveCoil: 3e-7 * hz, model.DriveShield: 0.015}[drive]
			e := estimate.Of(size, size*0.9, size*1.1)
			if drive == model.DriveCoil && i == 0 {
				e = estimate.Below(size)
			}
			c.Frequency = append(c.Frequency, model.AtTone{Drive: drive, Hz: model.Num(hz), Size: e})
		}
	}
	return model.Passport{CableNumbers: model.CableNumbers{Cables: []model.CablePassport{c}, Runs: []model.DrivenRun{{Side: model.Side{File: "driven.wav", EndS: 60}}}}}
}

// Every figure that pairs give is among those that the tests here try.
func TestEveryFigureIsTried(t *testing.T) {
	for name, r := range results() {
		for _, f := range OfPair(r.Settings, r.Pairs[0]) {
			if kinds[f.Name] == nil {
				t.Errorf("%s: add %q to kinds", name, f.Name)
			}
		}
	}
}

// Every kind of figure of every sample in every size is drawn to the same bytes twice,
// and stands alone; its texts have room and its marks are round.
func TestEveryFigure(t *testing.T) {
	for name, fig := range everyFigure() {
		sizes := []Options{{Size: Phone, Limits: strings.HasSuffix(name, "/unsteady")}}
		if strings.HasPrefix(name, "card/") {
			sizes = append(sizes, Options{Size: Post}, Options{Size: SquarePost, Theme: Dark})
		}
		if strings.HasSuffix(name, "/compare") || strings.HasSuffix(name, "/some") || strings.HasSuffix(name, "/many lines") {
			sizes = append(sizes, Options{Size: Column}, Options{Size: Wide}, Options{Size: Square}, Options{Size: Print}, Options{Size: Size{360, 150, 12}, Theme: Dark})
		}
		for _, o := range sizes {
			t.Run(fmt.Sprintf("%s/%d×%d", name, o.W, o.H), func(t *testing.T) {
				svg := fig.SVG(o)
				if !bytes.Equal(svg, fig.SVG(o)) {
					t.Error("drawn twice, two results")
				}
				if kit.Raced() {
					return // nothing below runs at the same time
				}
				d := parse(t, svg)
				hasRoom(t, d)
				standsAlone(t, svg, d)
				isRound(t, svg)
			})
		}
	}
}

// document is what the tests read out of an SVG.
type document struct {
	Width      float64       `xml:"width,attr"`
	Height     float64       `xml:"height,attr"`
	Labelled   string        `xml:"aria-labelledby,attr"`
	Title      labelled      `xml:"title"`
	Desc       labelled      `xml:"desc"`
	texts      []textElement // in any depth
	names      map[string]bool
	attributes map[string]bool
	asks       []string // attributes that speak of the world outside
}

type labelled struct {
	ID   string `xml:"id,attr"`
	Text string `xml:",chardata"`
}

type textElement struct {
	X      float64 `xml:"x,attr"`
	Y      float64 `xml:"y,attr"`
	Size   float64 `xml:"font-size,attr"`
	Anchor string  `xml:"text-anchor,attr"`
	Weight string  `xml:"font-weight,attr"`
	Text   string  `xml:",chardata"`
	Inside []struct {
		XMLName xml.Name
	} `xml:",any"`
}

func parse(t *testing.T, b []byte) document {
	t.Helper()
	d := document{names: map[string]bool{}, attributes: map[string]bool{}}
	kit.OK(t, xml.Unmarshal(b, &d))
	for in := xml.NewDecoder(bytes.NewReader(b)); ; {
		token, err := in.Token()
		if err == io.EOF {
			return d
		}
		kit.OK(t, err)
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		d.names[e.Name.Local] = true
		for _, a := range e.Attr {
			d.attributes[a.Name.Local] = true
			if a.Name.Local != "xmlns" && strings.ContainsAny(a.Value, "(:/") && outside.MatchString(a.Value) {
				d.asks = append(d.asks, a.Name.Local+"="+a.Value)
			}
		}
		if e.Name.Local == "text" {
			var text textElement
			kit.OK(t, in.DecodeElement(&text, &e))
			if len(text.Inside) > 0 {
				t.Errorf("a text holds elements: %v", text)
			}
			d.texts = append(d.texts, text)
		}
	}
}

// box is where a text lies, with the room left for wider fonts.
func (e textElement) box() vg.Rectangle {
	f := sans
	f.Size = vg.Length(e.Size)
	if e.Weight != "" {
		f.Weight = stdfont.WeightBold
	}
	w, _, _ := handler.Box(e.Text, f)
	w *= 1.1
	x := vg.Length(e.X)
	switch e.Anchor {
	case "middle":
		x -= w / 2
	case "end":
		x -= w
	}
	// Capitals and digits reach 0.72 of the size above the base line; 0.2 below.
	return vg.Rectangle{Min: vg.Point{X: x, Y: vg.Length(e.Y - 0.72*e.Size)}, Max: vg.Point{X: x + w, Y: vg.Length(e.Y + 0.2*e.Size)}}
}

// hasRoom wants no text to leave the figure and no two to meet, even in a font a tenth wider.
func hasRoom(t *testing.T, d document) {
	if len(d.texts) < 2 {
		t.Errorf("only %d texts", len(d.texts))
	}
	for i, a := range d.texts {
		box := a.box()
		if box.Min.X < 0 || box.Min.Y < 0 || box.Max.X > vg.Length(d.Width) || box.Max.Y > vg.Length(d.Height) {
			t.Errorf("%q at %.0f, %.0f leaves the figure of %.0f × %.0f", a.Text, a.X, a.Y, d.Width, d.Height)
		}
		if a.Size < 8.7 {
			t.Errorf("%q is %g px high", a.Text, a.Size)
		}
		for _, b := range d.texts[:i] {
			if touchesAny(box, []vg.Rectangle{b.box()}) {
				t.Errorf("%q and %q overlap", a.Text, b.Text)
			}
		}
	}
}

var outside = regexp.MustCompile(`(?i)url\(|https?:|data:|javascript:|//`)

// standsAlone wants a small file that names itself, and asks for and does nothing.
func standsAlone(t *testing.T, svg []byte, d document) {
	if len(svg) > 300_000 {
		t.Errorf("%d bytes", len(svg))
	}
	if d.Title.Text == "" || d.Desc.Text == "" || d.Labelled != d.Title.ID+" "+d.Desc.ID {
		t.Errorf("title %q, description %q, labelled by %q", d.Title, d.Desc, d.Labelled)
	}
	for _, bad := range []string{"script", "style", "image", "foreignObject", "a", "use", "img", "font-face"} {
		if d.names[bad] {
			t.Errorf("holds a %s element", bad)
		}
	}
	for _, bad := range []string{"href", "style", "onload", "onerror", "onclick", "class"} {
		if d.attributes[bad] {
			t.Errorf("holds a %s attribute", bad)
		}
	}
	if len(d.asks) > 0 {
		t.Errorf("refers to the outside: %v", d.asks)
	}
	kit.Lacks(t, "what is no number", string(svg), "NaN", "Inf")
}

var arc = regexp.MustCompile(`m-([\d.]+) 0a([\d.]+) ([\d.]+) 0 0 1 ([\d.]+) 0a`)

// isRound wants round marks to be round however they are rounded: both halves of a circle
// are as high as it is wide.
func isRound(t *testing.T, svg []byte) {
	for _, m := range arc.FindAllStringSubmatch(string(svg), -1) {
		r, _ := strconv.ParseFloat(m[1], 64)
		across, _ := strconv.ParseFloat(m[4], 64)
		if m[1] != m[2] || m[2] != m[3] || math.Abs(across-2*r) > 0.011 {
			t.Error(m[0])
		}
	}
}

// A card is of the size that it is shown in, whatever the names in it; it has a number
// for each of its lines, and at least one caveat.
func TestCardFits(t *testing.T) {
	for name, r := range results() {
		p := r.Pairs[0]
		if len(doc.PostedRows(p, 1)) == 0 || r.MayPublish.State == model.NotYet {
			continue
		}
		for _, size := range []Size{Post, SquarePost} {
			d := parse(t, Card(r, p).Marked("AAAA-BBBB-CCCC").SVG(Options{Size: size}))
			if int(d.Width) != size.W || int(d.Height) != size.H {
				t.Errorf("%s: %g × %g, want %v", name, d.Width, d.Height, size)
			}
			all := allText(d)
			for _, l := range doc.PostedRows(p, doc.MostPosted) {
				if !strings.Contains(all, doc.PostedDelta(l.Delta)) {
					t.Errorf("%s: no %s of harmonic %d: %s", name, doc.PostedDelta(l.Delta), l.Harmonic, all)
				}
			}
			if c := doc.Caveats(r, p); len(c) == 0 || !strings.Contains(all, c[0]) || !strings.Contains(all, "fingerprint AAAA-BBBB-CCCC") || !strings.Contains(all, p.Near.SHA256[:16]) {
				t.Errorf("%s: %s", name, all)
			}
		}
	}
}

// What a figure needs in order to be published by itself.
func TestConditionsAreOnIt(t *testing.T) {
	r := samples.Compare()
	for kind, want := range map[string][]string{
		"spectrum": {"Hum rises 16.3 dB beside a live lead", "Spectrum, quiet and near", "frequency, Hz", "level in a bin, dBFS rms", "ENBW 1.48 Hz"},
		"lines":    {"harmonic of the mains (1 is 50 Hz)", "level, dBFS rms, with 95 % intervals", "upper limit in quiet", "hum total over 100 lines: 16.3 dB"},
		"cycle":    {"ms", "signal, nV", "crest factor"},
	} {
		all := allText(parse(t, kinds[kind](r.Settings, r.Pairs[0]).SVG(Options{})))
		for _, w := range append(want, "heron-near.wav, 90 s to 150 s", "heron-quiet.wav, 0 s to 60 s",
			"mains 50.0127 Hz", "mains 49.9812 Hz", "one placement of the lead") {
			kit.Has(t, kind, all, w)
		}
	}
}

// Lines that changed their level are named in the caption, seven of them as six
// and one more, and marked where they have a number.
func TestUnsteadyLinesAreNamed(t *testing.T) {
	r := samples.Unsteady()
	for kind, want := range map[string]string{"spectrum": "levels marked ~ changed during the capture: ", "lines": "levels changed during the capture: "} {
		doc := parse(t, kinds[kind](r.Settings, r.Pairs[0]).SVG(Options{}))
		kit.Has(t, kind, allText(doc), want+"harmonics 1, 3, 5, 7, 9, 11 and 1 more in near, harmonic 2 in quiet")
		marked := 0
		for _, e := range doc.texts {
			if regexp.MustCompile(`^\d+~$`).MatchString(e.Text) {
				marked++
			}
		}
		kit.Same(t, marked > 0, kind == "spectrum", "%s: %d numbers are marked", kind, marked)
	}
}

func allText(d document) string {
	var parts []string
	for _, e := range d.texts {
		parts = append(parts, e.Text)
	}
	return strings.Join(parts, " ")
}

// Every line found has its mark in the figure of lines, and no more: the key
// adds one of each kind.
func TestLinesMarksEveryLine(t *testing.T) {
	r := samples.Compare()
	svg := string(Lines(r.Settings, r.Pairs[0]).SVG(Options{Size: Column}))
	n := doc.CountLines(r.Pairs[0])
	for colour, want := range map[color.Color]int{Light.Near: n.Both + n.NearOnly + 1, Light.Edge: n.Both + n.QuietOnly + 1} {
		kit.Same(t, strings.Count(svg, `Z" fill="`+Hex(colour)+`"`), want, "%s: filled marks", Hex(colour))
	}
}

// Every line found in near has its mark, whether or not its number fits.
func TestSpectrumMarksEveryLine(t *testing.T) {
	r := samples.Compare()
	svg := string(Spectrum(r.Settings, r.Pairs[0]).SVG(Options{Size: Phone}))
	n := doc.CountLines(r.Pairs[0])
	if got := strings.Count(svg, `Z" fill="`+Hex(Light.Near)+`"`); got != n.Both+n.NearOnly {
		t.Errorf("%d marks for %d lines", got, n.Both+n.NearOnly)
	}
	if got := strings.Count(svg, `Z" fill="`+Hex(Light.Edge)+`"`); got != n.Both+n.QuietOnly {
		t.Errorf("%d marks for %d lines in quiet", got, n.Both+n.QuietOnly)
	}
}

// A peak one entry wide is drawn to its full height, however narrow the figure.
func TestNoPeakVanishes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 5000).Draw(t, "entries")
		peak := rapid.IntRange(0, n-1).Draw(t, "peak")
		width := rapid.Float64Range(10, 2000).Draw(t, "width")
		tr := model.Trace{}
		for i := range n {
			tr.Hz = append(tr.Hz, model.Num(i))
			tr.LoDBFS, tr.MeanDBFS, tr.HiDBFS = append(tr.LoDBFS, -150), append(tr.MeanDBFS, -149), append(tr.HiDBFS, -148)
		}
		tr.HiDBFS[peak] = -90
		place := func(hz, db model.Num) vg.Point {
			return vg.Point{X: vg.Length(float64(hz) / float64(n) * width), Y: vg.Length(db)}
		}
		all := pixels(tr, place)
		for i, p := range all {
			if x := vg.Length(float64(peak) / float64(n) * width); p.hi == -90 && math.Abs(float64(p.x-x)) <= 0.75 {
				if y := along(all)[i].Y; y != -90 {
					t.Fatalf("drawn at %g", y)
				}
				return
			}
		}
		t.Fatal("the peak vanished")
	})
}

// A full-scale sine of 1 V rms has an amplitude of √2 V, so a sample of half
// full scale is 0.70711 V.
func TestCycleVolts(t *testing.T) {
	p := model.Pair{Near: model.Capture{Cycle: model.Cycle{Hz: 50, Samples: []model.Num{0, 0.5, 0, -0.5}}}}
	u := cycleUnit(model.Settings{FullScaleVolts: 1}, p)
	if got := 0.5 * u.scale; u.name != "mV" || math.Abs(got-707.10678) > 1e-4 {
		t.Errorf("%g %s, want 707.10678 mV", got, u.name)
	}
	u = cycleUnit(model.Settings{FullScaleVolts: model.None}, p)
	if u.name != "millionths of full scale" || u.scale != 1e6 {
		t.Errorf("without a scale: %+v", u)
	}
}

func TestTicks(t *testing.T) {
	label := func(s scale) string {
		var out []string
		for _, k := range s.ticks {
			if k.Label != "" {
				out = append(out, k.Label)
			}
		}
		return strings.Join(out, " ")
	}
	for _, c := range []struct{ got, want string }{
		{label(logHz(20, 20000, 900, 15)), "20 50 100 200 500 1k 2k 5k 10k 20k"},
		{label(logHz(20, 4000, 100, 15)), "100 1k"},
		{label(even(-160, -93, 7, 10)), "−160 −150 −140 −130 −120 −110 −100"},
		{label(even(-1, 1, 5, 1e-12)), "−1.0 −0.5 0.0 0.5 1.0"},
		{label(even(-0.3, 0.3, 3, 1e-12)), "−0.2 0.0 0.2"},
		{label(harmonics(63, 18)), "1 5 10 15 20 25 30 35 40 45 50 55 60"},
		{label(harmonics(10, 18)), "1 2 3 4 5 6 7 8 9 10 11"},
	} {
		kit.Same(t, c.got, c.want, "c.got")
	}
}

// Contrast by WCAG 2.2: text 4.5 to 1 (1.4.3), what carries meaning 3 to 1
// (1.4.11).
func TestContrast(t *testing.T) {
	for name, th := range map[string]Theme{"light": Light, "dark": Dark} {
		for _, c := range []struct {
			a, b  color.Color
			least float64
		}{{th.Ink, th.Paper, 4.5}, {th.Soft, th.Paper, 4.5}, {th.Near, th.Paper, 3}, {th.Edge, th.Paper, 3}, {th.Ink, th.Quiet, 4.5}} {
			if got := contrast(c.a, c.b); got < c.least {
				t.Errorf("%s: %s on %s has %.2f to 1, want %g", name, Hex(c.a), Hex(c.b), got, c.least)
			}
		}
		seen := map[color.RGBA]bool{}
		for _, c := range th.all() {
			if seen[c] {
				t.Errorf("%s: %s occurs twice", name, Hex(c))
			}
			seen[c] = true
		}
	}
	// Check value: black on white is 21 to 1 (WCAG 2.2).
	kit.Near(t, "black on white", contrast(color.Black, color.White), 21, 1e-9)
}

func contrast(a, b color.Color) float64 {
	x, y := luminance(a), luminance(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

// luminance is WCAG's relative luminance of sRGB.
func luminance(c color.Color) float64 {
	r, g, b, _ := c.RGBA()
	linear := func(v uint32) float64 {
		s := float64(v) / 65535
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(r) + 0.7152*linear(g) + 0.0722*linear(b)
}

// A result that was edited by hand is drawn as far as it goes.
func TestOddResults(t *testing.T) {
	r := samples.Compare()
	p := r.Pairs[0]
	p.Near.Trace.HiDBFS, p.Near.Trace.MeanDBFS[7] = p.Near.Trace.HiDBFS[:40], model.None
	p.Quiet.Trace.Hz[3], p.Quiet.Trace.HiDBFS[9] = model.None, model.None
	p.Lines = slices.Clone(p.Lines)
	p.Lines[0].Hz, p.Lines[1].Delta = model.None, estimate.Of(3, math.NaN(), 4)
	p.Near.Cycle.Samples[5], p.Quiet.Cycle.Hz = model.None, model.None
	for kind, draw := range kinds {
		if svg := draw(r.Settings, p).SVG(Options{Size: Phone}); bytes.Contains(svg, []byte("NaN")) {
			t.Errorf("%s holds NaN", kind)
		}
	}
}

// longTrend is a capture of many hours: hum in its first half, none in the second.
func longTrend() model.TrendCapture {
	c := model.TrendCapture{Side: model.Side{File: "survey.wav", Channel: 1, EndS: 20000}, StepS: 0.2, Lines: 20, Harmonics: []int{1}, Loudest: 0,
		Mains: model.Mains{Hz: model.None, U95Hz: model.None},
		Spans: []model.TrendSpan{{State: model.Still, StartS: 0, EndS: 10000, Hum: estimate.Of(-87, -87.1, -86.9)}}}
	for i := range 100000 {
		l := estimate.Of(-90+float64(i%7), -91+float64(i%7), -89+float64(i%7))
		if i > 50000 {
			l = estimate.Below(-112)
		}
		c.Steps = append(c.Steps, model.TrendStep{StartS: model.Num(float64(i) * 0.2), Hum: l, Lines: []model.Estimate{l}})
	}
	return c
}

// someTrend is a lead that was moved three times, by a reference: hum is steady in four spans.
func someTrend() model.TrendCapture {
	c := longTrend()
	c.EndS, c.Harmonics, c.Loudest, c.Spans = 60, []int{1, 2, 3, 5}, 2, nil
	c.Mains = model.Mains{Detected: true, NominalHz: 50, Hz: 49.98, U95Hz: 0.0001}
	c.Steps = c.Steps[:300]
	for i := range c.Steps {
		v := -104 + 6*float64(i/75%3) + 0.2*float64(i%3)
		c.Steps[i].Hum, c.Steps[i].Lines = estimate.Of(v, v-0.5, v+0.5), nil
		for j := range c.Harmonics {
			c.Steps[i].Lines = append(c.Steps[i].Lines, c.Steps[i].Hum.Shift(-4*float64(j+1)))
		}
	}
	for i := range 4 {
		c.Spans = append(c.Spans, model.TrendSpan{State: model.Still, StartS: model.Num(15*i + 1), EndS: model.Num(15*i + 14), Hum: estimate.Of(-100, -100.1, -99.9)})
	}
	for i, added := range []model.Estimate{estimate.None(""), estimate.Of(4e-6, 3e-6, 5e-6), estimate.Below(1e-6), estimate.Between(1e-6, 2e-6)} {
		c.Spans[i].Referred = &model.TrendReferred{Added: added}
	}
	return c
}

// A trend's key and caption speak only of what is drawn.
func TestTrendExplainsWhatIsThere(t *testing.T) {
	set := model.Settings{FullScaleVolts: model.None, UpToHz: 1000}
	c := someTrend()
	if all := allText(parse(t, Trend(set, c).SVG(Options{}))); strings.Contains(all, doc.KeyLimit) || !strings.Contains(all, "bars below: hum is steady; the thick one") || !strings.Contains(all, doc.KeyAdded(c)) {
		t.Error(all)
	}
	c = longTrend()
	if all := allText(parse(t, Trend(set, c).SVG(Options{}))); !strings.Contains(all, doc.KeyLimit) || !strings.Contains(all, "bar below: hum is steady.") || strings.Contains(all, "added since") {
		t.Error(all)
	}
	c.Spans, c.Loudest = nil, -1
	if all := allText(parse(t, Trend(set, c).SVG(Options{}))); strings.Contains(all, "below: hum") {
		t.Error(all)
	}
}

// The spectrum's caption explains lines below the trace and open marks only where
// there are some; a capture by itself knows no near.
func TestSpectrumExplainsWhatIsThere(t *testing.T) {
	const below, marks = "below the trace: found", "open marks: upper limits"
	r := samples.Unsteady()
	p := r.Pairs[0]
	if all := allText(parse(t, aloneOf(r.Settings, p).SVG(Options{}))); strings.Contains(all, "in near") || !strings.Contains(all, "changed during the capture: harmonics 1, 3") {
		t.Error(all)
	}
	has := func(text string) bool {
		return strings.Contains(allText(parse(t, Spectrum(r.Settings, p).SVG(Options{Limits: true}))), text)
	}
	p.Lines, p.Near.Lines, p.Quiet.Lines = p.Lines[:1], slices.Clone(p.Near.Lines[:1]), p.Quiet.Lines[:1] // well above the trace's floor in both
	if !p.Near.Lines[0].Level.Measured() || !p.Quiet.Lines[0].Level.Measured() {
		t.Fatal("the sample's first line was not found")
	}
	if has(below) || has(marks) {
		t.Error("explains what isn't there")
	}
	p.Near.Lines[0].Level = estimate.Of(-170, -171, -169)
	if !has(below) {
		t.Error("a line below the trace isn't explained")
	}
	p.Near.Lines[0].Level = estimate.Below(-150)
	if !has(marks) {
		t.Error("open marks aren't explained")
	}
	if all := allText(parse(t, Spectrum(r.Settings, p).SVG(Options{}))); strings.Contains(all, marks) || strings.Contains(all, doc.KeyLimit) {
		t.Error("limits that nobody asked for are explained")
	}
}

// A trend of many hours stays small, and what wasn't found has no curve.
func TestTrend(t *testing.T) {
	c := longTrend()
	svg := Trend(model.Settings{FullScaleVolts: model.None, UpToHz: 1000}, c).SVG(Options{})
	if len(svg) > 300_000 {
		t.Errorf("%d bytes", len(svg))
	}
	if d := allText(parse(t, svg)); !strings.Contains(d, "survey.wav") || !strings.Contains(d, "harmonic 1") {
		t.Error(d)
	}
	c.Steps, c.Spans, c.Harmonics, c.StepS = nil, nil, nil, model.None
	parse(t, Trend(model.Settings{FullScaleVolts: model.None}, c).SVG(Options{})) // nothing to draw
}

// A figure by itself says what was left out of it.
func TestLeftOutIsSaid(t *testing.T) {
	r := samples.Compare()
	p := r.Pairs[0]
	p.Near.Health.LeftOutS = 6.142
	said := strings.Join(doc.SpectrumText(r.Settings, p, doc.Drawn{}).Caption, "; ")
	if strings.Count(said, " without 6.1 s of bursts") != 1 || strings.Index(said, "bursts") > strings.Index(said, "quiet: ") {
		t.Error(said)
	}
}

// Every name stands whole in each figure that has it, in each size: a reader must
// know which cable is which.
func TestNamesStandWhole(t *testing.T) {
	r := largeSession()
	for _, size := range SizeNames {
		for _, c := range []struct {
			fig   Figure
			names []string
		}{{r.Figure(), namesOf(r)}, {someRanking().Figure(), namesOf(someRanking())},
			{someArticle().Figure(), append(namesOf(someRanking()), someArticle().At...)}} {
			drawn := squeezed(allText(parse(t, c.fig.SVG(Options{Size: size.Size}))))
			for _, name := range c.names {
				kit.Has(t, fmt.Sprintf("%s, %s", c.fig.Name, size.Name), drawn, squeezed(name))
			}
		}
	}
}

func namesOf(r Places) (names []string) {
	for _, k := range r.Rows {
		names = append(names, k.Name)
	}
	return names
}

// squeezed is a text without the spaces that line breaks make.
func squeezed(s string) string { return strings.ReplaceAll(s, " ", "") }

// Tones that have no place on the axes, as an edited file may hold them, are left out: an
// axis from nothing has no end.
func TestCouplingOfOddTones(t *testing.T) {
	whole := string(Coupling(somePassport(), 0).SVG(Options{}))
	p, only := somePassport(), somePassport()
	only.Cables[0].Frequency = nil
	good := estimate.Of(1e-6, 9e-7, 1.1e-6)
	for _, odd := range []model.AtTone{
		{Hz: 0, Size: good}, {Hz: -75, Size: good}, {Hz: model.None, Size: good}, {Hz: 1e300, Size: good}, {Hz: 5e-324, Size: good},
		{Hz: 75, Size: estimate.Of(0, 0, 0)}, {Hz: 75, Size: estimate.Of(-1, -2, 1)}, {Hz: 75}, {Hz: 75, Size: estimate.Below(math.NaN())},
	} {
		odd.Drive = model.DriveWire
		p.Cables[0].Frequency = append(p.Cables[0].Frequency, odd)
		only.Cables[0].Frequency = append(only.Cables[0].Frequency, odd)
	}
	kit.Same(t, string(Coupling(p, 0).SVG(Options{})), whole, "odd tones change the figure")
	if got := string(Coupling(only, 0).SVG(Options{})); len(got) > 1<<20 || strings.Contains(got, "NaN") {
		t.Errorf("of odd tones alone the figure has %d bytes", len(got))
	}
}

func about(v, half float64) model.Estimate { return estimate.Of(v, v-half, v+half*1.2) }

// someRanking is a session's ranking of invented cables.
func someRanking() Places {
	return Places{Name: "ranking",
		Text: doc.FigureText{Title: "How far hum rose near the lead", Desc: "A ranking of cables.", X: "rise of hum, dB",
			Caption: []string{"laid beside over 1 m, 20 Ω, mean of placements", "95 % intervals from repeats", "sitting of 4 runs a cable, mains 50.01 Hz"}},
		Rows: []PlaceRow{
			{"Plover, double screen", []model.Estimate{estimate.Below(1.2)}, "at most 1.2, 4 runs"},
			{"Dunlin", []model.Estimate{about(2.4, 1.1)}, "2.4 (1.3 to 3.7), 4 runs"},
			{"Heron, the long sample with the grey jacket (lot 7)", []model.Estimate{estimate.Between(1.4, 4.9)}, "1.4 to 4.9, 3 runs"},
			{"Siskin.v2 1.5 m", []model.Estimate{about(8.8, 1.9)}, "8.8 (6.9 to 11.1), 4 runs"},
			{"Wigeon, no screen at all", []model.Estimate{estimate.Above(21.5)}, "at least 21.5, 2 runs"},
			{"Knot", []model.Estimate{estimate.None("")}, "not usable"},
		},
		Alike: [][2]int{{0, 2}, {1, 3}},
	}
}

// someArticle is a session's figure for an article: each kind of estimate, two places.
func someArticle() Places {
	r := someRanking()
	a := Places{Name: "article", Text: r.Text, At: []string{"20 Ω", "1 kΩ"}, Volts: true}
	for i, k := range r.Rows {
		a.Rows = append(a.Rows, PlaceRow{k.Name, []model.Estimate{k.Values[0].Shift(-120), about(-90-float64(i), 1)}, ""})
	}
	return a
}

func largeSession() Places {
	r := someRanking()
	r.Rows, r.Alike = nil, nil
	for i := range 24 {
		name := fmt.Sprintf("%s cable %d", strings.Repeat("quite long ", i%4), i)
		r.Rows = append(r.Rows, PlaceRow{name, []model.Estimate{about(float64(i)-3, 1.4)}, "6 runs"})
		if i > 0 {
			r.Alike = append(r.Alike, [2]int{i - 1, i})
		}
	}
	return r
}

func sessionFigures() map[string]Figure {
	r := largeSession()
	nothing := doc.FigureText{Title: "Nothing", Desc: "Nothing.", X: "rise, dB", Y: "rise, dB"}
	return map[string]Figure{"article/some": someArticle().Figure(), "article/none": Places{Name: "article", Text: nothing}.Figure(), "ranking/some": someRanking().Figure(),
		"ranking/large": r.Figure(), "ranking/none": Places{Name: "ranking", Text: nothing}.Figure()}
}
