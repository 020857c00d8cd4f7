package doc

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/report/model"
)

// Measure tells captures measured one by one, with levels in a unit.
func Measure(r model.Measure, u Unit) Document {
	d := Document{Title: measureHeadline(r), Gate: gate(r.MayPublish), Footer: madeBy(r.Head)}
	if len(r.Captures) == 1 {
		d.Lead = captureTitle(r.Captures[0].Side)
	}
	all := make([]told, len(r.Captures))
	for i, c := range r.Captures {
		all[i] = tellCapture(c, r.Settings, r.Warnings)
		if len(r.Captures) > 1 {
			all[i].of = captureTitle(c.Side)
		}
	}
	sure := append(sureSections(all), Section{})
	var overview Section
	if len(r.Captures) > 1 {
		overview = Section{ID: "captures", Title: "Each capture", Short: shortLines, Blocks: []Block{capturesTable(r, u)}}
		sure[0] = Section{} // each level has its interval in the table
	}
	d.Sections = filled(
		Section{ID: "figures", Title: "Spectra", Blocks: captureFigures(r)},
		publishSection(r.Head, MeasureCaption(r), said),
		sure[0],
		overview,
		sure[1],
		nextSection(once(all, func(t told) []string {
			return each(t.open, func(q question) string { return strings.TrimSpace(q.what + " " + q.next) })
		})),
		linesSection(measureTables(r, u), r.Settings, u, "Floor: noise density at the line, in a band of 1 Hz.", "Phase coherence: the share of a line's power that keeps its phase to the mains."),
		weighted(r.Settings, u, each(r.Captures, func(c model.Capture) side { return side{captureTitle(c.Side), c} })),
		warningSection(unsaid(r.Warnings, r.Head)),
		Section{ID: "conditions", Title: "Conditions", Blocks: captureConditions(r)},
		captureMethod(r),
		hashes(sidesOf(r)),
	)
	return d
}

// measureHeadline is the answer of a measurement.
func measureHeadline(r model.Measure) string {
	switch len(r.Captures) {
	case 0:
		return "Nothing was measured."
	case 1:
		return captureHeadline(r.Captures[0], r.Settings)
	}
	hum, unusable := 0, 0
	loudest := r.Captures[0]
	for _, c := range r.Captures {
		v, ok := c.Hum.Level.Value()
		top, any := loudest.Hum.Level.Value()
		switch {
		case c.Health.Clipped > 0 || c.Health.Silent:
			unusable++
		case ok:
			hum++
			if !any || v > top {
				loudest = c
			}
		}
	}
	return tellOne("measure.headline", map[string]any{"all": len(r.Captures), "hum": hum, "unusable": unusable,
		"loudest": captureOf(loudest, r.Settings, model.ForAll, ""), "where": shorten(captureTitle(loudest.Side), longName)})
}

func captureFigures(r model.Measure) []Block {
	var blocks []Block
	for i := range r.Captures[:min(len(r.Captures), mostDrawn)] {
		blocks = append(blocks, Figure{Name: "spectrum", Index: i})
	}
	return blocks
}

func sidesOf(r model.Measure) []side {
	return each(r.Captures, func(c model.Capture) side { return side{"capture", c} })
}

func captureConditions(r model.Measure) []Block {
	var blocks []Block
	for i, s := range sidesOf(r) {
		blocks = append(blocks, sidesTable(i, "Conditions, "+captureTitle(s.Side), []side{s}))
	}
	return blocks
}

func captureMethod(r model.Measure) Section {
	if len(r.Captures) == 0 {
		return Section{}
	}
	return methodOf(r.Captures[0], r.Settings, "")
}

// captureSaid is a capture with what its sentences have besides.
type captureSaid struct {
	model.Capture
	Set       model.Settings
	Side      string // whose scale it is on
	Where     string // " in near", or nothing
	Found     int    // lines
	Strongest model.Line
}

// Of is a level, in volts too where they are known.
func (c captureSaid) Of(level model.Estimate) string { return levelOn(c.Set, c.Side, level) }

// NoHum begins what is said where nothing was found.
func (c captureSaid) NoHum() string { return noHumOf(c.Set.Mains) }

// Exactly is a plain level.
func (c captureSaid) Exactly(v model.Num) model.Estimate { return exactly(v) }

func captureOf(c model.Capture, set model.Settings, side, where string) captureSaid {
	said := captureSaid{Capture: c, Set: set, Side: side, Where: where}
	top := math.Inf(-1)
	for _, l := range c.Lines {
		v, ok := l.Level.Value()
		if ok {
			said.Found++
		}
		if ok && v > top {
			said.Strongest, top = l, v
		}
	}
	return said
}

// captureHeadline is the one sentence that says what hum a capture has.
func captureHeadline(c model.Capture, set model.Settings) string {
	return tellOne("capture.headline", captureOf(c, set, model.ForAll, ""))
}

func tellCapture(c model.Capture, set model.Settings, warnings []model.Warning) told {
	said := captureOf(c, set, model.ForAll, "")
	t := told{sure: append(tell("capture.sure", said), doubtful(warnings, c.Side)...), open: questions(tell("capture.open", said))}
	t.found = append(tell("capture.found", said), besideTotal(c, set, model.ForAll, "")...)
	if c.Health.Clipped == 0 && !c.Health.Silent && !c.Hum.Level.Measured() {
		t.open = append(otherMains(set, c.Tones, c.Hum.Level), t.open...)
	}
	return t
}

