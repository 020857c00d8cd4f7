package table

import (
	"encoding/csv"
	"fmt"
	"iter"
	"strconv"
	"strings"

	"humdiff/report/result"

	pretty "github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

// Text writes the table for a screen, without the footers: warnings go elsewhere
// than results.
func (t Table) Text() string {
	var b strings.Builder
	for _, g := range t.Groups {
		b.WriteString(g.Title + "\n")
		writeLines(&b, "  ", g.Conditions)
		b.WriteString("\n")
		if rows := t.Shown(g); len(rows) > 0 {
			b.WriteString(t.textRows(g, rows) + "\n\n")
		}
		writeLines(&b, "", g.Notes)
		b.WriteString("\n")
	}
	writeLines(&b, "", t.Notes)
	return b.String()
}

func writeLines(b *strings.Builder, before string, lines []string) {
	for _, l := range lines {
		b.WriteString(before + l + "\n")
	}
}

func (t Table) textRows(g Group, rows [][]Cell) string {
	w := newWriter(t, "\n")
	total := t.PrintedCells(g.Total)
	room := roomBehind(append(rows, total))
	for _, r := range rows {
		w.AppendRow(aligned(r, room))
	}
	if total != nil {
		w.AppendFooter(aligned(total, room))
	}
	return trimRight(w.Render())
}

// behind is how wide the marks and the intervals of a column are.
type behind struct{ mark, spread int }

func roomBehind(rows [][]Cell) map[int]behind {
	room := map[int]behind{}
	for _, r := range rows {
		for i, c := range r {
			room[i] = behind{max(room[i].mark, text.StringWidth(c.Mark)), max(room[i].spread, text.StringWidth(c.Spread))}
		}
	}
	return room
}

// aligned pads marks and intervals, so that the values before them end in one
// place; a cell without an interval, such as a limit, ends where the intervals
// end.
func aligned(cells []Cell, room map[int]behind) pretty.Row {
	row := make(pretty.Row, len(cells))
	for i, c := range cells {
		s := c.Text + c.Mark
		if c.Spread != "" {
			s = c.Text + padded(c.Mark, room[i].mark) + " " + padded(c.Spread, room[i].spread)
		}
		row[i] = s
	}
	return row
}

func padded(s string, width int) string { return s + strings.Repeat(" ", width-text.StringWidth(s)) }

func trimRight(s string) string {
	lines := strings.Split(s, "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Join(lines, "\n")
}

// Markdown writes the table as Markdown (CommonMark with tables).
func (t Table) Markdown() string {
	var b strings.Builder
	for _, g := range t.Groups {
		b.WriteString("**" + EscapeMarkdown(g.Title) + "**\n\n")
		t.list(&b, "", g.Conditions)
		if rows := t.Shown(g); len(rows) > 0 {
			b.WriteString(t.markdownRows(g, rows) + "\n\n")
		}
		t.list(&b, "", g.Notes)
	}
	t.list(&b, "", t.Notes)
	t.list(&b, "Warning: ", t.Footers)
	return strings.TrimRight(b.String(), "\n") + "\n"
}

func (t Table) list(b *strings.Builder, before string, lines []string) {
	for _, l := range lines {
		b.WriteString("- " + EscapeMarkdown(before+l) + "\n")
	}
	if len(lines) > 0 {
		b.WriteString("\n")
	}
}

func (t Table) markdownRows(g Group, rows [][]Cell) string {
	w := newWriter(t, ", ")
	for _, r := range rows {
		w.AppendRow(whole(r))
	}
	if total := t.PrintedCells(g.Total); total != nil {
		w.AppendFooter(whole(total))
	}
	return w.RenderMarkdown()
}

// whole is cells in Markdown: what comes from outside is no markup.
func whole(cells []Cell) pretty.Row {
	row := make(pretty.Row, len(cells))
	for i, c := range cells {
		row[i] = inMarkdown(c.String())
	}
	return row
}

// newWriter sets up the headers, with what stands between name and unit.
func newWriter(t Table, between string) pretty.Writer {
	w := pretty.NewWriter()
	w.SetStyle(plainStyle())
	var head pretty.Row
	var configs []pretty.ColumnConfig
	for i, c := range t.Printed() {
		name := c.Head
		if c.Unit != "" {
			name += between + c.Unit
		}
		head = append(head, name)
		configs = append(configs, pretty.ColumnConfig{Number: i + 1,
			Align: text.AlignRight, AlignHeader: text.AlignRight, AlignFooter: text.AlignRight})
	}
	w.AppendHeader(head)
	w.SetColumnConfigs(configs)
	return w
}

// plainStyle has no frame and no colour: a rule below the header and above the
// footer, two blanks between columns.
func plainStyle() pretty.Style {
	s := pretty.StyleDefault
	s.Box.PaddingLeft, s.Box.PaddingRight = "", "  "
	s.Format = pretty.FormatOptions{}
	s.Options = pretty.Options{SeparateFooter: true, SeparateHeader: true}
	return s
}

// EscapeMarkdown writes text so that Markdown shows it as it is, in a table's cell
// too.
func EscapeMarkdown(s string) string {
	return strings.ReplaceAll(inMarkdown(s), "|", `\|`)
}

// inMarkdown is EscapeMarkdown but for bars, which in cells the table writer escapes.
func inMarkdown(s string) string { return markdownEscapes.Replace(s) }

var markdownEscapes = strings.NewReplacer(
	`\`, `\\`, "`", "\\`", `*`, `\*`, `_`, `\_`, `[`, `\[`, `]`, `\]`, `<`, `\<`, `>`, `\>`,
	`#`, `\#`, `~`, `\~`, `&`, `\&`, `$`, `\$`, `!`, `\!`, `@`, `\@`, `://`, `:\//`, `www.`, `www\.`)

// CSV writes every line with plain columns (RFC 4180, lines end in LF): the
// result's own numbers, empty where there is none, and texts from outside so
// that no spreadsheet takes them for a formula.
func (t Table) CSV() string {
	return written(t.Columns, func(yield func(Group) bool) {
		for _, g := range t.Groups {
			if !yield(g) {
				return
			}
		}
	})
}

// written is the columns' names and the groups' rows as CSV. A group isn't held once
// it is written.
func written(columns []Column, groups iter.Seq[Group]) string {
	var text strings.Builder
	w := csv.NewWriter(&text) // of a builder, which takes everything
	var row []string
	for _, c := range columns {
		row = append(row, c.Plain...)
	}
	w.Write(row)
	for g := range groups {
		for _, r := range g.Rows {
			row = row[:0]
			for _, c := range r.Cells {
				for _, v := range c.Plain {
					row = append(row, plain(v))
				}
			}
			w.Write(row)
		}
	}
	w.Flush()
	return text.String()
}

func plain(v any) string {
	switch v := v.(type) {
	case result.Num:
		if !v.Ok() {
			return ""
		}
		return strconv.FormatFloat(float64(v), 'g', -1, 64)
	case string:
		return Harmless(v)
	case nil:
		return ""
	}
	return fmt.Sprint(v)
}

// Group writes one group's rows as Markdown, without its title.
func (t Table) Group(i int) string {
	return t.markdownRows(t.Groups[i], t.Shown(t.Groups[i]))
}
