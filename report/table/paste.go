package table

import (
	"html"
	"strings"
)

// markup is a form of text to paste where people post: how its parts are written.
type markup struct {
	escape                 func(string) string
	title, table, row      [2]string // what stands before and after
	head, first, cell      [2]string
	list, item             [2]string
	headRows, bodyRows, on string // before the heading's row, before the others, after all
}

// HTML writes the table as a fragment of HTML: no style, no script, nothing but
// the tables, their titles and notes.
func (t Table) HTML() string { return t.paste(asHTML) }

var asHTML = markup{
	escape: html.EscapeString,
	title:  [2]string{"<p><strong>", "</strong></p>\n"},
	table:  [2]string{"<table>\n", "</table>\n"},
	row:    [2]string{"<tr>", "</tr>\n"},
	head:   [2]string{`<th scope="col">`, "</th>"},
	first:  [2]string{`<th scope="row">`, "</th>"},
	cell:   [2]string{"<td>", "</td>"},
	list:   [2]string{"<ul>\n", "</ul>\n"},
	item:   [2]string{"<li>", "</li>\n"},

	headRows: "<thead>\n", bodyRows: "</thead>\n<tbody>\n", on: "</tbody>\n",
}

// BBCode writes the table in the tags that forums take. They know no way to write
// a square bracket that is none of theirs, so texts have round ones instead.
func (t Table) BBCode() string { return t.paste(asBBCode) }

var asBBCode = markup{
	escape: EscapeBBCode,
	title:  [2]string{"[b]", "[/b]\n"},
	table:  [2]string{"[table]\n", "[/table]\n"},
	row:    [2]string{"[tr]", "[/tr]\n"},
	head:   [2]string{"[th]", "[/th]"},
	first:  [2]string{"[td]", "[/td]"},
	cell:   [2]string{"[td]", "[/td]"},
	list:   [2]string{"[list]\n", "[/list]\n"},
	item:   [2]string{"[*]", "\n"},
}

// EscapeBBCode writes text so that a forum shows it as it is, but for its square
// brackets, which become round; an address in it is no link.
func EscapeBBCode(s string) string { return bbEscapes.Replace(s) }

var bbEscapes = strings.NewReplacer("[", "(", "]", ")", "://", ": //")

// Paste is sentences and a table in the form "html" or "bbcode".
func Paste(form string, sentences []string, t Table) string {
	m := asHTML
	if form == "bbcode" {
		m = asBBCode
	}
	var b strings.Builder
	m.items(&b, sentences)
	return b.String() + t.paste(m)
}

func (m markup) put(b *strings.Builder, around [2]string, text string) {
	b.WriteString(around[0] + m.escape(text) + around[1])
}

func (t Table) paste(m markup) string {
	var b strings.Builder
	for _, g := range t.Groups {
		m.put(&b, m.title, g.Title)
		m.items(&b, g.Conditions)
		if rows := t.Shown(g); len(rows) > 0 {
			t.pasteRows(&b, m, rows, t.PrintedCells(g.Total))
		}
		m.items(&b, g.Notes)
	}
	m.items(&b, t.Notes)
	var warnings []string
	for _, w := range t.Footers {
		warnings = append(warnings, "Warning: "+w)
	}
	m.items(&b, warnings)
	return b.String()
}

func (m markup) items(b *strings.Builder, items []string) {
	if len(items) == 0 {
		return
	}
	b.WriteString(m.list[0])
	for _, item := range items {
		m.put(b, m.item, item)
	}
	b.WriteString(m.list[1])
}

func (t Table) pasteRows(b *strings.Builder, m markup, rows [][]Cell, total []Cell) {
	b.WriteString(m.table[0] + m.headRows + m.row[0])
	for _, c := range t.Printed() {
		name := c.Head
		if c.Unit != "" {
			name += ", " + c.Unit
		}
		m.put(b, m.head, name)
	}
	b.WriteString(m.row[1] + m.bodyRows)
	if total != nil {
		rows = append(rows, total)
	}
	for _, r := range rows {
		b.WriteString(m.row[0])
		for i, c := range r {
			around := m.cell
			if i == 0 {
				around = m.first
			}
			m.put(b, around, c.String())
		}
		b.WriteString(m.row[1])
	}
	b.WriteString(m.on + m.table[1])
}
