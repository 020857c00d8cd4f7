package doc

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// told is what a result says of one channel, in the order of a reader's questions.
type told struct {
	of    string     // which channel or capture; empty where there is only one
	sure  []string   // how sure the answer is
	found []string   // what it stands on and what was found
	open  []question // what could still explain it
}

// question is what could still explain a result, and what to record to tell.
type question struct{ what, next string }

// questions are lines of two parts, with a bar between.
func questions(lines []string) []question {
	return each(lines, func(s string) question {
		what, next, _ := strings.Cut(s, "|")
		return question{strings.TrimSpace(what), strings.TrimSpace(next)}
	})
}

func tellPair(p model.Pair, set model.Settings, warnings []model.Warning) told {
	said := pairOf(p, set)
	t := told{sure: append(tell("pair.sure", said), doubtful(warnings, p.Quiet.Side, p.Near.Side)...)}
	t.found = slices.Concat(tell("pair.stands", said), tell("pair.found", found{said, CountLines(p), strongest(p), fallen(p), pickupOfTotal(p, set)}),
		besideTotal(p.Quiet, set, model.ForQuiet, " in quiet"), besideTotal(p.Near, set, model.ForNear, " in near"), residual(said))
	if said.Sound() && said.Change == nothing {
		t.open = otherMains(set, append(p.Quiet.Tones[:len(p.Quiet.Tones):len(p.Quiet.Tones)], p.Near.Tones...), p.Hum.Quiet, p.Hum.Near)
	}
	t.open = append(t.open, questions(tell("pair.open", said))...)
	return t
}

// found is what is told of a pair's lines.
type found struct {
	pairSaid
	Counts    Counts
	Strongest *strongestLine // nil: none was found in near
	Fallen    int            // lines that lie below quiet for certain
	Pickup    model.Estimate // of the total, in volts; unknown without a scale
}

// Counts is how many lines were found where.
type Counts struct{ Both, NearOnly, QuietOnly, Neither int }

// CountLines counts a pair's lines.
func CountLines(p model.Pair) Counts {
	var n Counts
	for _, l := range p.Rows() {
		switch quiet, near := l.Quiet.Level.Measured(), l.Near.Level.Measured(); {
		case quiet && near:
			n.Both++
		case near:
			n.NearOnly++
		case quiet:
			n.QuietOnly++
		default:
			n.Neither++
		}
	}
	return n
}

// strongestLine is a line with its frequency by its own capture's mains.
type strongestLine struct {
	model.Row
	At model.Num
}

// strongest is the strongest line in near: unlike the largest delta it is not
// picked for its luck.
func strongest(p model.Pair) *strongestLine {
	var best *strongestLine
	top := math.Inf(-1)
	for _, l := range p.Rows() {
		if v, ok := l.Near.Level.Value(); ok && v > top {
			best, top = &strongestLine{l, l.LineHz(p.Near.Mains.Hz)}, v
		}
	}
	return best
}

// fallen is how many lines lie below quiet, of a pair whose total doesn't.
func fallen(p model.Pair) int {
	if changeOf(p.Hum.Delta) == fell {
		return 0
	}
	return count(p.Lines, func(l model.LineChange) bool { return below(l.Delta) })
}

// below reports whether a line lies below quiet beyond chance: by twice its
// interval where it was measured, as among many lines some lie below by once.
func below(d model.Estimate) bool {
	v, measured := d.Value()
	hi, _ := d.Upper()
	return changeOf(d) == fell && (!measured || v+2*(hi-v) < 0)
}

func pickupOfTotal(p model.Pair, set model.Settings) model.Estimate {
	near, known := set.ScaleOf(model.ForNear)
	if !known || changeOf(p.Hum.Delta) == nothing {
		return model.Estimate{}
	}
	lo, hi := ends(near.AmplitudeInVolts(p.Hum.Pickup))
	switch {
	case !hi.Ok():
		return model.Estimate{}
	case !(lo > 0):
		return estimate.Below(hi.Float())
	}
	return estimate.Between(lo.Float(), hi.Float())
}

// residual says how near stands above what the instrument adds by itself.
func residual(p pairSaid) []string {
	if p.Residual == nil || !p.Sound() {
		return nil
	}
	own := p.Residual.Hum.Level
	_, limit := ends(own)
	return tell("pair.residual", map[string]any{"silent": p.Residual.Health.Silent, "found": own.Measured(), "level": p.Of(model.ForNear, own),
		"above": value(own) - value(p.Hum.Near), "aboveLimit": value(p.Hum.Near) - limit, "limit": limit, "own": own})
}

