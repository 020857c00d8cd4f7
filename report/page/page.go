// Package page writes a comparison as one HTML file that stands by itself:
// conclusion first, then figures, table, conditions, what could still explain
// the result, and how anyone can check it. It takes a result as it is printed
// and calculates nothing; package parts lays the page out.
package page

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"humdiff/report/figure"
	"humdiff/report/page/parts"
	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"
)

// mostDrawn is how many pairs have their figures on the page: more would make
// it too heavy to mail.
const mostDrawn = 5

// Compare is the page of a comparison.
func Compare(r result.Compare) ([]byte, error) {
	return compare(r, "The numbers are in compare.json and lines.csv beside this page.")
}

// Run is the page of one near run of a session, against a quiet one; Alone that
// of any other.
func Run(r result.Compare) ([]byte, error) {
	return compare(r, "This is one run of a session: what all of them come to is in report.html beside this page.")
}

func compare(r result.Compare, where string) ([]byte, error) {
	title, lead := heading(r)
	return parts.Page{
		Title: title,
		Lead:  lead,
		Sections: slices.DeleteFunc([]parts.Section{
			{ID: "found", Title: "What was found", Body: found(r)},
			{ID: "figures", Title: "Figures", Body: figures(r)},
			{ID: "lines", Title: "Line by line", Body: lines(table.Compare(r))},
			{ID: "audible", Title: "Could it be heard", Body: audibility(r)},
			{ID: "conditions", Title: "Conditions and warnings", Body: conditions(r)},
			{ID: "others", Title: "What could still explain it", Body: explanations(r)},
			{ID: "check", Title: "Check this with any FFT", Body: checkBoxes(r)},
			{ID: "method", Title: "How it was measured", Body: []template.HTML{parts.List(method(r)...)}},
			{ID: "hashes", Title: "Files", Body: hashes(r)},
		}, func(s parts.Section) bool { return len(s.Body) == 0 }),
		Footer: "Made by humdiff " + words.Printable(r.Tool.Version) + ". " + where,
	}.HTML()
}

// heading is the conclusion where there is one pair, and a plain title where
// there are more.
func heading(r result.Compare) (title, lead string) {
	if len(r.Pairs) == 0 {
		return "Nothing was compared.", ""
	}
	p := r.Pairs[0]
	lead = fmt.Sprintf("%s (near) against %s (quiet)", words.File(p.Near.File), words.File(p.Quiet.File))
	if len(r.Pairs) == 1 {
		return words.Headline(p, r.Settings), lead
	}
	return fmt.Sprintf("Hum near a mains lead, %s", words.Count(len(r.Pairs), "channel")), lead
}

// of is the heading of what is said of one pair, where there are several.
func of(r result.Compare, p result.Pair) []template.HTML {
	if len(r.Pairs) == 1 {
		return nil
	}
	return []template.HTML{parts.Heading("", words.Channels(p))}
}

// ending tells the labels of several pairs' tables apart.
func ending(r result.Compare, p result.Pair) string {
	if len(r.Pairs) == 1 {
		return ""
	}
	return ", " + words.Channels(p)
}

// group is what ties a pair's table to its figures.
func group(i int) string { return fmt.Sprintf("pair%d", i+1) }

func found(r result.Compare) []template.HTML {
	var body []template.HTML
	statements := words.Pairs(r)
	for i, s := range statements {
		said := s.Found
		if len(statements) == 1 {
			said = said[1:] // the first sentence is the page's title
		}
		body = append(append(body, of(r, r.Pairs[i])...), parts.List(append(said[:len(said):len(said)], s.StandsOn...)...))
	}
	return append(body, parts.Columns(
		parts.Beside{Title: "What this does not show", Body: []template.HTML{parts.List(words.NotShown(statements)...)}},
		parts.Beside{Title: "What would", Body: []template.HTML{parts.List(words.Would(statements)...)}}))
}

func figures(r result.Compare) []template.HTML {
	var body []template.HTML
	for i, p := range r.Pairs {
		body = append(body, of(r, p)...)
		if i >= mostDrawn {
			body = append(body, parts.Text("Its figures are in the files beside this page."))
			continue
		}
		for _, f := range figure.OfPair(r.Settings, p) {
			if f.Name == "lines" { // the table beside it says the same: it is in a file of its own
				continue
			}
			body = append(body, parts.Figure(group(i)+"-"+f.Name, group(i), f))
		}
	}
	return body
}

func lines(t table.Table) []template.HTML {
	var body []template.HTML
	for i, g := range t.Groups {
		id := fmt.Sprintf("lines%d", i+1)
		body = append(body, parts.Heading(id, g.Title))
		if len(g.Rows) > 0 {
			body = append(body, parts.Sheet(sheet(t, g, id, group(i))))
		}
		body = append(body, parts.Notes(g.Notes...))
	}
	return append(body, parts.Notes(t.Notes...))
}

// audibility has each pair's lines at the listener, and first what is said of
// them with its assumptions; nothing where no playback chain was given.
func audibility(r result.Compare) []template.HTML {
	var body []template.HTML
	for i, p := range r.Pairs {
		if p.Audibility == nil || p.Audibility.Verdict == result.NotPlayed {
			continue
		}
		t := table.Audible(*p.Audibility)
		g := t.Groups[0]
		id := fmt.Sprintf("listener%d", i+1)
		body = append(append(body, of(r, p)...), parts.List(words.Audible(*p.Audibility)...), parts.Heading(id, g.Title))
		if len(g.Rows) > 0 {
			body = append(body, parts.Sheet(sheet(t, g, id, "")))
		}
		body = append(body, parts.Notes(g.Notes...))
	}
	return body
}

