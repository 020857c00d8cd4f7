package doc

import (
	"fmt"
	"iter"
	"math"
	"slices"

	"humdiff/report/model"
)

// Measure tells captures measured one by one, with levels in dBFS.
func Measure(r model.Measure) Document { return MeasureIn(r, InDBFS) }

// MeasureIn is Measure with levels in a unit.
func MeasureIn(r model.Measure, u Unit) Document {
	d := Document{Title: MeasureHeadline(r), Gate: gate(r.MayPublish), Footer: madeBy(r.Head)}
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
	lines := linesSection(slices.Collect(MeasureTables(r, u)), r.Settings, u, "Floor: noise density at the line, in a band of 1 Hz.", "Phase coherence: the share of a line's power that keeps its phase to the mains.")
	var overview Section
	if len(r.Captures) > 1 {
		overview = Section{ID: "captures", Title: "Each capture", Short: shortLines, Blocks: []Block{capturesTable(r, u)}}
	}
	d.Sections = filled(
		Section{ID: "figures", Title: "Spectra", Blocks: captureFigures(r)},
		publishSection(r.Head, MeasureCaption(r), said),
		sureOf(all),
		overview,
		foundSection(all),
		openSection(all),
		lines,
		weighted(r.Settings, u, everyCapture(r)),
		warningSection(r.Warnings),
		Section{ID: "conditions", Title: "Conditions", Blocks: captureConditions(r)},
		captureMethod(r),
		hashes(sidesOf(r)),
	)
	return d
}

func everyCapture(r model.Measure) []side {
	return each(r.Captures, func(c model.Capture) side { return side{captureTitle(c.Side), c} })
}

// sureOf is sureSection of one capture; of several each level has its interval in
// the table.
func sureOf(all []told) Section {
	if len(all) > 1 {
		return Section{}
	}
	return sureSection(all)
}

// MeasureHeadline is the answer of a measurement.
func MeasureHeadline(r model.Measure) string {
	switch len(r.Captures) {
	case 0:
		return "Nothing was measured."
	case 1:
		return CaptureHeadline(r.Captures[0], r.Settings)
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
	said := fmt.Sprintf("Hum was found in %d of %s", hum, Count(len(r.Captures), "capture"))
	if hum > 0 && loudest.Hum.Level.Measured() {
		said += fmt.Sprintf(", strongest in %s: %s", Shorten(captureTitle(loudest.Side), longName), LevelOn(r.Settings, model.ForAll, loudest.Hum.Level))
	}
	said += "."
	if unusable > 0 {
		said += fmt.Sprintf(" Not usable: %d.", unusable)
	}
	return said
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
		blocks = append(blocks, sidesTable(fmt.Sprintf("conditions%d", i+1), []side{s}))
	}
	return append(blocks, settingsFacts(r.Settings))
}

func captureMethod(r model.Measure) Section {
	if len(r.Captures) == 0 {
		return Section{}
	}
	return methodOf(r.Captures[0])
}

// CaptureHeadline is the one sentence that says what hum a capture has.
func CaptureHeadline(c model.Capture, set model.Settings) string {
	if n := c.Health.Clipped; n > 0 {
		return notUsable + clippedOf(n, "") + "."
	}
	return humOf(c, set)
}

func humOf(c model.Capture, set model.Settings) string {
	level := c.Hum.Level
	_, limit := ends(level)
	switch {
	case c.Health.Silent:
		return "Nothing was recorded: every sample has the same value."
	case level.Measured():
		return "Hum is " + LevelOn(set, model.ForAll, level) + "."
	case limit.Ok():
		return fmt.Sprintf("%s: its total lies %s.", noHumOf(set.Mains), LevelOn(set, model.ForAll, level))
	}
	return noHumOf(set.Mains) + "."
}