// unsteadyLines names the unsteady lines of a pair, e.g. "harmonics 1 and 3 in
// near"; empty where there are none.
func unsteadyLines(p model.Pair) string {
	in := func(side string, c model.Capture) string {
		if said := unsteadyAlone(c); said != "" {
			return said + " in " + side
		}
		return ""
	}
	return strings.Join(add(nil, in("near", p.Near), in("quiet", p.Quiet)), ", ")
}

// unsteadyAlone names the unsteady lines of one capture, e.g. "harmonics 1 and 3";
// empty where there are none.
func unsteadyAlone(c model.Capture) string {
	var list []int
	for _, l := range c.Lines {
		if unsteady(l) {
			list = append(list, l.Harmonic)
		}
	}
	if len(list) == 0 {
		return ""
	}
	return harmonics(list)
}

// compareTables are a comparison's tables, one for each pair, with levels in a unit.
func compareTables(r model.Compare, u Unit) (all []Table) {
	lv, pickup := compareLevels(r, u), pickupPrefix(r)
	for i, p := range r.Pairs {
		all = append(all, pairTable(i, p, r.Settings, lv, pickup))
	}
	return all
}

// keyLines is how many lines the short form has.
const keyLines = 10

func compareLevels(r model.Compare, u Unit) levels {
	quiet, _ := r.Settings.ScaleOf(model.ForQuiet)
	near, _ := r.Settings.ScaleOf(model.ForNear)
	var all []onScale
	for _, p := range r.Pairs {
		all = append(all, onScale{p.Quiet, quiet}, onScale{p.Near, near})
	}
	return suited(u, all)
}

// pickupPrefix is that of the largest pickup that is printed.
func pickupPrefix(r model.Compare) Prefix {
	scale, _ := r.Settings.ScaleOf(model.ForNear)
	top := 0.0
	for _, p := range r.Pairs {
		top = highest(top, upperOf(scale.AmplitudeInVolts(p.Hum.Pickup)))
		for _, l := range p.Rows() {
			if foundIn(l) {
				top = highest(top, upperOf(scale.AmplitudeInVolts(l.Pickup)))
			}
		}
	}
	return PrefixFor(model.Num(top))
}

func upperOf(e model.Estimate) model.Estimate {
	_, hi := ends(e)
	return exactly(hi)
}

func foundIn(l model.Row) bool { return l.Quiet.Level.Measured() || l.Near.Level.Measured() }

func pairTable(i int, p model.Pair, set model.Settings, lv levels, pickup Prefix) Table {
	quiet, _ := set.ScaleOf(model.ForQuiet)
	near, _ := set.ScaleOf(model.ForNear)
	rest := noLimits(lv.Unit)
	for _, l := range p.Rows() {
		if !foundIn(l) {
			rest = rest.with(l.Quiet, quiet).with(l.Near, near)
		}
	}
	t := lineTable(i, pairFields(p, set, lv, pickup), p.Rows(), foundIn, func(l model.Row) int { return l.Harmonic }, keyOf(p, keyLines))
	t.Title = compared(p) + ", " + lowerFirst(channels(p))
	if p.Hum.Lines == 0 {
		t.Total = nil
	}
	t.Notes = slices.Concat(notFound(t, " in either capture", rest), pairNoise(p, set, lv.Unit), tonesSaid(" in quiet", p.Quiet.Tones, lv.Unit, quiet),
		tonesSaid(" in near", p.Near.Tones, lv.Unit, near), binsSaid(p.Near.Trace))
	return t
}

// lineTable is a table of lines, of which those found are shown; key are the harmonics that
// matter most.
func lineTable[R any](i int, fields []field[R], lines []R, found func(R) bool, harmonic func(R) int, key []int) Table {
	id := fmt.Sprintf("%d", i+1)
	t := Table{ID: "lines" + id, Group: "pair" + id, Columns: columns(fields), Sorts: true, Total: totals(fields)}
	for _, l := range lines {
		h := harmonic(l)
		t.Rows = append(t.Rows, Row{Shown: found(l), Key: slices.Contains(key, h), Line: h, Cells: cellsOf(fields, l)})
	}
	n := count(lines, found)
	t.Rest, t.Views = more(n-len(key), "line"), views(len(key), n, len(lines))
	return t
}

