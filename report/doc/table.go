package doc

// Table is rows under columns. Text and page show the columns with a head and the
// rows that are Shown; CSV has every row, and of each column its plain parts.
type Table struct {
	ID      string
	Title   string
	Columns []Column
	Rows    []Row
	Total   []Cell   // below the rows; not in CSV; nil: none
	Notes   []string // what the numbers mean
	Group   string   // ties it to the figures of the same pair
	Sorts   bool     // a page lets the reader sort it
	Rest    string   // what the short form says of the rows that aren't Key; may be empty
	Hide    string   // what a page's switch for the rows that aren't Shown says; empty: there is none
}

// Column is one printed column, or only plain ones where Head is empty.
type Column struct {
	Head  string
	Unit  string
	Plain []string // names of the columns that it becomes in CSV, units included
	Left  bool     // holds words, not numbers
	Level bool     // holds levels, whose intervals can be left out
	Spare int      // where there is too little room the highest goes first; 0: none goes
}

// Row is one row.
type Row struct {
	Shown bool
	Key   bool // the short form on a screen has it
	Line  int  // its harmonic, where it is of one: ties it to marks of figures
	Cells []Cell
}

// Cell is what one column says in one row.
type Cell struct {
	Text   string // the value
	Mark   string // what a note explains, e.g. "~"
	Spread string // its interval, e.g. "±0.1" or "−0.4/+0.5"
	Plain  []any  // one for each plain column: model.Num, int, bool or string
	Link   string // a file beside the page; empty: none
	Value  any    // what a table sorted by this column goes by: model.Num or int; nil: nothing
}

// String is the cell in one piece.
func (c Cell) String() string {
	if c.Spread == "" {
		return c.Text + c.Mark
	}
	return c.Text + c.Mark + " " + c.Spread
}
