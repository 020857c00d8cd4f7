package doc

import (
	"fmt"
	"math"
	"slices"

	"humdiff/report/model"
)

// AudibleTable is the table of lines at the listener against the threshold of
// hearing; those are shown that come nearest to it.
func AudibleTable(a model.Audibility) Table {
	fields := audibleFields()
	t := Table{ID: "listener", Title: "At the listener, near", Columns: columns(fields)}
	least := leastMargin(a)
	for _, l := range a.Lines {
		_, hi := ends(l.MarginDB)
		t.Rows = append(t.Rows, Row{Shown: hi >= least, Line: l.Harmonic, Cells: cellsOf(fields, l)})
	}
	if left := len(a.Lines) - mostAudible; left > 0 {
		t.Notes = append(t.Notes, fmt.Sprintf("%s farther below the threshold are left out here.", Count(left, "line")))
	}
	if _, hi := ends(a.AWeightedDB); hi.Ok() {
		t.Notes = append(t.Notes, "All lines, A-weighted (IEC 61672-1): "+soundRange(a.AWeightedDB)+" dB SPL.")
	}
	return t
}

// mostAudible is how many lines are shown; CSV and JSON have them all.
const mostAudible = 12

// leastMargin is that of the last line that is shown.
func leastMargin(a model.Audibility) model.Num {
	var all []model.Num
	for _, l := range a.Lines {
		_, hi := ends(l.MarginDB)
		all = append(all, hi)
	}
	slices.Sort(all)
	if n := len(all); n > mostAudible {
		return all[n-mostAudible]
	}
	return model.Num(math.Inf(-1))
}

func soundRange(e model.Estimate) string {
	text, ok := bare(e, 1, "at least ", "below ")
	if !ok {
		return unknown
	}
	return text
}

func audibleFields() []field[model.AudibleLine] {
	sound := func(head, name string, of func(model.AudibleLine) model.Estimate) field[model.AudibleLine] {
		return field[model.AudibleLine]{Column: Column{Head: head, Unit: "dB", Plain: []string{name + "_lo_db", name + "_hi_db"}},
			cell: func(l model.AudibleLine) Cell {
				lo, hi := ends(of(l))
				return Cell{Text: soundRange(of(l)), Plain: []any{lo, hi}}
			}}
	}
	return []field[model.AudibleLine]{
		{Column: Column{Head: "harmonic", Plain: []string{"harmonic"}}, cell: func(l model.AudibleLine) Cell { return countCell(l.Harmonic) }},
		{Column: Column{Head: "frequency", Unit: "Hz", Plain: []string{"hz"}}, cell: func(l model.AudibleLine) Cell { return numberCell(l.Hz, 2) }},
		{Column: Column{Head: "at the input", Plain: []string{"lo_volts_rms", "hi_volts_rms"}}, cell: func(l model.AudibleLine) Cell {
			lo, hi := ends(l.Volts)
			return Cell{Text: Volts(l.Volts), Plain: []any{lo, hi}}
		}},
		sound("SPL", "spl", func(l model.AudibleLine) model.Estimate { return l.SPLDB }),
		{Column: Column{Head: "threshold", Unit: "dB", Plain: []string{"threshold_db"}}, cell: func(l model.AudibleLine) Cell { return numberCell(l.ThresholdDB, 1) }},
		sound("margin", "margin", func(l model.AudibleLine) model.Estimate { return l.MarginDB }),
	}
}