func tellCapture(c model.Capture, set model.Settings, warnings []model.Warning) told {
	level := c.Hum.Level
	t := told{notShown: []string{"Where the hum comes from."}, next: []string{"Compare it with a capture in which one thing was changed."}}
	if level.Measured() && c.Health.Clipped == 0 && !c.Health.Silent {
		t.sure = []string{fmt.Sprintf("The %s interval from recording noise alone is %s.", Percent(set.Confidence), Interval(level)+"FS")}
	}
	t.sure = append(t.sure, doubtful(warnings, c.Side)...)
	switch {
	case c.Health.Clipped > 0:
		t.found = []string{"As read, and not to be relied on: " + lowerFirst(humOf(c, set))}
		t.notShown, t.next = []string{clippingHides}, []string{"Record again at a lower gain."}
	case c.Health.Silent:
		t.notShown, t.next = []string{"That there is no hum: nothing was recorded."}, []string{"Check the input that was recorded, and record again."}
	case !level.Measured():
		t.notShown, t.next = []string{"That there is no hum: only that it lies below the upper limit."}, []string{"Record longer: that lowers the upper limit."}
		if !limited([]model.Estimate{level}) {
			t.notShown = []string{"That there is no hum: only that none was found."}
		}
		t = withOtherMains(t, set, c.Tones, level)
	}
	t.found = append(append(t.found, mainsSaid(c)...), strongestOf(c, set)...)
	t.found = append(t.found, besideTotal(c, set, model.ForAll, "")...)
	t.standsOn = append([]string{"This stands on one capture of " + length(c) + "."}, scaleSaid(set)...)
	t.next = append(t.next, wouldScale(set)...)
	return t
}

func mainsSaid(c model.Capture) []string {
	switch {
	case c.Health.Silent:
		return nil
	case !c.Mains.Detected:
		return []string{"No mains frequency was found in it."}
	}
	return []string{fmt.Sprintf("The mains is at %s by the recorder's own clock.", MainsHz(c.Mains.Hz, c.Mains.U95Hz))}
}

func strongestOf(c model.Capture, set model.Settings) []string {
	n, best, top := 0, model.Line{}, math.Inf(-1)
	for _, l := range c.Lines {
		v, ok := l.Level.Value()
		if !ok {
			continue
		}
		if n++; v > top {
			best, top = l, v
		}
	}
	if n == 0 {
		return nil
	}
	return []string{fmt.Sprintf("Of %s, %s found; the strongest is harmonic %d (%s): %s.",
		Count(len(c.Lines), "line"), were(n), best.Harmonic, Hz(best.Hz), LevelOn(set, model.ForAll, best.Level))}
}

// MeasureTables are the tables of captures measured one by one.
func MeasureTables(r model.Measure, u Unit) iter.Seq[Table] {
	scale, _ := r.Settings.ScaleOf(model.ForAll)
	lv := suited(u, each(r.Captures, func(c model.Capture) onScale { return onScale{c, scale} }))
	return inTurn(r.Captures, func(i int, c model.Capture) Table { return captureTable(i, c, r.Settings, lv) })
}

func captureTable(i int, c model.Capture, set model.Settings, lv levels) Table {
	scale, _ := set.ScaleOf(model.ForAll)
	fields := captureFields(c, scale, lv)
	t := Table{ID: fmt.Sprintf("lines%d", i+1), Group: fmt.Sprintf("pair%d", i+1), Title: captureTitle(c.Side), Columns: columns(fields), Sorts: true}
	rest, found := noLimits(lv.Unit), 0
	key := strongestLines(c, keyLines)
	for _, l := range c.Lines {
		t.Rows = append(t.Rows, Row{Shown: l.Level.Measured(), Key: key[l.Harmonic], Line: l.Harmonic, Cells: cellsOf(fields, l)})
		if l.Level.Measured() {
			found++
			continue
		}
		rest = rest.with(l, scale)
	}
	if len(c.Lines) > 0 {
		t.Total = totals(fields)
	}
	left := len(c.Lines) - found
	t.Rest, t.Hide = more(found-len(key), "line"), hide(left)
	t.Notes = append(t.Notes, notFound(left, len(c.Lines), "", rest)...)
	t.Notes = append(t.Notes, captureNoise(c.Noise, lv.Unit, scale)...)
	t.Notes = append(t.Notes, tonesSaid("", c.Tones, lv.Unit, scale)...)
	t.Notes = append(t.Notes, binsSaid(c.Trace)...)
	return t
}

func captureTitle(s model.Side) string { return fmt.Sprintf("%s, channel %d", File(s.File), s.Channel) }

func strongestLines(c model.Capture, n int) map[int]bool {
	p := model.Pair{Near: c}
	for _, l := range c.Lines {
		p.Lines = append(p.Lines, model.LineChange{Harmonic: l.Harmonic})
	}
	key := map[int]bool{}
	for _, h := range keyOf(p, n) {
		key[h] = true
	}
	return key
}

