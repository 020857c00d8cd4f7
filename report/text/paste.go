package text

import (
	"html"
	"strings"

	"humdiff/report/doc"
)

// markup is a form of text to paste where people post: how its parts are written.
// What a page folds is left out.
type markup struct {
	escape                  func(string) string
	title, section, heading [2]string // what stands before and after
	paragraph, list, item   [2]string
	table                   func(doc.Table) string
}

// HTML writes a result as a fragment of HTML: no style, no script, nothing but
// paragraphs, lists and tables.
func HTML(d doc.Document) string { return asHTML.write(d) }

// BBCode writes a result in the tags that forums take. They know no way to write a
// square bracket that is none of theirs, so texts have round ones instead.
func BBCode(d doc.Document) string { return asBBCode.write(d) }

// Markdown writes a result as Markdown (CommonMark with tables).
func Markdown(d doc.Document) string { return strings.TrimRight(asMarkdown.write(d), "\n") + "\n" }

var asHTML = markup{
	escape:    html.EscapeString,
	title:     [2]string{"<p><strong>", "</strong></p>\n"},
	section:   [2]string{"<p><strong>", "</strong></p>\n"},
	heading:   [2]string{"<p><em>", "</em></p>\n"},
	paragraph: [2]string{"<p>", "</p>\n"},
	list:      [2]string{"<ul>\n", "</ul>\n"},
	item:      [2]string{"<li>", "</li>\n"},
	table: cells{escape: html.EscapeString,
		table: [2]string{"<table>\n", "</tbody>\n</table>\n"}, row: [2]string{"<tr>", "</tr>\n"},
		head: [2]string{`<th scope="col">`, "</th>"}, first: [2]string{`<th scope="row">`, "</th>"}, cell: [2]string{"<td>", "</td>"},
		beforeHead: "<thead>\n", beforeBody: "</thead>\n<tbody>\n"}.write,
}

var asBBCode = markup{
	escape:    escapeBBCode,
	title:     [2]string{"[b]", "[/b]\n"},
	section:   [2]string{"\n[b]", "[/b]\n"},
	heading:   [2]string{"[i]", "[/i]\n"},
	paragraph: [2]string{"", "\n"},
	list:      [2]string{"[list]\n", "[/list]\n"},
	item:      [2]string{"[*]", "\n"},
	table: cells{escape: escapeBBCode,
		table: [2]string{"[table]\n", "[/table]\n"}, row: [2]string{"[tr]", "[/tr]\n"},
		head: [2]string{"[th]", "[/th]"}, first: [2]string{"[td]", "[/td]"}, cell: [2]string{"[td]", "[/td]"}}.write,
}

var asMarkdown = markup{
	escape:    escapeMarkdown,
	title:     [2]string{"**", "**\n\n"},
	section:   [2]string{"**", "**\n\n"},
	heading:   [2]string{"*", "*\n\n"},
	paragraph: [2]string{"", "\n\n"},
	list:      [2]string{"", "\n"},
	item:      [2]string{"- ", "\n"},
	table: cells{escape: escapeMarkdown, table: [2]string{"", "\n"}, row: [2]string{"|", "\n"},
		head: [2]string{" ", " |"}, first: [2]string{" ", " |"}, cell: [2]string{" ", " |"}, aligns: true}.write,
}

func (m markup) write(d doc.Document) string {
	var b strings.Builder
	m.put(&b, m.title, d.Title)
	for _, s := range []string{d.Gate, d.Lead} {
		if s != "" {
			m.put(&b, m.paragraph, s)
		}
	}
	for _, s := range d.Sections {
		if s.Folded {
			continue
		}
		var body strings.Builder
		for _, block := range written(s) {
			m.block(&body, block)
		}
		if body.Len() > 0 {
			m.put(&b, m.section, s.Title)
			b.WriteString(body.String())
		}
	}
	m.put(&b, m.paragraph, d.Footer)
	return b.String()
}

func (m markup) put(b *strings.Builder, around [2]string, text string) {
	b.WriteString(around[0] + m.escape(doc.Printable(text)) + around[1])
}

func (m markup) block(b *strings.Builder, block doc.Block) {
	switch block := block.(type) {
	case doc.List:
		m.items(b, block)
	case doc.Heading:
		m.put(b, m.heading, block.Text)
	case doc.Facts:
		l := doc.List{}
		for _, f := range block.Of {
			l.Items = append(l.Items, f.Name+": "+f.Value)
		}
		m.items(b, l)
	case doc.Table:
		if block.Title != "" {
			m.put(b, m.heading, block.Title)
		}
		b.WriteString(m.table(block))
		m.items(b, doc.List{Items: block.Notes})
	}
}

func (m markup) items(b *strings.Builder, l doc.List) {
	if len(l.Items) == 0 {
		return
	}
	if l.Title != "" {
		m.put(b, m.heading, l.Title)
	}
	if l.Kind == doc.Prose {
		m.put(b, m.paragraph, strings.Join(l.Items, " "))
		return
	}
	b.WriteString(m.list[0])
	for _, item := range l.Items {
		m.put(b, m.item, item)
	}
	b.WriteString(m.list[1])
}

// cells is how a table is written in tags.
type cells struct {
	escape                 func(string) string
	table, row             [2]string
	head, first, cell      [2]string
	beforeHead, beforeBody string
	aligns                 bool // a row below the heads says how columns are aligned
}

func (m cells) write(t doc.Table) string {
	s := sheetOf(t, false)
	if len(s.rows) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString(m.table[0] + m.beforeHead + m.row[0])
	for _, c := range s.columns {
		b.WriteString(m.head[0] + m.escape(headOf(c)) + m.head[1])
	}
	b.WriteString(m.row[1] + m.beforeBody)
	if m.aligns {
		b.WriteString(m.row[0])
		for _, c := range s.columns {
			b.WriteString(map[bool]string{true: ":--- |", false: " ---:|"}[c.Left])
		}
		b.WriteString(m.row[1])
	}
	if s.total != nil {
		s.rows = append(s.rows, s.total)
	}
	for _, r := range s.rows {
		b.WriteString(m.row[0])
		for i, c := range r {
			around := m.cell
			if i == 0 {
				around = m.first
			}
			b.WriteString(around[0] + m.escape(c.String()) + around[1])
		}
		b.WriteString(m.row[1])
	}
	return b.String() + m.table[1]
}

func headOf(c doc.Column) string {
	if c.Unit == "" {
		return c.Head
	}
	return c.Head + ", " + c.Unit
}

// escapeBBCode writes text so that a forum shows it as it is, but for its square
// brackets, which become round; an address in it is no link.
func escapeBBCode(s string) string { return bbEscapes.Replace(s) }

var bbEscapes = strings.NewReplacer("[", "(", "]", ")", "://", ": //")

// escapeMarkdown writes text so that Markdown shows it as it is, in a table's cell too.
func escapeMarkdown(s string) string { return markdownEscapes.Replace(s) }

var markdownEscapes = strings.NewReplacer(
	`\`, `\\`, "`", "\\`", `*`, `\*`, `_`, `\_`, `[`, `\[`, `]`, `\]`, `<`, `\<`, `>`, `\>`, `|`, `\|`,
	`#`, `\#`, `~`, `\~`, `&`, `\&`, `$`, `\$`, `!`, `\!`, `@`, `\@`, `://`, `:\//`, `www.`, `www\.`)
