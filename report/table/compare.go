package table

import (
	"fmt"
	"strings"

	"humdiff/report/result"
	"humdiff/report/words"
)

// pairLine is a line with the pair it belongs to.
type pairLine struct {
	*result.Pair
	result.PairLine
}

// Compare is the table of a comparison: each line in quiet and in near, their
// delta, and the pickup in volts where the scale is known.
func Compare(r result.Compare) Table { return CompareIn(r, UnitFor(r.Settings)) }

// CompareIn is Compare with levels in a unit.
func CompareIn(r result.Compare, u Unit) Table {
	fields := pairFields(r, pairLevels(r, u))
	t := Table{Columns: columns(fields)}
	for i := range r.Pairs {
		t.Groups = append(t.Groups, pairGroup(&r.Pairs[i], fields, u))
	}
	t.Notes = notes(r.Settings, u, "the floor is near's. Frequency: the mean of both captures' lines", t.Groups)
	t.Footers = Warnings(r.Warnings)
	return t
}

func pairFields(r result.Compare, u levels) []pairField {
	file := hidden[pairLine, *result.Pair]
	return []pairField{
		file("quiet_file", func(l pairLine) any { return l.Pair.Quiet.File }),
		file("quiet_channel", func(l pairLine) any { return l.Pair.Quiet.Channel }),
		file("near_file", func(l pairLine) any { return l.Pair.Near.File }),
		file("near_channel", func(l pairLine) any { return l.Pair.Near.Channel }),
		{Column{Head: "harmonic", Plain: []string{"harmonic"}},
			func(l pairLine) Cell { return harmonicCell(l.Harmonic) },
			func(*result.Pair) Cell { return Cell{Text: "hum"} }},
		{Column{Head: "frequency", Unit: "Hz", Plain: []string{"hz"}, Spare: spareFrequency},
			func(l pairLine) Cell { return numberCell(l.Hz, 2) },
			func(p *result.Pair) Cell { return Cell{Text: words.Count(p.Hum.Lines, "line")} }},
		{Column{Head: "quiet", Unit: u.head(), Level: true, Plain: linePlain("quiet_")},
			func(l pairLine) Cell { return u.lineCell(l.PairLine.Quiet) },
			func(p *result.Pair) Cell { return u.cell(p.Hum.Quiet) }},
		{Column{Head: "near", Unit: u.head(), Level: true, Plain: linePlain("near_")},
			func(l pairLine) Cell { return u.lineCell(l.PairLine.Near) },
			func(p *result.Pair) Cell { return u.cell(p.Hum.Near) }},
		{Column{Head: "delta", Unit: "dB", Plain: []string{"delta_state", "delta_db", "delta_lo_db", "delta_hi_db"}},
			func(l pairLine) Cell { return deltaCell(l.Delta) },
			func(p *result.Pair) Cell { return deltaCell(p.Hum.Delta) }},
		pickupField(r),
		{Column{Head: "floor", Unit: u.floorHead(), Spare: spareFloor},
			func(l pairLine) Cell { return u.floorCell(l.PairLine.Near) }, nil},
	}
}

// pairLevels is a unit that suits all pairs.
func pairLevels(r result.Compare, u Unit) levels {
	var lines []result.Line
	var totals []result.HumSide
	for _, p := range r.Pairs {
		for _, l := range p.Lines {
			if shown(l) {
				lines = append(lines, l.Quiet, l.Near)
			}
		}
		totals = append(totals, p.Hum.Quiet, p.Hum.Near)
	}
	return prefixed(u, lines, totals...)
}

type pairField = field[pairLine, *result.Pair]

// pickupField is printed only where the voltage scale is known.
func pickupField(r result.Compare) pairField {
	unit := pickupUnit(r)
	c := Column{Plain: []string{"pickup_lo_volts_rms", "pickup_hi_volts_rms", "pickup_lo_fs", "pickup_hi_fs"}}
	if r.Settings.Volts() {
		c.Head, c.Unit, c.Spare = "pickup", unit.Name+"V rms", spareVoltage
	}
	return pairField{c,
		func(l pairLine) Cell { return pickupCell(l.Pickup, unit) },
		func(p *result.Pair) Cell { return pickupCell(p.Hum.Pickup, unit) }}
}

// pickupUnit is the prefix of the largest pickup that is printed.
func pickupUnit(r result.Compare) words.Prefix {
	top := result.Num(0)
	for _, p := range r.Pairs {
		if p.Hum.Pickup.HiVolts.Ok() {
			top = max(top, p.Hum.Pickup.HiVolts)
		}
		for _, l := range p.Lines {
			if shown(l) && l.Pickup.HiVolts.Ok() {
				top = max(top, l.Pickup.HiVolts)
			}
		}
	}
	return words.PrefixFor(top)
}

func shown(l result.PairLine) bool { return detected(l.Quiet) || detected(l.Near) }

func pairGroup(p *result.Pair, fields []pairField, u Unit) Group {
	g := Group{Title: pairTitle(p), Conditions: pairConditions(p)}
	rest, left := noLimits(u), 0
	for _, l := range p.Lines {
		g.Rows = append(g.Rows, Row{Shown: shown(l), Line: l.Harmonic, Cells: lineCells(fields, pairLine{p, l})})
		if !shown(l) {
			rest = rest.with(l.Quiet).with(l.Near)
			left++
		}
	}
	if p.Hum.Lines > 0 {
		g.Total = wholeCells(fields, p)
	}
	g.Notes = append(g.Notes, notFound(left, len(p.Lines), " in either capture", rest)...)
	g.Notes = append(g.Notes, pairNoise(p.Noise, u)...)
	g.Notes = append(g.Notes, tones(" in quiet", p.Tones.Quiet, u)...)
	g.Notes = append(g.Notes, tones(" in near", p.Tones.Near, u)...)
	g.Notes = append(g.Notes, bins(p.Trace.Near)...)
	return g
}

// notFound says of how many lines nothing is printed, and their limits.
func notFound(left, all int, where string, rest limits) []string {
	switch {
	case left == 0:
		return nil
	case left == all:
		return []string{fmt.Sprintf("None of %s was found%s%s", words.Count(all, "line"), where, rest)}
	case left == 1:
		return []string{fmt.Sprintf("1 more line was not found%s%s", where, rest)}
	}
	return []string{fmt.Sprintf("%d more lines were not found%s%s", left, where, rest)}
}

func pairTitle(p *result.Pair) string {
	return fmt.Sprintf("%s against %s, %s", words.File(p.Near.File), words.File(p.Quiet.File),
		strings.ToLower(words.Channels(*p)))
}

func pairConditions(p *result.Pair) []string {
	m := p.Mains
	return []string{
		"quiet: " + sideConditions(p.Quiet, p.Health.Quiet) + "; " + words.Mains(m.QuietDetected, m.QuietHz, m.QuietU95Hz),
		"near: " + sideConditions(p.Near, p.Health.Near) + "; " + words.Mains(m.NearDetected, m.NearHz, m.NearU95Hz),
	}
}

func sideConditions(s result.Side, h result.Health) string {
	return fmt.Sprintf("%s, channel %d, %s, %s, %s", words.File(s.File), s.Channel, words.Averaged(s, h), words.Hz(result.Num(s.RateHz)), words.Format(s))
}
