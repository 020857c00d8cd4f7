package parts

import (
	"fmt"
	"html"
	"html/template"
	"strconv"
	"strings"

	"humdiff/report/result"
)

// Table is a table of a page.
type Table struct {
	Label      string // what it is, for those who do not see it
	LabelledBy string // or the id of the heading that says so
	Group      string // figures of this group and this table mark each other's lines
	Columns    []Column
	Rows       []Row
	Total      []Cell // below the rows; nil: none
	Numbers    bool   // all columns but the first are aligned to the right
	Sorts      bool   // readers can sort it by a column
	Hide       string // what the box says that hides the faint rows; empty: no box
}

// Column is a column's heading; the first may be empty.
type Column struct{ Head, Unit string }

// Row is one row.
type Row struct {
	Line  int  // its harmonic, by which it belongs to a line in figures; 0: none
	Faint bool // hidden unless the reader wants to see it
	Cells []Cell
}

// Cell is one cell. A table that is sorted by its column goes by Value, a
// result.Num or an int, and by the text where Value is nil; what has no number
// comes last.
type Cell struct {
	Text, Mark, Spread string
	Value              any
	Link               string // a file beside the page; empty: none
}

// Texts are cells that have only text.
func Texts(texts ...string) []Cell {
	var out []Cell
	for _, t := range texts {
		out = append(out, Cell{Text: t})
	}
	return out
}

// Sheet is a table as a part of a page.
func Sheet(t Table) template.HTML { return block("table", t) }

// Classes are what the style sheet and the script know the table by.
func (t Table) Classes() string {
	var all []string
	for _, c := range []struct {
		is   bool
		name string
	}{{t.Numbers, "numbers"}, {t.Sorts, "sorts"}} {
		if c.is {
			all = append(all, c.name)
		}
	}
	return strings.Join(all, " ")
}

// Sort is the attribute that the script sorts by.
func (c Cell) Sort() template.HTMLAttr {
	said := ""
	switch v := c.Value.(type) {
	case nil:
		return ""
	case result.Num:
		if v.Ok() {
			said = strconv.FormatFloat(float64(v), 'g', -1, 64)
		}
	default:
		said = fmt.Sprint(v)
	}
	return template.HTMLAttr(` data-v="` + html.EscapeString(said) + `"`)
}