// keyOf are the harmonics that matter most: half of them the strongest, the others
// those that changed most for certain.
func keyOf(p model.Pair, n int) []int {
	rows := slices.DeleteFunc(p.Rows(), func(l model.Row) bool { return !foundIn(l) })
	by := func(of func(model.Row) float64) {
		slices.SortStableFunc(rows, func(a, b model.Row) int { return cmp.Compare(of(b), of(a)) })
	}
	var key []int
	take := func(n int) {
		for len(rows) > 0 && len(key) < n {
			key, rows = append(key, rows[0].Harmonic), rows[1:]
		}
	}
	by(strength)
	take((n + 1) / 2)
	by(func(l model.Row) float64 { return certain(l.Delta) })
	take(n)
	return key
}

// strength is the level by which a row counts as strong.
func strength(l model.Row) float64 {
	if v, ok := l.Near.Level.Value(); ok {
		return v
	}
	v, _ := l.Quiet.Level.Value()
	return v
}

// certain is how far a delta's nearer end lies from no change, dB.
func certain(d model.Estimate) float64 {
	if lo, ok := d.Lower(); ok && lo > 0 {
		return lo
	}
	if hi, ok := d.Upper(); ok && hi < 0 {
		return -hi
	}
	return math.Inf(-1)
}

func channelTable(r model.Compare, u Unit) Table {
	lv, pickup := compareLevels(r, u), pickupPrefix(r)
	quiet, _ := r.Settings.ScaleOf(model.ForQuiet)
	near, known := r.Settings.ScaleOf(model.ForNear)
	fields := []field[model.Pair]{
		worded("channel", func(p model.Pair) string { return strings.TrimPrefix(channels(p), "Channel ") }),
		{Column: Column{Head: "quiet", Unit: lv.head(), Level: true}, cell: func(p model.Pair) Cell { return lv.cell(p.Hum.Quiet, quiet) }},
		{Column: Column{Head: "near", Unit: lv.head(), Level: true}, cell: func(p model.Pair) Cell { return lv.cell(p.Hum.Near, near) }},
		{Column: Column{Head: "delta", Unit: "dB", First: true}, cell: func(p model.Pair) Cell { return deltaCell(p.Hum.Delta) }},
	}
	if known {
		fields = append(fields, field[model.Pair]{Column: Column{Head: "pickup", Unit: pickup.Name + "V rms", Spare: spareVoltage},
			cell: func(p model.Pair) Cell { return pickupCell(p.Hum.Pickup, near, pickup) }})
	}
	return tableOf("channeltable", compared(r.Pairs[0]), fields, r.Pairs).upTo(keyLines, "channel")
}

func pairFields(p model.Pair, set model.Settings, lv levels, pickup Prefix) []field[model.Row] {
	quiet, _ := set.ScaleOf(model.ForQuiet)
	near, known := set.ScaleOf(model.ForNear)
	resolved := known && pairOf(p, set).Resolved()
	fields := []field[model.Row]{
		{Column{Head: "harmonic"}, func(l model.Row) Cell { return countCell(l.Harmonic) }, Cell{Text: "hum"}},
		{Column{Head: "frequency", Unit: "Hz", Spare: spareFrequency}, func(l model.Row) Cell { return numberCell(l.Hz, 2) }, Cell{Text: Count(p.Hum.Lines, "line")}},
		{Column{Head: "quiet", Unit: lv.head(), Level: true}, func(l model.Row) Cell { return lv.lineCell(l.Quiet, quiet) }, lv.cell(p.Hum.Quiet, quiet)},
		{Column{Head: "near", Unit: lv.head(), Level: true}, func(l model.Row) Cell { return lv.lineCell(l.Near, near) }, lv.cell(p.Hum.Near, near)},
		{Column{Head: "delta", Unit: "dB", First: !resolved}, func(l model.Row) Cell { return deltaCell(l.Delta) }, deltaCell(p.Hum.Delta)},
	}
	if known {
		volts := Column{Head: "pickup", Unit: pickup.Name + "V rms", Spare: spareVoltage}
		if resolved {
			volts.First, volts.Spare = true, 0
		}
		fields = append(fields, field[model.Row]{volts, func(l model.Row) Cell { return pickupCell(l.Pickup, near, pickup) }, pickupCell(p.Hum.Pickup, near, pickup)})
	}
	return append(fields, field[model.Row]{Column: Column{Head: "floor", Unit: lv.floorHead(), Spare: spareFloor},
		cell: func(l model.Row) Cell { return lv.floorCell(l.Near, near) }})
}