func captureFields(c model.Capture, scale model.Scale, lv levels) []field[model.Line] {
	volts := lv
	volts.Unit = InVolts
	voltage := Column{}
	if scale.FullScaleVolts.Ok() && lv.Unit != InVolts {
		voltage = Column{Head: "voltage", Unit: volts.head(), Spare: spareVoltage, Level: true}
	}
	inVolts := func(e model.Estimate) Cell {
		if !e.Measured() {
			return Cell{}
		}
		return volts.cell(e, scale)
	}
	return []field[model.Line]{
		hidden("file", func(model.Line) any { return c.File }),
		hidden("channel", func(model.Line) any { return c.Channel }),
		{Column{Head: "harmonic", Plain: []string{"harmonic"}},
			func(l model.Line) Cell { return countCell(l.Harmonic) }, Cell{Text: "hum"}},
		{Column{Head: "frequency", Unit: "Hz", Plain: []string{"hz"}, Spare: spareFrequency},
			func(l model.Line) Cell { return numberCell(l.Hz, 2) }, Cell{Text: Count(len(c.Lines)-len(c.Hum.LeftOut), "line")}},
		{Column{Head: "level", Unit: lv.head(), Level: true, Plain: linePlain("")},
			func(l model.Line) Cell { return lv.lineCell(l, scale) }, lv.cell(c.Hum.Level, scale)},
		{voltage,
			func(l model.Line) Cell { return inVolts(l.Level) }, inVolts(c.Hum.Level)},
		{Column{Head: "floor", Unit: lv.floorHead(), Spare: spareFloor},
			func(l model.Line) Cell { return lv.floorCell(l, scale) }, Cell{}},
		{Column{Head: "phase coherence", Spare: spareCoherence},
			func(l model.Line) Cell { return coherence(l.Coherence) }, Cell{}},
	}
}

func coherence(v model.Num) Cell {
	if !v.Ok() {
		return Cell{}
	}
	return Cell{Text: Fixed(v, 2)}
}

func capturesTable(r model.Measure, u Unit) Table {
	scale, _ := r.Settings.ScaleOf(model.ForAll)
	lv := suited(u, each(r.Captures, func(c model.Capture) onScale { return onScale{c, scale} }))
	fields := []field[model.Capture]{
		{Column: Column{Head: "file", Left: true}, cell: func(c model.Capture) Cell { return Cell{Text: File(c.File)} }},
		{Column: Column{Head: "channel"}, cell: func(c model.Capture) Cell { return countCell(c.Channel) }},
		{Column: Column{Head: "mains", Unit: "Hz", Spare: spareFrequency}, cell: func(c model.Capture) Cell { return Cell{Text: mainsCell(c.Mains), Value: c.Mains.Hz} }},
		{Column: Column{Head: "hum", Unit: lv.head(), Level: true}, cell: func(c model.Capture) Cell { return lv.cell(c.Hum.Level, scale) }},
		{Column: Column{Head: "lines found"}, cell: func(c model.Capture) Cell { return countCell(len(strongestLines(c, len(c.Lines)))) }},
		{Column: Column{Head: "warnings"}, cell: func(c model.Capture) Cell { return countCell(len(about(r.Warnings, c.File, c.Channel))) }},
	}
	t := Table{ID: "captures", Title: "Each capture", Columns: columns(fields), Sorts: true}
	for i, c := range r.Captures {
		t.Rows = append(t.Rows, Row{Shown: true, Key: i < keyFiles, Cells: cellsOf(fields, c)})
	}
	t.Rest = more(len(r.Captures)-keyFiles, "capture")
	return t
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

func methodOf(c model.Capture, more ...string) Section {
	return Section{ID: "method", Title: "How it was measured", Folded: true, Blocks: []Block{List{Items: slices.Concat(method, more, binsSaid(c.Trace))}}}
}

var method = []string{
	"Levels are rms; 0 dBFS is the rms of a full-scale sine (AES17).",
	"Frequencies are by the recorder's clock, which can be off by tens of parts in a million.",
	"The mains frequency is found in each capture from all its lines together and followed from block to block.",
	"Each line is then averaged at its multiple of that frequency: it is found well below what a single spectrum shows.",
	"The noise beside a line is taken off its level. Its interval is that of a steady line in this noise (noncentral chi-square).",
	"A line that is not found gets no number, but an upper limit: the level it lies below with 97.5 % confidence.",
	"The hum total is the power sum over one fixed set of lines.",
}

var differences = []string{
	"The delta is near minus quiet in dB. Where one side was not found, it is only bounded: at least, or at most.",
	"Where neither was found there is no delta, only the two upper limits.",
	"Hum adds as waves do, and two separate captures do not tell the phase between old and new hum.",
	"So the pickup, what bringing the lead near added, is a range: from the difference of the two voltages to their sum.",
}
