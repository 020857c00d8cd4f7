package doc

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// dbCell prints a level in decibels with its interval, or the limit it lies below.
func dbCell(e model.Estimate) Cell {
	lo, hi := ends(e)
	switch v := value(e); {
	case v.Ok():
		d := decimals(lo, hi)
		return Cell{Text: Fixed(v, d), Spread: spread(e, d, 1), Value: v}
	case hi.Ok():
		return Cell{Text: levelShort(e), Value: hi}
	}
	return Cell{Text: "not found", Value: model.None}
}

func deltaCell(e model.Estimate) Cell {
	lo, hi := ends(e)
	v := value(e)
	c := Cell{Text: deltaShort(e), Value: v, Plain: []any{deltaState(e), v, lo, hi}}
	switch {
	case v.Ok():
		d := decimals(lo, hi)
		c.Text, c.Spread = Fixed(v, d), spread(e, d, 1)
	case lo.Ok():
		c.Value = lo
	case hi.Ok():
		c.Value = hi
	}
	return c
}

func deltaState(e model.Estimate) string {
	switch e.State() {
	case estimate.Measured, estimate.Range:
		return "measured"
	case estimate.AtLeast:
		return "at_least"
	case estimate.AtMost:
		return "at_most"
	}
	return "not_measurable"
}

// pickupCell prints a voltage, or a range of it, in a prefix that the column shares; its
// plain values are volts, and amplitudes relative to full scale.
func pickupCell(fs model.Estimate, s model.Scale, unit Prefix) Cell {
	volts := s.AmplitudeInVolts(fs)
	lo, hi := ends(volts)
	loFS, hiFS := ends(fs)
	c := Cell{Plain: append([]any{lo, hi, loFS, hiFS}, phasePlain(volts, fs)...), Value: hi}
	switch v := value(volts); {
	case !hi.Ok():
	case v.Ok():
		c.Text, c.Value = unit.Digits(v), v
		_, decimals, _ := strings.Cut(c.Text, ".")
		c.Spread = spread(volts, len(decimals), unit.Scale)
	case lo.Ok() && !negligible(lo, hi):
		c.Text = between(unit.Digits(lo), unit.Digits(hi))
	default:
		c.Text = "below " + unit.digitsUp(hi)
	}
	return c
}

func numberCell(v model.Num, decimals int) Cell {
	return Cell{Text: Fixed(v, decimals), Plain: []any{v}, Value: v}
}

func countCell(n int) Cell { return Cell{Text: fmt.Sprint(n), Plain: []any{n}, Value: n} }

// unsteadyMark stands behind the level of a line that was found and changed its
// level during the capture by more than noise explains.
const unsteadyMark = "~"

func unsteady(l model.Line) bool { return l.Level.Measured() && l.Unsteady }

// lineCell is a line's level, with all that CSV has of a line.
func (u levels) lineCell(l model.Line, s model.Scale) Cell {
	c := u.cell(l.Level, s)
	if unsteady(l) {
		c.Mark = unsteadyMark
	}
	volts := s.InVolts(l.Level)
	c.Plain = append([]any{levelState(l.Level)}, levelNumbers(l.Level)...)
	c.Plain = append(c.Plain, l.FloorDBFSHz, l.Coherence, l.Unsteady, l.Method)
	for _, e := range []model.Estimate{volts, model.DBV(volts), model.DBu(volts)} {
		c.Plain = append(c.Plain, levelNumbers(e)...)
	}
	c.Plain = append(c.Plain, value(s.InVolts(exactly(l.FloorDBFSHz))))
	return c
}

func linePlain(prefix string) []string {
	names := []string{prefix + "state"}
	names = append(names, levelPlain(prefix, "dbfs")...)
	names = append(names, prefix+"floor_dbfs_hz", prefix+"steadiness", prefix+"unsteady", prefix+"method")
	for _, unit := range []string{"volts_rms", "dbv", "dbu"} {
		names = append(names, levelPlain(prefix, unit)...)
	}
	return append(names, prefix+"floor_volts_rthz")
}

// levelNumbers are a level's value, its interval's ends, and its upper limit where
// it was not found.
func levelNumbers(e model.Estimate) []any {
	v, lo, hi := e.Numbers()
	limit := math.NaN()
	if !e.Measured() {
		lo, hi, limit = math.NaN(), math.NaN(), hi
	}
	return []any{model.Of(v), model.Of(lo), model.Of(hi), model.Of(limit)}
}

func levelPlain(prefix, unit string) []string {
	return []string{prefix + unit, prefix + "lo_" + unit, prefix + "hi_" + unit, prefix + "limit_" + unit}
}

func levelState(e model.Estimate) string {
	if e.Measured() {
		return "detected"
	}
	return "undetected"
}

// field is a column with what fills it from a row's value, and in the last row.
type field[R any] struct {
	Column
	cell  func(R) Cell
	total Cell
}

// each is what f makes of each of some.
func each[A, B any](all []A, f func(A) B) []B {
	out := make([]B, len(all))
	for i, x := range all {
		out[i] = f(x)
	}
	return out
}

// count is how many of some are such.
func count[T any](all []T, such func(T) bool) (n int) {
	for _, x := range all {
		if such(x) {
			n++
		}
	}
	return n
}

func columns[R any](fields []field[R]) []Column {
	return each(fields, func(f field[R]) Column { return f.Column })
}

func cellsOf[R any](fields []field[R], row R) []Cell {
	return each(fields, func(f field[R]) Cell { return f.cell(row) })
}

// withoutEmpty is a table that doesn't print columns in which no row says anything.
func withoutEmpty(t Table) Table {
	for i := range t.Columns {
		if i > 0 && !slices.ContainsFunc(t.Rows, func(r Row) bool { return r.Cells[i].Text != "" }) {
			t.Columns[i].Head = ""
		}
	}
	return t
}

func totals[R any](fields []field[R]) []Cell {
	return each(fields, func(f field[R]) Cell { return f.total })
}

// inTurn are tables made one at a time: of hundreds of captures all of them take
// more memory than their measuring.
func inTurn[T any](all []T, one func(i int, x T) Table) iter.Seq[Table] {
	return func(yield func(Table) bool) {
		for i, x := range all {
			if !yield(one(i, x)) {
				return
			}
		}
	}
}

// hidden is a column that only CSV has.
func hidden[R any](name string, of func(R) any) field[R] {
	return field[R]{Column: Column{Plain: []string{name}}, cell: func(r R) Cell { return Cell{Plain: []any{of(r)}} }}
}

// How soon a column goes where there is too little room; a table's levels lose
// their intervals between, at SpareIntervals, while deltas keep theirs.
const (
	spareFloor     = 5
	spareCoherence = 4
	spareFrequency = 3
	SpareIntervals = 2
	spareVoltage   = 1
)
