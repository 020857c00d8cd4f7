package doc

import (
	"fmt"
	"iter"

	"humdiff/report/model"
)

// MeasureTables are the tables of captures measured one by one, made one at a time:
// of hundreds of captures all of them take more memory than their measuring.
func MeasureTables(r model.Measure, u Unit) iter.Seq[Table] {
	scale, _ := r.Settings.ScaleOf(model.ForAll)
	var all []onScale
	for _, c := range r.Captures {
		all = append(all, onScale{c, scale})
	}
	lv := suited(u, all)
	return func(yield func(Table) bool) {
		for i, c := range r.Captures {
			if !yield(captureTable(i, c, r.Settings, lv)) {
				return
			}
		}
	}
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

// strongestLines are the harmonics of the strongest lines.
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

// capturesTable is one row a capture, for results of many.
func capturesTable(r model.Measure, u Unit) Table {
	scale, _ := r.Settings.ScaleOf(model.ForAll)
	var all []onScale
	for _, c := range r.Captures {
		all = append(all, onScale{c, scale})
	}
	lv := suited(u, all)
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

// about is the warnings of a channel and of its file.
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
