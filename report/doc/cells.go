package doc

import (
	"fmt"
	"slices"
	"strings"

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
	c := dbCell(e)
	if !e.Measured() {
		c.Text = deltaShort(e)
	}
	if lo, ok := e.Lower(); ok && !e.Measured() {
		c.Value = model.Num(lo)
	}
	return c
}

// pickupCell prints a voltage, or a range of it, in a prefix that the column shares.
func pickupCell(fs model.Estimate, s model.Scale, unit Prefix) Cell {
	volts := s.AmplitudeInVolts(fs)
	lo, hi := ends(volts)
	c := Cell{Value: hi}
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

func numberCell(v model.Num, decimals int) Cell { return Cell{Text: Fixed(v, decimals), Value: v} }

func countCell(n int) Cell { return Cell{Text: fmt.Sprint(n), Value: n} }

// unsteadyMark stands behind the level of a line that was found and changed its
// level during the capture by more than noise explains.
const unsteadyMark = "~"

func unsteady(l model.Line) bool { return l.Level.Measured() && l.Unsteady }

// lineCell is a line's level.
func (u levels) lineCell(l model.Line, s model.Scale) Cell {
	c := u.cell(l.Level, s)
	if unsteady(l) {
		c.Mark = unsteadyMark
	}
	return c
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

// withoutEmpty is a table without columns in which no row says anything.
func withoutEmpty(t Table) Table {
	for i := len(t.Columns) - 1; i > 0; i-- {
		if slices.ContainsFunc(t.Rows, func(r Row) bool { return r.Cells[i].Text != "" }) {
			continue
		}
		t.Columns = slices.Delete(t.Columns, i, i+1)
		for k := range t.Rows {
			t.Rows[k].Cells = slices.Delete(t.Rows[k].Cells, i, i+1)
		}
	}
	return t
}

func totals[R any](fields []field[R]) []Cell {
	return each(fields, func(f field[R]) Cell { return f.total })
}

// worded is a column of what is said in words.
func worded[R any](head string, of func(R) string) field[R] {
	return field[R]{Column: Column{Head: head, Left: true}, cell: func(r R) Cell { return Cell{Text: of(r)} }}
}

// named is a column of names from outside.
func named[R any](head string, of func(R) string) field[R] {
	return worded(head, func(r R) string { return Printable(of(r)) })
}

// counts is a column of whole numbers.
func counts[R any](head string, of func(R) int) field[R] {
	return field[R]{Column: Column{Head: head}, cell: func(r R) Cell { return countCell(of(r)) }}
}

// numbers is a column of numbers that write puts in words; what isn't there is empty.
func numbers[R any](head, unit string, write func(model.Num) string, of func(R) model.Num) field[R] {
	return field[R]{Column: Column{Head: head, Unit: unit}, cell: func(r R) Cell {
		if !of(r).Ok() {
			return Cell{Value: model.None}
		}
		return Cell{Text: write(of(r)), Value: of(r)}
	}}
}

// estimates is a column of estimates that write puts in words; what isn't known is empty.
func estimates[R any](head, unit string, write func(R, model.Estimate) string, of func(R) model.Estimate) field[R] {
	return field[R]{Column: Column{Head: head, Unit: unit}, cell: func(r R) Cell {
		e := of(r)
		if !e.Known() {
			return Cell{Value: model.None}
		}
		return Cell{Text: write(r, e), Value: sortedBy(e)}
	}}
}

// spared is a column that goes so soon where there is too little room.
func (f field[R]) spared(at int) field[R] {
	f.Spare = at
	return f
}

func decimal(n int) func(model.Num) string { return func(v model.Num) string { return Fixed(v, n) } }

// tableOf is a table with a row for each of some, all of them shown.
func tableOf[R any](id, title string, fields []field[R], all []R, notes ...string) Table {
	return Table{ID: id, Title: title, Columns: columns(fields), Notes: notes,
		Rows: each(all, func(r R) Row { return Row{Shown: true, Key: true, Cells: cellsOf(fields, r)} })}
}

// upTo is a table of which the short form has so many rows.
func (t Table) upTo(n int, noun string) Table {
	for i := range t.Rows {
		t.Rows[i].Key = i < n
	}
	t.Rest = more(len(t.Rows)-n, noun)
	return t
}

// How soon a column goes where there is too little room; a table's levels lose
// their intervals between, at SpareIntervals, while deltas keep theirs.
const (
	spareFloor     = 5
	SpareFirst     = 4 // and what goes before it, without a terminal too
	spareFrequency = 3
	SpareIntervals = 2
	spareVoltage   = 1
)
