package page

import (
	"fmt"
	"html/template"

	"humdiff/report/figure"
	"humdiff/report/page/parts"
	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"
)

// Alone is the page of a run of a session that is held against no quiet run, or
// whose capture says something by itself: a dead or a residual run, one left out.
func Alone(s result.Session, run result.SessionRun, c result.Capture) ([]byte, error) {
	m := result.Measure{Schema: result.MeasureSchema, Tool: s.Tool, Settings: s.Settings, Captures: []result.Capture{c}}
	said := words.Captures(m)[0]
	body := func(h ...template.HTML) []template.HTML { return h }
	return parts.Page{
		Title: said.Found[0],
		Lead:  words.RunIs(run),
		Sections: []parts.Section{
			{ID: "found", Title: "What was found", Body: body(parts.List(append(said.Found[1:len(said.Found):len(said.Found)], said.StandsOn...)...))},
			{ID: "figures", Title: "Figure", Body: body(parts.Figure("spectrum", "pair1", figure.Alone(s.Settings, c)))},
			{ID: "lines", Title: "Line by line", Body: lines(table.Measure(m))},
			{ID: "conditions", Title: "Conditions", Body: body(parts.Sheet(oneSide(c)), parts.Facts(settings(s.Settings)...))},
			{ID: "method", Title: "How it was measured", Body: body(parts.List(ofOne(c)...))},
			{ID: "hashes", Title: "File", Body: body(parts.Hashes(parts.Fact{Name: words.File(c.File), Value: words.Printable(c.SHA256)}))},
		},
		Footer: "Made by humdiff " + words.Printable(s.Tool.Version) + ". This is one run of a session: what all of them come to is in report.html beside this page.",
	}.HTML()
}

// oneSide is the conditions of one capture.
func oneSide(c result.Capture) parts.Table {
	level := func(v result.Num) string {
		if !v.Ok() {
			return "unknown"
		}
		return words.DBFS(v)
	}
	mains := "not found"
	if c.Mains.Detected {
		mains = words.MainsHz(c.Mains.Hz, c.Mains.U95Hz)
	}
	t := parts.Table{Label: "Conditions of the capture", Columns: []parts.Column{{}, {}}}
	for _, fact := range [][]string{
		{"File", words.File(c.File)},
		{"Channel", fmt.Sprint(c.Channel)},
		{"Span", words.Averaged(c.Side, c.Health)},
		{"Sample rate", words.Hz(result.Num(c.RateHz))},
		{"Samples", words.Format(c.Side)},
		{"Mains, by the recorder's clock", mains},
		{"Noise without hum", level(c.Noise.DBFS)},
		{"Noise, A-weighted", level(c.Noise.ADBFS)},
	} {
		t.Rows = append(t.Rows, parts.Row{Cells: parts.Texts(fact...)})
	}
	return t
}

// ofOne is what method says that concerns a capture by itself.
func ofOne(c result.Capture) []string {
	out := method(result.Compare{})[:3]
	if t := c.Trace; t.BinHz.Ok() && t.ENBWHz.Ok() {
		out = append(out, "Spectrum: "+table.Bins(t)+".")
	}
	return out
}
