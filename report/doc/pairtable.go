package doc

import (
	"cmp"
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"

	"humdiff/report/model"
)

// CompareTables are a comparison's tables, one for each pair, with levels in a unit.
func CompareTables(r model.Compare, u Unit) iter.Seq[Table] {
	lv := compareLevels(r, u)
	pickup := pickupPrefix(r)
	return func(yield func(Table) bool) {
		for i, p := range r.Pairs {
			if !yield(pairTable(i, p, r.Settings, lv, pickup)) {
				return
			}
		}
	}
}

// keyLines is how many lines the short form has.
const keyLines = 10

// compareLevels is a unit that suits all pairs.
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

// upperOf is an estimate's upper end as a value by itself.
func upperOf(e model.Estimate) model.Estimate {
	_, hi := ends(e)
	return exactly(hi)
}

func foundIn(l model.Row) bool { return l.Quiet.Level.Measured() || l.Near.Level.Measured() }

func pairTable(i int, p model.Pair, set model.Settings, lv levels, pickup Prefix) Table {
	fields := pairFields(p, set, lv, pickup)
	id := fmt.Sprintf("%d", i+1)
	t := Table{ID: "lines" + id, Group: "pair" + id, Columns: columns(fields), Sorts: true,
		Title: compared(p) + ", " + lowerFirst(channels(p))}
	rest, left := noLimits(lv.Unit), 0
	quiet, _ := set.ScaleOf(model.ForQuiet)
	near, _ := set.ScaleOf(model.ForNear)
	key := keyOf(p, keyLines)
	found := 0
	for _, l := range p.Rows() {
		t.Rows = append(t.Rows, Row{Shown: foundIn(l), Key: slices.Contains(key, l.Harmonic), Line: l.Harmonic, Cells: cellsOf(fields, l)})
		if foundIn(l) {
			found++
			continue
		}
		rest = rest.with(l.Quiet, quiet).with(l.Near, near)
		left++
	}
	if p.Hum.Lines > 0 {
		t.Total = totals(fields)
	}
	t.Rest, t.Hide = more(found-len(key), "line"), hide(left)
	t.Notes = append(t.Notes, notFound(left, len(p.Lines), " in either capture", rest)...)
	t.Notes = append(t.Notes, pairNoise(p, set, lv.Unit)...)
	t.Notes = append(t.Notes, tonesSaid(" in quiet", p.Quiet.Tones, lv.Unit, quiet)...)
	t.Notes = append(t.Notes, tonesSaid(" in near", p.Near.Tones, lv.Unit, near)...)
	t.Notes = append(t.Notes, binsSaid(p.Near.Trace)...)
	return t
}

// keyOf are the harmonics that matter most: half of them the strongest, the others
// those that changed most for certain.
func keyOf(p model.Pair, n int) []int {
	var rows []model.Row
	for _, l := range p.Rows() {
		if foundIn(l) {
			rows = append(rows, l)
		}
	}
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

// channelTable is the totals of several channels.
func channelTable(r model.Compare, u Unit) Table {
	lv, pickup := compareLevels(r, u), pickupPrefix(r)
	quiet, _ := r.Settings.ScaleOf(model.ForQuiet)
	near, known := r.Settings.ScaleOf(model.ForNear)
	fields := []field[model.Pair]{
		{Column: Column{Head: "channel", Left: true}, cell: func(p model.Pair) Cell { return Cell{Text: strings.TrimPrefix(channels(p), "Channel ")} }},
		{Column: Column{Head: "quiet", Unit: lv.head(), Level: true}, cell: func(p model.Pair) Cell { return lv.cell(p.Hum.Quiet, quiet) }},
		{Column: Column{Head: "near", Unit: lv.head(), Level: true}, cell: func(p model.Pair) Cell { return lv.cell(p.Hum.Near, near) }},
		{Column: Column{Head: "delta", Unit: "dB"}, cell: func(p model.Pair) Cell { return deltaCell(p.Hum.Delta) }},
	}
	if known {
		fields = append(fields, field[model.Pair]{Column: Column{Head: "pickup", Unit: pickup.Name + "V rms", Spare: spareVoltage},
			cell: func(p model.Pair) Cell { return pickupCell(p.Hum.Pickup, near, pickup) }})
	}
	t := Table{ID: "channels", Title: compared(r.Pairs[0]), Columns: columns(fields)}
	for i, p := range r.Pairs {
		t.Rows = append(t.Rows, Row{Shown: true, Key: i < keyLines, Cells: cellsOf(fields, p)})
	}
	t.Rest = more(len(r.Pairs)-keyLines, "channel")
	return t
}

func pairFields(p model.Pair, set model.Settings, lv levels, pickup Prefix) []field[model.Row] {
	quiet, _ := set.ScaleOf(model.ForQuiet)
	near, known := set.ScaleOf(model.ForNear)
	volts := Column{Plain: []string{"pickup_lo_volts_rms", "pickup_hi_volts_rms", "pickup_lo_fs", "pickup_hi_fs"}}
	if known {
		volts.Head, volts.Unit, volts.Spare = "pickup", pickup.Name+"V rms", spareVoltage
	}
	return []field[model.Row]{
		hidden("quiet_file", func(model.Row) any { return p.Quiet.File }),
		hidden("quiet_channel", func(model.Row) any { return p.Quiet.Channel }),
		hidden("near_file", func(model.Row) any { return p.Near.File }),
		hidden("near_channel", func(model.Row) any { return p.Near.Channel }),
		{Column{Head: "harmonic", Plain: []string{"harmonic"}},
			func(l model.Row) Cell { return countCell(l.Harmonic) }, Cell{Text: "hum"}},
		{Column{Head: "frequency", Unit: "Hz", Plain: []string{"hz"}, Spare: spareFrequency},
			func(l model.Row) Cell { return numberCell(l.Hz, 2) }, Cell{Text: Count(p.Hum.Lines, "line")}},
		{Column{Head: "quiet", Unit: lv.head(), Level: true, Plain: linePlain("quiet_")},
			func(l model.Row) Cell { return lv.lineCell(l.Quiet, quiet) }, lv.cell(p.Hum.Quiet, quiet)},
		{Column{Head: "near", Unit: lv.head(), Level: true, Plain: linePlain("near_")},
			func(l model.Row) Cell { return lv.lineCell(l.Near, near) }, lv.cell(p.Hum.Near, near)},
		{Column{Head: "delta", Unit: "dB", Plain: []string{"delta_state", "delta_db", "delta_lo_db", "delta_hi_db"}},
			func(l model.Row) Cell { return deltaCell(l.Delta) }, deltaCell(p.Hum.Delta)},
		{volts,
			func(l model.Row) Cell { return pickupCell(l.Pickup, near, pickup) }, pickupCell(p.Hum.Pickup, near, pickup)},
		{Column{Head: "floor", Unit: lv.floorHead(), Spare: spareFloor},
			func(l model.Row) Cell { return lv.floorCell(l.Near, near) }, Cell{}},
	}
}
