package text

import (
	"strings"

	"humdiff/report/doc"

	pretty "github.com/jedib0t/go-pretty/v6/table"
)

func markdownTable(t doc.Table) string {
	s := sheetOf(t, false)
	if len(s.rows) == 0 {
		return ""
	}
	w := newWriter(s.columns, ", ", nil)
	for _, r := range s.rows {
		w.AppendRow(whole(r))
	}
	if s.total != nil {
		w.AppendFooter(whole(s.total))
	}
	return w.RenderMarkdown() + "\n\n"
}

// whole is cells in Markdown: what comes from outside is no markup.
func whole(cells []doc.Cell) pretty.Row {
	row := make(pretty.Row, len(cells))
	for i, c := range cells {
		row[i] = inMarkdown(c.String())
	}
	return row
}

// escapeMarkdown writes text so that Markdown shows it as it is, in a table's cell
// too.
func escapeMarkdown(s string) string {
	return strings.ReplaceAll(inMarkdown(s), "|", `\|`)
}

// inMarkdown is escapeMarkdown but for bars, which in cells the table writer escapes.
func inMarkdown(s string) string { return markdownEscapes.Replace(s) }

var markdownEscapes = strings.NewReplacer(
	`\`, `\\`, "`", "\\`", `*`, `\*`, `_`, `\_`, `[`, `\[`, `]`, `\]`, `<`, `\<`, `>`, `\>`,
	`#`, `\#`, `~`, `\~`, `&`, `\&`, `$`, `\$`, `!`, `\!`, `@`, `\@`, `://`, `:\//`, `www.`, `www\.`)
