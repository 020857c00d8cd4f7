// Package page puts a told result into one HTML file that stands by itself, and
// parts of it into fragments for a page that changes. It takes a doc.Document and a
// function that draws its figures, and adds no words. A page asks for nothing
// from elsewhere: its content policy allows nothing but its own style sheet and
// script, both named by their hashes. Everything can be read without the script;
// that adds sorting, and that a line in a table and in a figure mark each other.
package page

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html"
	"html/template"
	"slices"
	"strconv"

	"humdiff/report/doc"
	"humdiff/report/figure"
	"humdiff/report/model"
)

//go:embed page.html
var source string

//go:embed page.css
var css string

//go:embed page.js
var script string

// Draw draws the figure that stands somewhere in a document; false: nothing is
// drawn there.
type Draw func(doc.Figure) (figure.Figure, bool)

// longest is from how many sections on a page has a table of contents.
const longest = 14

// HTML is a document as a file.
func HTML(d doc.Document, draw Draw) ([]byte, error) {
	style := StyleSheet()
	r := newRenderer(draw)
	var contents []doc.Section
	if len(d.Sections) >= longest {
		for _, s := range d.Sections {
			if !s.Folded { // those stand at the end, one line each
				contents = append(contents, s)
			}
		}
	}
	return r.execute("page", struct {
		doc.Document
		Contents []doc.Section
		CSS      template.CSS
		Script   template.JS
		Policy   string
	}{d, contents, template.CSS(style), template.JS(script), policy(style)})
}

// Fragment is blocks as a part of a page.
func Fragment(blocks []doc.Block, draw Draw) (template.HTML, error) {
	r := newRenderer(draw)
	var all template.HTML
	for _, b := range blocks {
		part, err := r.html(b)
		if err != nil {
			return "", err
		}
		all += part
	}
	return all, nil
}

// StyleSheet is the style of all pages; Script what their tables and figures do.
func StyleSheet() string {
	return css + "@media screen and (prefers-color-scheme: dark) {\n" + figure.DarkCSS(".figure") + "}\n"
}

// Script is run once; a page that changes calls its function enhance again, with
// the element whose content is new.
func Script() string { return script }

// policy allows the page its own style sheet and script, and nothing else.
func policy(style string) string {
	hash := func(s string) string {
		sum := sha256.Sum256([]byte(s))
		return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return "default-src 'none'; style-src " + hash(style) + "; script-src " + hash(script) + "; base-uri 'none'; form-action 'none'"
}

// renderer is the template with what draws its figures.
type renderer struct {
	*template.Template
	draw   Draw
	tables int // numbered so far: ids are needed where a document gives none
}

func newRenderer(draw Draw) *renderer {
	r := &renderer{draw: draw}
	r.Template = template.Must(template.New("page").Funcs(template.FuncMap{"written": r.html, "sortBy": sortBy}).Parse(source))
	return r
}

func (r *renderer) execute(name string, with any) ([]byte, error) {
	var b bytes.Buffer
	if err := r.ExecuteTemplate(&b, name, with); err != nil {
		return nil, fmt.Errorf("page: %w", err)
	}
	return b.Bytes(), nil
}

// html is one block.
func (r *renderer) html(b doc.Block) (template.HTML, error) {
	var text []byte
	var err error
	switch b := b.(type) {
	case doc.List:
		text, err = r.execute("list", b)
	case doc.Heading:
		text, err = r.execute("heading", b)
	case doc.Facts:
		text, err = r.execute("facts", b)
	case doc.Figure:
		text, err = r.figure(b)
	case doc.Table:
		text, err = r.execute("table", r.tableOf(b))
	default:
		err = fmt.Errorf("page: no block can be a %T", b)
	}
	return template.HTML(text), err
}

// figure is a figure, drawn for wide windows and for narrow ones.
func (r *renderer) figure(f doc.Figure) ([]byte, error) {
	drawn, ok := r.draw(f)
	if !ok {
		return nil, nil
	}
	id := fmt.Sprintf("%s%d", f.Name, f.Index+1)
	return r.execute("figure", struct {
		Group        string
		Wide, Narrow template.HTML
	}{f.Group, template.HTML(drawn.SVG(figure.Options{Size: figure.Wide, ID: id})),
		template.HTML(drawn.SVG(figure.Options{Size: figure.Phone, ID: id + "-narrow"}))})
}

// sheet is a table as the template needs it.
type sheet struct {
	doc.Table
}

func (r *renderer) tableOf(t doc.Table) sheet {
	r.tables++
	if t.ID == "" {
		t.ID = fmt.Sprintf("table%d", r.tables)
	}
	from := slices.IndexFunc(t.Columns, func(c doc.Column) bool { return c.First })
	if from > 1 {
		t.Columns, t.Total, t.Rows = second(t.Columns, from), second(t.Total, from), slices.Clone(t.Rows)
		for i := range t.Rows {
			t.Rows[i].Cells = second(t.Rows[i].Cells, from)
		}
	}
	return sheet{t}
}

// second is a list with one item moved to the second place.
func second[T any](list []T, from int) []T {
	if from >= len(list) {
		return list
	}
	return slices.Insert(slices.Delete(slices.Clone(list), from, from+1), 1, list[from])
}

// printed is a cell with its column.
type printed struct {
	doc.Cell
	Column doc.Column
}

// Printed are a row's cells with their columns.
func (s sheet) Printed(cells []doc.Cell) []printed {
	var out []printed
	for i, c := range cells {
		out = append(out, printed{c, s.Columns[i]})
	}
	return out
}

// choice is which rows a reader may have at once.
type choice struct {
	Class, Says string
	First       bool
}

// Choices are those that the table offers, the shortest first and chosen.
func (s sheet) Choices() (all []choice) {
	for i, says := range s.Views {
		if says != "" {
			all = append(all, choice{[]string{"few", "most", "every"}[i], says, len(all) == 0})
		}
	}
	return all
}

// Class is what hides a row from those who chose to see fewer.
func (s sheet) Class(r doc.Row) string {
	switch {
	case !r.Shown:
		return "faint"
	case !r.Key && s.Views[0] != "":
		return "more"
	}
	return ""
}

// Classes are what the style sheet and the script know the table by: one of
// numbers, whose columns are aligned to the right where they hold no words; one of
// words; one that sorts.
func (s sheet) Classes() string {
	classes := "words"
	if s.numbers() {
		classes = "numbers"
	}
	if s.Sorts {
		classes += " sorts"
	}
	return classes
}

func (s sheet) numbers() bool {
	return slices.ContainsFunc(s.Rows, func(r doc.Row) bool {
		return slices.ContainsFunc(r.Cells[1:], func(c doc.Cell) bool { return c.Value != nil })
	})
}

// sortBy is the attribute that the script sorts by: a number, nothing where the
// number isn't there; cells that have no attribute are sorted by their text.
func sortBy(c doc.Cell) template.HTMLAttr {
	said := ""
	switch v := c.Value.(type) {
	case nil:
		return ""
	case model.Num:
		if v.Ok() {
			said = strconv.FormatFloat(float64(v), 'g', -1, 64)
		}
	default:
		said = fmt.Sprint(v)
	}
	return template.HTMLAttr(` data-v="` + html.EscapeString(said) + `"`)
}
