// Package table lays a result out in rows and columns. It takes a result as
// it is printed and gives one Table, which is then written as text, as
// Markdown or as CSV. Text and Markdown round to the digits that mean
// something and leave out the lines in which nothing was found; CSV has every
// line, in the result's own numbers.
package table

// Table is a table of hum lines, in groups: one for each pair or capture.
// All strings are plain text; each form of output escapes them its own way.
type Table struct {
	Columns []Column
	Groups  []Group
	Notes   []string // what the numbers mean
	Footers []string // the result's warnings, each once; not in the text
}

// Column is one printed column, or only plain ones where Head is empty.
type Column struct {
	Head  string
	Unit  string
	Plain []string // names of the columns that it becomes in CSV, units included
	Level bool     // holds levels, whose intervals can be left out
	Spare int      // on a terminal too narrow the highest goes first; 0: none goes
}

// Group is the lines of one pair or capture.
type Group struct {
	Title      string
	Conditions []string
	Rows       []Row
	Total      []Cell   // printed below the rows; not in CSV; nil: none
	Notes      []string // what is known beside the lines
}

// Row is one line.
type Row struct {
	Shown bool   // printed; CSV has every row
	Line  int    // its harmonic
	Cells []Cell // one for each column
}

// Cell is what one column says of one line.
type Cell struct {
	Text   string // the value
	Mark   string // what a note explains, e.g. "~"
	Spread string // its interval, e.g. "±0.1" or "-0.4/+0.5"
	Plain  []any  // one for each plain column: result.Num, int, bool or string
	Value  any    // what a table sorted by this column goes by: result.Num or int; nil: nothing
}

// String is the cell in one piece.
func (c Cell) String() string {
	if c.Spread == "" {
		return c.Text + c.Mark
	}
	return c.Text + c.Mark + " " + c.Spread
}

// Printed is the columns that text and Markdown have.
func (t Table) Printed() []Column {
	var out []Column
	for _, c := range t.Columns {
		if c.Head != "" {
			out = append(out, c)
		}
	}
	return out
}

// Shown is the printed cells of a group's printed rows.
func (t Table) Shown(g Group) [][]Cell {
	var out [][]Cell
	for _, r := range g.Rows {
		if r.Shown {
			out = append(out, t.PrintedCells(r.Cells))
		}
	}
	return out
}

// PrintedCells leaves out the cells of columns that only CSV has.
func (t Table) PrintedCells(cells []Cell) []Cell {
	var out []Cell
	for i, c := range cells {
		if t.Columns[i].Head != "" {
			out = append(out, c)
		}
	}
	return out
}

// field is a column together with what fills it: from a line, and in the last
// row from the whole pair or capture (nil: nothing).
type field[Line, Whole any] struct {
	Column
	line  func(Line) Cell
	whole func(Whole) Cell
}

func columns[L, W any](fields []field[L, W]) []Column {
	out := make([]Column, len(fields))
	for i, f := range fields {
		out[i] = f.Column
	}
	return out
}

func lineCells[L, W any](fields []field[L, W], l L) []Cell {
	out := make([]Cell, len(fields))
	for i, f := range fields {
		out[i] = f.line(l)
	}
	return out
}

func wholeCells[L, W any](fields []field[L, W], w W) []Cell {
	out := make([]Cell, len(fields))
	for i, f := range fields {
		if f.whole != nil {
			out[i] = f.whole(w)
		}
	}
	return out
}

// hidden is a column that only CSV has.
func hidden[L, W any](name string, value func(L) any) field[L, W] {
	return field[L, W]{Column{Plain: []string{name}}, func(l L) Cell { return Cell{Plain: []any{value(l)}} }, nil}
}
