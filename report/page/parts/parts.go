// Package parts puts pages together: one HTML file that stands by itself, of
// sections made of lists, figures, tables and boxes. A page asks for nothing
// from elsewhere and its content policy allows nothing but its own style sheet
// and script, both named by their hashes. Everything can be read without the
// script; it adds sorting, and that a line in a table and in a figure mark each
// other. Texts given are plain, and escaped here.
package parts

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"

	"humdiff/report/figure"
)

//go:embed page.html
var source string

//go:embed page.css
var css string

//go:embed page.js
var script string

var blocks = template.Must(template.New("parts").Parse(source))

// Page is a whole page.
type Page struct {
	Title    string // the conclusion, where there is one
	Lead     string // below it; may be empty
	Sections []Section
	Footer   string
	Compact  bool // set close, to fit one sheet of paper
}

// Section is a part of a page with a heading of its own.
type Section struct {
	ID, Title string
	Body      []template.HTML // what the functions here return
}

// HTML is the page as a file.
func (p Page) HTML() ([]byte, error) {
	style := StyleSheet()
	var b bytes.Buffer
	err := blocks.ExecuteTemplate(&b, "page", struct {
		Page
		CSS    template.CSS
		Script template.JS
		Policy string
	}{p, template.CSS(style), template.JS(script), policy(style)})
	if err != nil {
		return nil, fmt.Errorf("page: %w", err)
	}
	return b.Bytes(), nil
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

// block fills one block of the template. It fails only where the template and
// the values given to it don't fit, which every test would show.
func block(name string, with any) template.HTML {
	var b bytes.Buffer
	if err := blocks.ExecuteTemplate(&b, name, with); err != nil {
		panic(err)
	}
	return template.HTML(b.String())
}

// Heading is a heading within a section; the id may be empty.
func Heading(id, text string) template.HTML {
	return block("heading", struct{ ID, Text string }{id, text})
}

// Text is a paragraph.
func Text(text string) template.HTML { return block("text", text) }

// Item is one of a list: what is the case, and what to do about it, which stands
// out; either may be empty.
type Item struct{ What, Do string }

// List is a list of sentences; nothing where there are none.
func List(items ...string) template.HTML { return list("", items) }

// Notes is a list in smaller, softer letters.
func Notes(items ...string) template.HTML { return list("notes", items) }

// Warnings is a list with a bar beside it.
func Warnings(items ...string) template.HTML { return list("warnings", items) }

// Advice is a list in which what to do stands out.
func Advice(items ...Item) template.HTML {
	return block("list", struct {
		Class string
		Items []Item
	}{"", items})
}

func list(class string, items []string) template.HTML {
	var all []Item
	for _, i := range items {
		all = append(all, Item{What: i})
	}
	return block("list", struct {
		Class string
		Items []Item
	}{class, all})
}

type box struct {
	Class, LabelledBy string
	Body              []template.HTML
}

// Box sets its body off from what is around it.
func Box(body ...template.HTML) template.HTML { return block("box", box{Class: "box", Body: body}) }

// Columns sets bodies beside each other where there is room, each with its
// heading.
func Columns(columns ...Beside) template.HTML {
	var all []template.HTML
	for _, c := range columns {
		all = append(all, block("box", box{Class: "column", Body: append([]template.HTML{Heading("", c.Title)}, c.Body...)}))
	}
	return block("box", box{Class: "open", Body: all})
}

// Beside is one of Columns.
type Beside struct {
	Title string
	Body  []template.HTML
}

// Caution is a box that warns of danger.
func Caution(id, title string, items ...string) template.HTML {
	return block("box", box{"caution", id, []template.HTML{Heading(id, title), List(items...)}})
}

// Fact is a name and a value.
type Fact struct{ Name, Value string }

// Facts is names and values beside each other.
func Facts(facts ...Fact) template.HTML { return factsOf("", facts) }

// Hashes is names and, below each, a long value.
func Hashes(facts ...Fact) template.HTML { return factsOf("hashes", facts) }

func factsOf(class string, facts []Fact) template.HTML {
	return block("facts", struct {
		Class string
		Facts []Fact
	}{class, facts})
}

// Figure is a figure, drawn for wide windows and for narrow ones. The id is the
// beginning of the ids in it. Its lines and those of tables of the same group
// mark each other; the group may be empty.
func Figure(id, group string, f figure.Figure) template.HTML {
	return block("figure", struct {
		Group        string
		Wide, Narrow template.HTML
	}{group, template.HTML(f.SVG(figure.Options{Size: figure.Wide, ID: id})),
		template.HTML(f.SVG(figure.Options{Size: figure.Phone, ID: id + "-narrow"}))})
}
