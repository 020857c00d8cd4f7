// Package doc tells a result: it takes a value of package model and gives a
// Document, sections of sentences, tables, figures and facts, in the order in
// which a reader needs them. It is the one place with words: a sentence, a
// caption, a number's digits are decided here and nowhere else. It measures and
// judges nothing, and gives no number to what was not found. Renderers (text,
// Markdown, HTML, a page) put a Document into form and add no words.
package doc

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
	Brief []string // what the short form has instead; nil: the same
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

// Columns are lists that stand beside each other where there is room.
type Columns []List

// Fact is a name and its value.
type Fact struct{ Name, Value string }

// Facts are conditions, one a line.
type Facts struct {
	Kind string
	Of   []Fact
}

// Advice is explanations that could still hold, and what speaks to each.
type Advice []struct{ Text, Answer string }

// Figure stands where a figure is to be drawn: its name as package figure knows
// it, and of which pair, capture or ranking.
type Figure struct {
	Name  string
	Index int
	Group string // of the table whose lines it marks; may be empty
}

func (List) block()    {}
func (Heading) block() {}
func (Columns) block() {}
func (Facts) block()   {}
func (Advice) block()  {}
func (Figure) block()  {}
func (Table) block()   {}
