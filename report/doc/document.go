// Package doc tells a result: it takes a value of package model and gives a
// Document, sections of sentences, tables, figures and facts, in the order in
// which a reader needs them. It is the one place with words: a sentence, a
// caption, a number's digits are decided here and nowhere else. It measures and
// judges nothing, and gives no number to what was not found. Renderers (text,
// Markdown, HTML, a page) put a Document into form and add no words.
//
// Words stand in two tables, in which an editor or a translator can work: in
// sentences.toml what each note says, by its code; in told.toml what documents say of
// a model value, by place. Both are templates; says.go lists what they may call.
package doc

import (
	"humdiff/report/model"
)

// Document is a result told.
type Document struct {
	Title    string // the answer
	Gate     string // may I publish this; empty where nobody judged that
	Lead     string // what was compared or measured; may be empty
	Sections []Section
	Footer   string
	Compact  bool // to be set close, to fit one sheet of paper
}

// Section is a part with a heading of its own.
type Section struct {
	ID     string // stable, for links
	Title  string
	Short  int  // its place in the short form on a screen, 1 right below the answer and without its title; 0: it isn't in it
	Folded bool // a page folds it
	Blocks []Block
}

// Block is a piece of a section. All texts are plain; renderers escape them.
type Block interface{ block() }

// Kinds of lists.
const (
	Plain    = ""         // sentences, each by itself
	Prose    = "prose"    // sentences that follow on one another
	Notes    = "notes"    // what the numbers above mean
	Warnings = "warnings" // each with its code's sentence
	Caution  = "caution"  // safety words
	Hashes   = "hashes"   // for Facts: values are hashes
)

// List is sentences of one kind.
type List struct {
	Kind  string
	ID    string // may be empty
	Title string // may be empty
	Items []string
	Brief []string // what the short form has instead; nil: the same. A list without items is of the short form alone
}

// Shorter is what the short form has of a list: fewer items, or none.
func (l List) Shorter() []string {
	if l.Brief == nil {
		return l.Items
	}
	return l.Brief
}

// Heading is a heading within a section, as of one channel of two.
type Heading struct{ ID, Text string }

// Fact is a name and its value.
type Fact struct{ Name, Value string }

// Facts are conditions, one a line.
type Facts struct {
	Kind string
	Of   []Fact
}

// Figure stands where a figure is to be drawn: its name as package figure knows
// it, and of which pair, capture or ranking.
type Figure struct {
	Name  string
	Index int
	Group string // of the table whose lines it marks; may be empty
}

func (List) block()    {}
func (Heading) block() {}
func (Facts) block()   {}
func (Figure) block()  {}
func (Table) block()   {}

// Table is rows under columns, of which those are printed that are Shown; a page has
// all. CSV is not made of it: package wire has the numbers.
type Table struct {
	ID      string
	Title   string
	Columns []Column
	Rows    []Row
	Total   []Cell    // below the rows; nil: none
	Notes   []string  // what the numbers mean
	Group   string    // ties it to the figures of the same pair
	Sorts   bool      // a page lets the reader sort it
	Rest    string    // what the short form says of the rows that aren't Key; may be empty
	Views   [3]string // what a page lets the reader choose between: rows that are Key, Shown, all; empty: not offered
}

// Column is one column.
type Column struct {
	Head  string
	Unit  string
	Left  bool // holds words, not numbers
	Level bool // holds levels, whose intervals can be left out
	First bool // what a reader looks for: on a page, which may be narrow, it stands next to the first column
	Spare int  // where there is too little room the highest goes first; 0: none goes
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

// Told is a result told, a pointer to a model value, with levels in a unit; empty for
// another. A session's runs link to no pages: Session does.
func Told(result any, u Unit) Document {
	switch r := result.(type) {
	case *model.Compare:
		return Compare(*r, u)
	case *model.Measure:
		return Measure(*r, u)
	case *model.Trend:
		return Trend(*r, u)
	case *model.Check:
		return Check(*r)
	case *model.Session:
		return Session(*r, nil)
	case *model.Passport:
		return Passport(*r)
	case *model.Coupling:
		return Coupling(*r)
	case *model.Agreement:
		return Agreement(*r)
	case *model.Plan:
		return Plan(*r)
	case *model.Verification:
		return Verify(*r)
	}
	return Document{}
}
