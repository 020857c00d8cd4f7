package table

import (
	"fmt"

	"humdiff/report/result"
	"humdiff/report/words"
)

// captureLine is a line with the capture it belongs to.
type captureLine struct {
	*result.Capture
	result.CaptureLine
}

type captureField = field[captureLine, *result.Capture]

// Measure is the table of captures measured one by one.
func Measure(r result.Measure) Table { return MeasureIn(r, DBFS) }

// MeasureIn is Measure with levels in a unit.
func MeasureIn(r result.Measure, u Unit) Table {
	fields := captureFields(r, captureLevels(r, u))
	t := Table{Columns: columns(fields)}
	for i := range r.Captures {
		t.Groups = append(t.Groups, captureGroup(&r.Captures[i], fields, u))
	}
	t.Notes = notes(r.Settings, u, "steadiness is the share of a line's power that keeps its phase to the mains", t.Groups)
	t.Footers = Warnings(r.Warnings)
	return t
}

// MeasureCSV is MeasureIn's CSV, made a capture at a time: of hundreds of captures
// the whole table takes more memory than their measuring.
func MeasureCSV(r result.Measure, u Unit) string {
	fields := captureFields(r, captureLevels(r, u))
	return written(columns(fields), func(yield func(Group) bool) {
		for i := range r.Captures {
			if !yield(captureGroup(&r.Captures[i], fields, u)) {
				return
			}
		}
	})
}

func captureFields(r result.Measure, u levels) []captureField {
	file := hidden[captureLine, *result.Capture]
	return []captureField{
		file("file", func(l captureLine) any { return l.File }),
		file("channel", func(l captureLine) any { return l.Channel }),
		{Column{Head: "harmonic", Plain: []string{"harmonic"}},
			func(l captureLine) Cell { return harmonicCell(l.Harmonic) },
			func(*result.Capture) Cell { return Cell{Text: "hum"} }},
		{Column{Head: "frequency", Unit: "Hz", Plain: []string{"hz"}, Spare: spareFrequency},
			func(l captureLine) Cell { return numberCell(l.Hz, 2) },
			func(c *result.Capture) Cell { return Cell{Text: words.Count(len(c.Lines), "line")} }},
		{Column{Head: "level", Unit: u.head(), Level: true, Plain: linePlain("")},
			func(l captureLine) Cell { return u.lineCell(l.Line) },
			func(c *result.Capture) Cell { return u.cell(c.Hum) }},
		voltsField(r, u),
		{Column{Head: "floor", Unit: u.floorHead(), Spare: spareFloor},
			func(l captureLine) Cell { return u.floorCell(l.Line) }, nil},
		{Column{Head: "steadiness", Spare: spareSteadiness},
			func(l captureLine) Cell { return steadiness(l.Steadiness) }, nil},
	}
}

// captureLevels is a unit that suits all captures.
func captureLevels(r result.Measure, u Unit) levels {
	var lines []result.Line
	var totals []result.HumSide
	for _, c := range r.Captures {
		for _, l := range c.Lines {
			lines = append(lines, l.Line)
		}
		totals = append(totals, c.Hum)
	}
	return prefixed(u, lines, totals...)
}

// voltsField is the voltages, where they are known and levels aren't in volts
// anyway.
func voltsField(r result.Measure, u levels) captureField {
	v, c := u, Column{}
	v.Unit = Volts
	if r.Settings.Volts() && u.Unit != Volts {
		c.Head, c.Unit, c.Spare, c.Level = "voltage", v.head(), spareVoltage, true
	}
	print := func(h result.HumSide) Cell {
		if h.State != result.Detected {
			return Cell{}
		}
		return v.voltsCell(h)
	}
	return captureField{c,
		func(l captureLine) Cell { return print(level(l.Line)) },
		func(c *result.Capture) Cell { return print(c.Hum) }}
}

func steadiness(v result.Num) Cell {
	if !v.Ok() {
		return Cell{}
	}
	return Cell{Text: words.Fixed(v, 2)}
}

func captureGroup(c *result.Capture, fields []captureField, u Unit) Group {
	g := Group{Title: fmt.Sprintf("%s, channel %d", words.File(c.File), c.Channel), Conditions: captureConditions(c)}
	rest, left := noLimits(u), 0
	for _, l := range c.Lines {
		g.Rows = append(g.Rows, Row{Shown: detected(l.Line), Line: l.Harmonic, Cells: lineCells(fields, captureLine{c, l})})
		if !detected(l.Line) {
			rest = rest.with(l.Line)
			left++
		}
	}
	if len(c.Lines) > 0 {
		g.Total = wholeCells(fields, c)
	}
	g.Notes = append(g.Notes, notFound(left, len(c.Lines), "", rest)...)
	g.Notes = append(g.Notes, captureNoise(c.Noise, u)...)
	g.Notes = append(g.Notes, tones("", c.Tones, u)...)
	g.Notes = append(g.Notes, bins(c.Trace)...)
	return g
}

func captureConditions(c *result.Capture) []string {
	span := fmt.Sprintf("%s, %s, %s; %s", words.Averaged(c.Side, c.Health), words.Hz(result.Num(c.RateHz)), words.Format(c.Side),
		words.Mains(c.Mains.Detected, c.Mains.Hz, c.Mains.U95Hz))
	return []string{span + wander(c.Mains), health(c.Health)}
}

// wander says between which frequencies the mains was, as far as they differ
// where they are written.
func wander(m result.CaptureMains) string {
	if !m.Detected || !m.MinHz.Ok() || !m.MaxHz.Ok() {
		return ""
	}
	lo, hi := words.Fixed(m.MinHz, 3), words.Fixed(m.MaxHz, 3)
	if lo == hi {
		return ", wandering by less than 0.001 Hz"
	}
	return fmt.Sprintf(", wandering from %s to %s Hz", lo, hi)
}

func health(h result.Health) string {
	if h.Silent {
		return "one value throughout: no signal"
	}
	s := "largest sample unknown"
	if h.PeakDBFS.Ok() {
		s = fmt.Sprintf("largest sample %s dB from full scale", words.Fixed(h.PeakDBFS, 1))
		if h.PeakSeconds.Ok() {
			s += " at " + words.Seconds(float64(h.PeakSeconds))
		}
	}
	if h.DC.Ok() {
		s += fmt.Sprintf("; mean %.6f of full scale", float64(h.DC))
	}
	return s + fmt.Sprintf("; %s clipped", words.Count(h.Clipped, "sample"))
}
