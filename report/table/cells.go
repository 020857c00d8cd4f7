package table

import (
	"fmt"
	"math"

	"humdiff/report/result"
	"humdiff/report/words"
)

// spread writes how far an interval's ends lie from its value.
func spread(v, lo, hi result.Num) string {
	if !lo.Ok() || !hi.Ok() {
		return ""
	}
	d := words.Decimals(lo, hi)
	below, above := words.Fixed(v-lo, d), words.Fixed(hi-v, d)
	if below == above {
		return "±" + above
	}
	return "-" + below + "/+" + above
}

// levelCell prints a level with its interval, or the limit it lies below.
func levelCell(state string, v, lo, hi, limit result.Num) Cell {
	switch {
	case state == result.Detected:
		return Cell{Text: words.Fixed(v, words.Decimals(lo, hi)), Spread: spread(v, lo, hi), Value: v}
	case limit.Ok():
		return Cell{Text: "below " + words.Fixed(words.Up(limit), 1), Value: limit}
	}
	return Cell{Text: "not found", Value: result.None}
}

func (u levels) lineCell(l result.Line) Cell {
	c := u.cell(level(l))
	if words.Unsteady(l) {
		c.Mark = words.UnsteadyMark
	}
	c.Plain = append([]any{l.State, l.DBFS, l.LoDBFS, l.HiDBFS, l.LimitDBFS, l.FloorDBFSHz, l.Volts, l.Steadiness, l.Unsteady, l.Method}, absolute(l.Absolute)...)
	c.Plain = append(c.Plain, l.FloorVolts)
	return c
}

func linePlain(prefix string) []string {
	names := []string{"state", "dbfs", "lo_dbfs", "hi_dbfs", "limit_dbfs", "floor_dbfs_hz", "volts_rms", "steadiness", "unsteady", "method"}
	names = append(append(names, absolutePlain...), "floor_volts_rthz")
	for i := range names {
		names[i] = prefix + names[i]
	}
	return names
}

func deltaCell(d result.Delta) Cell {
	c := Cell{Text: "not measurable", Plain: []any{d.State, d.DB, d.LoDB, d.HiDB}, Value: result.None}
	switch d.State {
	case result.Measured:
		c.Text, c.Spread, c.Value = words.Fixed(d.DB, words.Decimals(d.LoDB, d.HiDB)), spread(d.DB, d.LoDB, d.HiDB), d.DB
	case result.AtLeast:
		c.Text, c.Value = "at least "+words.Fixed(words.Down(d.LoDB), 1), d.LoDB
	case result.AtMost:
		c.Text, c.Value = "at most "+words.Fixed(words.Up(d.HiDB), 1), d.HiDB
	}
	return c
}

// pickupCell prints a range of voltage in a prefix that the column shares.
func pickupCell(p result.Pickup, unit words.Prefix) Cell {
	c := Cell{Plain: []any{p.LoVolts, p.HiVolts, p.LoFS, p.HiFS}, Value: p.HiVolts}
	switch {
	case !p.HiVolts.Ok():
	case !words.Negligible(p.LoVolts, p.HiVolts):
		c.Text = unit.Digits(p.LoVolts) + " to " + unit.Digits(p.HiVolts)
	default:
		c.Text = "below " + unit.Digits(p.HiVolts)
	}
	return c
}

func numberCell(v result.Num, decimals int) Cell {
	return Cell{Text: words.Fixed(v, decimals), Plain: []any{v}, Value: v}
}

func harmonicCell(h int) Cell { return Cell{Text: fmt.Sprint(h), Plain: []any{h}, Value: h} }

// limits is the range of the detection limits of lines that were not found, in
// a unit.
type limits struct {
	Unit
	lo, hi result.Num
}

func noLimits(u Unit) limits {
	return limits{u, result.Num(math.Inf(1)), result.Num(math.Inf(-1))}
}

func (r limits) with(l result.Line) limits {
	v := r.limit(l)
	if !v.Ok() {
		return r
	}
	return limits{r.Unit, min(r.lo, v), max(r.hi, v)}
}

func (r limits) String() string {
	if !r.hi.Ok() {
		return "."
	}
	if r.Unit == Volts {
		return fmt.Sprintf(": their detection limits run from %s rms.", words.VoltsRange(r.lo, r.hi))
	}
	return fmt.Sprintf(": their detection limits run from %s to %s %s.",
		words.Fixed(words.Up(r.lo), 1), words.Fixed(words.Up(r.hi), 1), r.Unit)
}

func detected(l result.Line) bool { return l.State == result.Detected }
