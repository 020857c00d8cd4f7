// Package text puts a told result into plain forms: a doc.Document as text for a
// terminal, in short or in full, as Markdown, as a fragment of HTML or as BBCode,
// and a doc.Table as CSV. It adds no words of its own, measures and rounds
// nothing, and lets nothing from outside command a terminal, a page or a
// spreadsheet.
package text

import (
	"slices"
	"strings"

	"humdiff/report/doc"

	"github.com/jedib0t/go-pretty/v6/text"
)

// screen is how many lines a terminal shows at once: what is longer ends with the
// answer again.
const screen = 40

// usual is how many columns tables of the short form have where there is no terminal.
const usual = 100

// Short writes what a terminal of so many columns shows first of a result; 0
// columns: any number.
func Short(d doc.Document, width int) string {
	w := &writer{width: width, short: true}
	w.paragraph(0, d.Title)
	if d.Gate != "" {
		w.paragraph(0, d.Gate)
	}
	for _, s := range inShort(d) {
		w.section(s)
	}
	return w.String()
}

// inShort are the sections of the short form, in their order there.
func inShort(d doc.Document) []doc.Section {
	all := slices.DeleteFunc(slices.Clone(d.Sections), func(s doc.Section) bool { return s.Short == 0 })
	slices.SortStableFunc(all, func(a, b doc.Section) int { return a.Short - b.Short })
	return all
}

// Full writes all of a result.
func Full(d doc.Document, width int) string {
	w := &writer{width: width}
	w.opening(d)
	for _, s := range d.Sections {
		w.section(s)
	}
	w.line(0, "")
	w.paragraph(0, d.Footer)
	if strings.Count(w.String(), "\n") > screen {
		w.line(0, "")
		w.paragraph(0, d.Title)
	}
	return w.String()
}

// written are a section's blocks without figures, which text has not, and without
// headings that nothing else stands under.
func written(s doc.Section) []doc.Block {
	var all []doc.Block
	heading := doc.Block(nil)
	for _, b := range s.Blocks {
		switch b.(type) {
		case doc.Figure:
		case doc.Heading:
			heading = b
		default:
			if heading != nil {
				all = append(all, heading)
				heading = nil
			}
			all = append(all, b)
		}
	}
	return all
}

// writer gathers lines no wider than a terminal.
type writer struct {
	strings.Builder
	width    int
	short    bool
	of       string // title of the section
	ownTitle bool   // its lists' titles stand for the section's
}

func (w *writer) opening(d doc.Document) {
	for _, s := range []string{d.Title, d.Gate, d.Lead} {
		if s != "" {
			w.paragraph(0, s)
		}
	}
}

func (w *writer) section(s doc.Section) {
	body := writer{width: w.width, short: w.short, of: s.Title, ownTitle: w.short && ownTitle(s)}
	for _, b := range written(s) {
		body.block(b)
	}
	if body.Len() == 0 {
		return
	}
	if w.short && s.Short == 1 {
		w.WriteString(body.String())
		return
	}
	w.line(0, "")
	if !body.ownTitle {
		w.paragraph(0, s.Title)
	}
	w.WriteString(body.String())
}

// ownTitle says that a section's lists or its table bring titles: in the short form
// those do.
func ownTitle(s doc.Section) bool {
	if len(s.Blocks) == 0 {
		return false
	}
	switch b := s.Blocks[0].(type) {
	case doc.List:
		return b.Title != ""
	case doc.Table:
		return b.Title != ""
	}
	return false
}

func (w *writer) block(b doc.Block) {
	switch b := b.(type) {
	case doc.List:
		w.list(b)
	case doc.Heading:
		w.paragraph(1, b.Text)
	case doc.Facts:
		w.facts(b)
	case doc.Table:
		w.table(b)
	}
}

func (w *writer) list(l doc.List) {
	items := l.Items
	if w.short {
		items = l.Shorter()
	}
	if len(items) == 0 {
		return
	}
	switch {
	case l.Title != "" && w.ownTitle:
		w.paragraph(0, l.Title)
	case l.Title != "":
		w.paragraph(1, l.Title)
	}
	if l.Kind == doc.Prose {
		w.prose(strings.Join(items, " "))
		return
	}
	for _, item := range items {
		w.paragraph(1, item)
	}
}

// prose writes sentences in lines that begin below one another.
func (w *writer) prose(s string) {
	for _, line := range folded(doc.Printable(s), w.width-2, w.width > 0) {
		w.line(1, line)
	}
}

func (w *writer) facts(f doc.Facts) {
	widest := 0
	for _, fact := range f.Of {
		widest = max(widest, text.StringWidth(fact.Name))
	}
	for _, fact := range f.Of {
		w.paragraph(1, padded(fact.Name, widest)+"  "+fact.Value)
	}
}

// paragraph writes a text in lines, set in by so many steps; its further lines are
// set in by one more.
func (w *writer) paragraph(depth int, s string) {
	for i, line := range folded(doc.Printable(s), w.width-2*(depth+1), w.width > 0) {
		if i > 0 && depth > 0 {
			w.line(depth+1, line)
			continue
		}
		w.line(depth, line)
	}
}

func (w *writer) line(depth int, s string) {
	w.WriteString(strings.TrimRight(strings.Repeat("  ", depth)+s, " ") + "\n")
}

// Fold breaks lines wider than a terminal between words; 0 columns leave them
// whole. What follows a break is indented as its line is, and by two more.
func Fold(s string, width int) string {
	lines := strings.Split(s, "\n")
	for i, line := range lines {
		indent := line[:len(line)-len(strings.TrimLeft(line, " "))]
		if width > 0 && text.StringWidth(line) > width {
			lines[i] = indent + strings.Join(broken(line[len(indent):], width-len(indent), 2, false), "\n"+indent+"  ")
		}
	}
	return strings.Join(lines, "\n")
}

// folded breaks a text between words; a word longer than a line is cut.
func folded(s string, width int, fold bool) []string {
	if !fold {
		return []string{s}
	}
	return broken(s, max(width, 8), 0, true)
}

// broken breaks a text between words into lines, those after the first shorter by so much; a
// word longer than a line is cut, or stands by itself.
func broken(s string, width, less int, cut bool) (lines []string) {
	line := ""
	for _, word := range strings.Split(s, " ") {
		if line != "" && text.StringWidth(line)+1+text.StringWidth(word) <= width {
			line += " " + word
			continue
		}
		if line != "" {
			if lines = append(lines, line); len(lines) == 1 {
				width -= less
			}
		}
		for cut && text.StringWidth(word) > width {
			head := text.Trim(word, width)
			lines, word = append(lines, head), strings.TrimPrefix(word, head)
		}
		line = word
	}
	return append(lines, line)
}

func padded(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-text.StringWidth(s)))
}