// sheet has every line; those found in neither capture are faint.
func sheet(t table.Table, g table.Group, id, group string) parts.Table {
	s := parts.Table{LabelledBy: id, Group: group, Numbers: true, Sorts: true, Total: cells(t.PrintedCells(g.Total))}
	for _, c := range t.Printed() {
		s.Columns = append(s.Columns, parts.Column{Head: c.Head, Unit: c.Unit})
	}
	faint := 0
	for _, r := range g.Rows {
		s.Rows = append(s.Rows, parts.Row{Line: r.Line, Faint: !r.Shown, Cells: cells(t.PrintedCells(r.Cells))})
		if !r.Shown {
			faint++
		}
	}
	if faint > 0 {
		s.Hide = fmt.Sprintf("Hide %s that were not found", words.Count(faint, "line"))
	}
	return s
}

func cells(of []table.Cell) []parts.Cell {
	var out []parts.Cell
	for _, c := range of {
		out = append(out, parts.Cell{Text: c.Text, Mark: c.Mark, Spread: c.Spread, Value: c.Value})
	}
	return out
}

func conditions(r result.Compare) []template.HTML {
	var body []template.HTML
	for _, p := range r.Pairs {
		body = append(append(body, of(r, p)...), parts.Sheet(sides(p, ending(r, p))))
	}
	body = append(body, parts.Facts(settings(r.Settings)...))
	if len(r.Warnings) == 0 {
		return append(body, parts.Text("No warnings."))
	}
	return append(body, parts.Warnings(table.Warnings(r.Warnings)...))
}

func explanations(r result.Compare) []template.HTML {
	return []template.HTML{parts.Advice(others(r)...), parts.Caution("caution", "Before you go to the bench", words.Cautions...)}
}

func settings(s result.Settings) []parts.Fact {
	volts := "unknown"
	if known := words.Scales(s); len(known) > 0 {
		volts = strings.Join(known, "; ")
	}
	mains := words.Printable(s.Mains)
	if s.WideMains {
		mains += ", over the range of generators"
	}
	return []parts.Fact{
		{Name: "Mains sought", Value: mains},
		{Name: "Lines to", Value: words.Hz(result.Num(s.UpToHz))},
		{Name: "Window", Value: words.Printable(s.Window)},
		{Name: "Full scale", Value: volts},
		{Name: "Intervals", Value: words.Percent(s.Confidence)},
		{Name: "False alarms", Value: fmt.Sprintf("in %s of captures of noise alone: %s the search for the mains, %s a line found, all lines together",
			words.Percent(s.FalseAlarmShare), words.Percent(s.FalseAlarmShare/2), words.Percent(s.FalseAlarmShare/2))},
	}
}

// sides are the conditions of both captures of a pair.
func sides(p result.Pair, whose string) parts.Table {
	mains := func(found bool, hz, u95 result.Num) string {
		if !found {
			return "not found"
		}
		return words.MainsHz(hz, u95)
	}
	level := func(v result.Num) string {
		if !v.Ok() {
			return "unknown"
		}
		return words.DBFS(v)
	}
	q, n, m := p.Quiet, p.Near, p.Mains
	t := parts.Table{Label: "Conditions of the captures" + whose, Columns: []parts.Column{{}, {Head: "quiet"}, {Head: "near"}}}
	var residual []string
	if r := p.Residual; r != nil {
		t.Columns = append(t.Columns, parts.Column{Head: "residual"})
		residual = []string{words.File(r.File), fmt.Sprint(r.Channel), words.Averaged(r.Side, r.Health), words.Hz(result.Num(r.RateHz)), words.Format(r.Side),
			mains(r.Mains.Detected, r.Mains.Hz, r.Mains.U95Hz), level(r.Noise.DBFS), level(r.Noise.ADBFS)}
	}
	for i, fact := range [][]string{
		{"File", words.File(q.File), words.File(n.File)},
		{"Channel", fmt.Sprint(q.Channel), fmt.Sprint(n.Channel)},
		{"Span", words.Averaged(q, p.Health.Quiet), words.Averaged(n, p.Health.Near)},
		{"Sample rate", words.Hz(result.Num(q.RateHz)), words.Hz(result.Num(n.RateHz))},
		{"Samples", words.Format(q), words.Format(n)},
		{"Mains, by the recorder's clock", mains(m.QuietDetected, m.QuietHz, m.QuietU95Hz), mains(m.NearDetected, m.NearHz, m.NearU95Hz)},
		{"Noise without hum", level(p.Noise.QuietDBFS), level(p.Noise.NearDBFS)},
		{"Noise, A-weighted", level(p.Noise.QuietADBFS), level(p.Noise.NearADBFS)},
	} {
		if residual != nil {
			fact = append(fact, residual[i])
		}
		t.Rows = append(t.Rows, parts.Row{Cells: parts.Texts(fact...)})
	}
	return t
}

// hashes lists each file once.
func hashes(r result.Compare) []template.HTML {
	var out []parts.Fact
	seen := map[parts.Fact]bool{}
	for _, p := range r.Pairs {
		sides := []result.Side{p.Quiet, p.Near}
		if p.Residual != nil {
			sides = append(sides, p.Residual.Side)
		}
		for _, s := range sides {
			h := parts.Fact{Name: words.File(s.File), Value: words.Printable(s.SHA256)}
			if !seen[h] {
				seen[h] = true
				out = append(out, h)
			}
		}
	}
	return []template.HTML{parts.Text("SHA-256 of the captures, so that anyone can tell whether they have the same ones:"), parts.Hashes(out...)}
}
