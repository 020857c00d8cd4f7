package doc

import (
	"cmp"
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// told is what a result says of one channel, in the order of a reader's questions.
type told struct {
	of       string   // which channel or capture; empty where there is only one
	sure     []string // how sure the answer is
	found    []string // what was found, the most important first
	standsOn []string // the evidence
	notShown []string // what does not follow yet
	next     []string // what to record
}

func tellPair(p model.Pair, set model.Settings, warnings []model.Warning) told {
	t := told{sure: append(HowSure(p, set), doubtful(warnings, p.Quiet.Side, p.Near.Side)...)}
	switch {
	case Clipped(p) != "":
		t.found = []string{asRead(p, set)}
		t.notShown, t.next = []string{clippingHides}, []string{"Record again at a lower gain, the same for both captures."}
	case Obstacle(p) != "":
		t.notShown, t.next = apart(p)
	default:
		t.notShown, t.next = open(changeOf(p.Hum.Delta))
	}
	t.found = append(append(t.found, LineCounts(p)...), strongest(p, set)...)
	t.found = append(append(t.found, besideTotal(p.Quiet, set, model.ForQuiet, " in quiet")...), besideTotal(p.Near, set, model.ForNear, " in near")...)
	if Clipped(p) == "" && Obstacle(p) == "" {
		t.found = append(append(t.found, fallen(p)...), pickupSaid(p, set)...)
		t.found = append(t.found, residual(p, set)...)
		if changeOf(p.Hum.Delta) == nothing {
			t = withOtherMains(t, set, append(p.Quiet.Tones[:len(p.Quiet.Tones):len(p.Quiet.Tones)], p.Near.Tones...), p.Hum.Quiet, p.Hum.Near)
		}
	}
	t.standsOn = append(standsOn(p), scaleSaid(set)...)
	t.next = append(t.next, wouldScale(set)...)
	return t
}

// asRead says of a pair with clipped samples what was read, without claiming that
// it is so.
func asRead(p model.Pair, set model.Settings) string {
	if o := Obstacle(p); o != "" {
		return notComparable(o)
	}
	return "As read, and not to be relied on: near minus quiet is " + DeltaLong(p.Hum.Delta, set.Confidence) + "."
}

const clippingHides = "Anything to rely on: clipping makes lines of its own and changes the levels of others."

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

// LineCounts says how many lines were found where, if any was.
func LineCounts(p model.Pair) []string {
	n := CountLines(p)
	if len(p.Lines) == n.Neither {
		return nil
	}
	return []string{fmt.Sprintf("Of %s, %s found in both captures, %d in near only, %d in quiet only, %d in neither.",
		Count(len(p.Lines), "line"), were(n.Both), n.NearOnly, n.QuietOnly, n.Neither)}
}

// strongest names the strongest line in near: unlike the largest delta it is
// not picked for its luck.
func strongest(p model.Pair, set model.Settings) []string {
	best, top := model.Row{}, math.Inf(-1)
	for _, l := range p.Rows() {
		if v, ok := l.Near.Level.Value(); ok && v > top {
			best, top = l, v
		}
	}
	if math.IsInf(top, -1) {
		return nil
	}
	return []string{fmt.Sprintf("The strongest line in near is harmonic %d (%s): %s; delta %s.",
		best.Harmonic, Hz(best.LineHz(p.Near.Mains.Hz)), LevelOn(set, model.ForNear, best.Near.Level), Delta(best.Delta))}
}

func fallen(p model.Pair) []string {
	n := count(p.Lines, func(l model.LineChange) bool { return below(l.Delta) })
	if n == 0 || changeOf(p.Hum.Delta) == fell {
		return nil
	}
	return []string{fmt.Sprintf("In %s near lies below quiet. "+cancelled, Count(n, "line"))}
}

// below reports whether a line lies below quiet beyond chance: by twice its
// interval where it was measured, as among many lines some lie below by once.
func below(d model.Estimate) bool {
	v, measured := d.Value()
	hi, _ := d.Upper()
	return changeOf(d) == fell && (!measured || v+2*(hi-v) < 0)
}

func pickupSaid(p model.Pair, set model.Settings) []string {
	near, known := set.ScaleOf(model.ForNear)
	c := changeOf(p.Hum.Delta)
	if !known || c == nothing {
		return nil
	}
	lo, hi := ends(near.AmplitudeInVolts(p.Hum.Pickup))
	switch {
	case !hi.Ok():
		return nil
	case !(lo > 0):
		return []string{"The pickup lies " + Volts(estimate.Below(hi.Float())) + " (rms)."}
	case c == fell:
		return []string{fmt.Sprintf("If the lead did that, the pickup that cancels lies between %s and %s (rms).", SI(lo, "V"), SI(hi, "V"))}
	}
	return []string{fmt.Sprintf("The pickup lies between %s and %s (rms).", SI(lo, "V"), SI(hi, "V"))}
}

// residual says how near stands above what the instrument adds by itself.
func residual(p model.Pair, set model.Settings) []string {
	if p.Residual == nil {
		return nil
	}
	const whose = "The residual, which has no cable, "
	own := p.Residual.Hum.Level
	_, limit := ends(own)
	near, v := value(p.Hum.Near), value(own)
	switch {
	case p.Residual.Health.Silent:
		return []string{whose + "is silent: it says nothing of the instrument."}
	case v.Ok() && near.Ok() && near >= v:
		return []string{fmt.Sprintf(whose+"has hum of %s, %s below near's.", LevelOn(set, model.ForNear, own), DB(near-v))}
	case v.Ok() && near.Ok():
		return []string{fmt.Sprintf(whose+"has hum of %s, %s above near's.", LevelOn(set, model.ForNear, own), DB(v-near))}
	case v.Ok():
		return []string{fmt.Sprintf(whose+"has hum of %s.", LevelOn(set, model.ForNear, own))}
	case limit.Ok() && near > limit:
		return []string{fmt.Sprintf(whose+"has no hum that could be found: it lies at least %s below near's.", DB(down(near-limit)))}
	case limit.Ok():
		return []string{whose + "has no hum that could be found: it lies " + Level(own) + "."}
	}
	return []string{whose + "has no hum that could be found."}
}

func standsOn(p model.Pair) []string {
	said := []string{fmt.Sprintf("This stands on one placement of the lead: %s of quiet and %s of near.", length(p.Quiet), length(p.Near))}
	if p.Hum.Lines > 0 {
		said = append(said, fmt.Sprintf("Hum is the sum of %s to %s.", Count(p.Hum.Lines, "line"), Hz(model.Num(p.Hum.UpToHz))))
	}
	return said
}

func open(c change) (notShown, next []string) {
	const (
		again   = "Repeat with the lead taken away and put back."
		control = "Record an unplugged-lead control: the same lead in the same place, unplugged."
	)
	switch c {
	case rose:
		return []string{"That the lead's voltage is the cause: anything that changed between the captures can raise hum.",
			"How well it repeats: the interval covers recording noise only."}, []string{control, again}
	case fell:
		return []string{"What changed between the captures.", "How well it repeats: the interval covers recording noise only."},
			[]string{"Check the order: quiet and near may have been swapped.", "Record quiet once more.", control, again}
	case undecided:
		return []string{"Whether hum changed."}, []string{"Record longer: that lowers the upper limits.", again}
	}
	return []string{"That the cable is immune: an exposure that raises no cable shows no difference."},
		[]string{"Record a positive control, a cable known to leak, under the same exposure.", again}
}

func apart(p model.Pair) (notShown, next []string) {
	notShown = []string{"Any change of hum, or that there is none."}
	switch {
	case p.Quiet.Overlaps(p.Near.Side):
		next = []string{"Give two captures, or two spans of one that do not overlap."}
	case p.Quiet.Health.Silent || p.Near.Health.Silent:
		next = []string{"Check the input that was recorded, and record both captures again."}
	case p.Unlike():
		next = []string{"Record both captures on the same mains; if they were, say which it is: --mains 50 or --mains 60."}
	default:
		next = []string{"Record both captures at one sample rate, and longer."}
	}
	return notShown, next
}

// UnsteadyLines names the unsteady lines of a pair, e.g. "harmonics 1 and 3 in
// near"; empty where there are none.
func UnsteadyLines(p model.Pair) string {
	var parts []string
	for _, side := range []struct {
		name string
		model.Capture
	}{{"near", p.Near}, {"quiet", p.Quiet}} {
		if said := UnsteadyAlone(side.Capture); said != "" {
			parts = append(parts, said+" in "+side.name)
		}
	}
	return strings.Join(parts, ", ")
}

// UnsteadyAlone names the unsteady lines of one capture, e.g. "harmonics 1 and 3";
// empty where there are none.
func UnsteadyAlone(c model.Capture) string {
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

// CompareTables are a comparison's tables, one for each pair, with levels in a unit.
func CompareTables(r model.Compare, u Unit) iter.Seq[Table] {
	lv := compareLevels(r, u)
	pickup := pickupPrefix(r)
	return inTurn(r.Pairs, func(i int, p model.Pair) Table { return pairTable(i, p, r.Settings, lv, pickup) })
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
