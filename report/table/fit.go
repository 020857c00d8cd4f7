package table

import (
	"slices"
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"
)

// How soon a column goes where a terminal is too narrow. Between frequency and
// voltage the levels lose their intervals; the delta keeps its own.
const (
	spareFloor      = 5
	spareSteadiness = 4
	spareFrequency  = 3
	spareIntervals  = 2
	spareVoltage    = 1
)

// Fit is the table with so much left out that the text's rows are no wider than
// so many columns, as far as that goes, and a note that says what. A width of 0
// or less leaves nothing out. The table itself stays as it is.
func (t Table) Fit(width int) Table {
	var left []string
	for spare := spareFloor; spare > 0 && width > 0 && t.width() > width; spare-- {
		var out string
		if t, out = t.without(spare); out != "" {
			left = append(left, out)
		}
	}
	if len(left) > 0 {
		t.Notes = append(slices.Clone(t.Notes), "Left out, as the terminal is narrow: "+strings.Join(left, ", ")+". A wider one shows all, and so does --format csv.")
	}
	return t
}

// width is that of the widest row, header or rule of the text.
func (t Table) width() int {
	widest := 0
	for _, g := range t.Groups {
		if rows := t.Shown(g); len(rows) > 0 {
			for _, line := range strings.Split(t.textRows(g, rows), "\n") {
				widest = max(widest, text.StringWidth(line))
			}
		}
	}
	return widest
}

// without is the table without what is so spare, and what that was.
func (t Table) without(spare int) (Table, string) {
	if spare == spareIntervals {
		return t.withoutIntervals(), "the levels' intervals"
	}
	t.Columns = slices.Clone(t.Columns)
	out := ""
	for i, c := range t.Columns {
		if c.Spare == spare && c.Head != "" {
			out, t.Columns[i].Head = c.Head, ""
		}
	}
	return t, out
}

// withoutIntervals takes the intervals off the levels.
func (t Table) withoutIntervals() Table {
	t.Groups = slices.Clone(t.Groups)
	for i, g := range t.Groups {
		t.Groups[i].Rows = slices.Clone(g.Rows)
		for k, r := range g.Rows {
			t.Groups[i].Rows[k].Cells = t.bareLevels(r.Cells)
		}
		t.Groups[i].Total = t.bareLevels(g.Total)
	}
	return t
}

func (t Table) bareLevels(cells []Cell) []Cell {
	cells = slices.Clone(cells)
	for i := range cells {
		if t.Columns[i].Level {
			cells[i].Spread = ""
		}
	}
	return cells
}