// measureTables are the tables of captures measured one by one.
func measureTables(r model.Measure, u Unit) (all []Table) {
	scale, _ := r.Settings.ScaleOf(model.ForAll)
	lv := measureLevels(r, u)
	for i, c := range r.Captures {
		all = append(all, captureTable(i, c, scale, lv))
	}
	return all
}

func measureLevels(r model.Measure, u Unit) levels {
	scale, _ := r.Settings.ScaleOf(model.ForAll)
	return suited(u, each(r.Captures, func(c model.Capture) onScale { return onScale{c, scale} }))
}

func captureTable(i int, c model.Capture, scale model.Scale, lv levels) Table {
	found := func(l model.Line) bool { return l.Level.Measured() }
	rest := noLimits(lv.Unit)
	for _, l := range c.Lines {
		rest = rest.with(l, scale)
	}
	t := lineTable(i, captureFields(c, scale, lv), c.Lines, found, func(l model.Line) int { return l.Harmonic }, keyOf(alone(c), keyLines))
	t.Title = captureTitle(c.Side)
	if len(c.Lines) == 0 {
		t.Total = nil
	}
	t.Notes = slices.Concat(notFound(t, "", rest), captureNoise(c.Noise, lv.Unit, scale), tonesSaid("", c.Tones, lv.Unit, scale), binsSaid(c.Trace))
	return t
}

func captureTitle(s model.Side) string { return fmt.Sprintf("%s, channel %d", File(s.File), s.Channel) }

// alone is a capture as a pair of which only near was recorded.
func alone(c model.Capture) model.Pair {
	p := model.Pair{Near: c}
	for _, l := range c.Lines {
		p.Lines = append(p.Lines, model.LineChange{Harmonic: l.Harmonic})
	}
	return p
}

func captureFields(c model.Capture, scale model.Scale, lv levels) []field[model.Line] {
	fields := []field[model.Line]{
		{Column{Head: "harmonic"}, func(l model.Line) Cell { return countCell(l.Harmonic) }, Cell{Text: "hum"}},
		{Column{Head: "frequency", Unit: "Hz", Spare: spareFrequency}, func(l model.Line) Cell { return numberCell(l.Hz, 2) }, Cell{Text: Count(len(c.Lines)-len(c.Hum.LeftOut), "line")}},
		{Column{Head: "level", Unit: lv.head(), Level: true}, func(l model.Line) Cell { return lv.lineCell(l, scale) }, lv.cell(c.Hum.Level, scale)},
	}
	if scale.FullScaleVolts.Ok() && lv.Unit != InVolts {
		volts := lv
		volts.Unit = InVolts
		inVolts := func(e model.Estimate) Cell {
			if !e.Measured() {
				return Cell{}
			}
			return volts.cell(e, scale)
		}
		fields = append(fields, field[model.Line]{Column{Head: "voltage", Unit: volts.head(), Spare: spareVoltage, Level: true},
			func(l model.Line) Cell { return inVolts(l.Level) }, inVolts(c.Hum.Level)})
	}
	return append(fields,
		field[model.Line]{Column: Column{Head: "floor", Unit: lv.floorHead(), Spare: spareFloor}, cell: func(l model.Line) Cell { return lv.floorCell(l, scale) }},
		numbers("phase coherence", "", decimal(2), func(l model.Line) model.Num { return l.Coherence }).spared(SpareFirst))
}

func capturesTable(r model.Measure, u Unit) Table {
	type capture = model.Capture
	scale, _ := r.Settings.ScaleOf(model.ForAll)
	lv := measureLevels(r, u)
	t := tableOf("captures", "", []field[capture]{
		worded("file", func(c capture) string { return File(c.File) }),
		counts("channel", func(c capture) int { return c.Channel }),
		{Column: Column{Head: "mains", Unit: "Hz", Spare: spareFrequency}, cell: func(c capture) Cell { return Cell{Text: mainsCell(c.Mains), Value: c.Mains.Hz} }},
		{Column: Column{Head: "hum", Unit: lv.head(), Level: true}, cell: func(c capture) Cell { return lv.cell(c.Hum.Level, scale) }},
		counts("lines found", func(c capture) int { return count(c.Lines, func(l model.Line) bool { return l.Level.Measured() }) }),
		counts("warnings", func(c capture) int { return len(about(r.Warnings, c.File, c.Channel)) }),
	}, r.Captures)
	t.Sorts = true
	return t.upTo(keyFiles, "capture")
}

// keyFiles is how many files the short form has.
const keyFiles = 20

func about(all []model.Warning, file string, channel int) (some []model.Warning) {
	for _, w := range all {
		if w.File == file && (w.Channel == 0 || channel == 0 || w.Channel == channel) {
			some = append(some, w)
		}
	}
	return some
}

func mainsCell(m model.Mains) string {
	if !m.Detected {
		return "not found"
	}
	return Fixed(m.Hz, 3)
}

// methodOf says how levels were measured, with what was asked for.
func methodOf(c model.Capture, set model.Settings, more string) Section {
	said := tell("method", nil)
	if more != "" {
		said = append(said, tell(more, nil)...)
	}
	return Section{ID: "method", Title: "How it was measured", Folded: true, Blocks: []Block{List{Items: append(said, binsSaid(c.Trace)...)}, settingsFacts(set)}}
}
