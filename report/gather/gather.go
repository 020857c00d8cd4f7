// Package gather gathers all views of a result into the files of a report. It
// is the last stage: what it returns, package publish writes.
package gather

import (
	"bytes"
	"encoding/json"
	"fmt"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"humdiff/report/figure"
	"humdiff/report/page"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/table"
)

// Names of the files that every report of a kind has, beside its figures.
var (
	CompareNames = []string{"report.html", "compare.json", "lines.csv", "lines.md"}
	SessionNames = []string{"report.html", "report.md", "session.json", "runs.csv", "repeats.csv", "means.csv", "ranking.csv", "differences.csv", "claims.csv"}
	TrendNames   = []string{"trend.json", "trend.csv", "trend.md", "steps.csv"}
)

// Compare is the report of a comparison: compare.json, report.html, lines.csv,
// lines.md, and for each pair the figures spectrum and, where there is any,
// delta and cycle, and where a playback chain was given, audibility.csv. Where there are several pairs, a figure's name ends in -chN, N
// the channel of near, or in -pairN where that does not tell them apart.
func Compare(r result.Compare) ([]publish.File, error) {
	numbers, err := JSON(r)
	if err != nil {
		return nil, err
	}
	html, err := page.Compare(r)
	if err != nil {
		return nil, err
	}
	t := table.Compare(r)
	files := []publish.File{
		{Name: "report.html", Data: html},
		{Name: "compare.json", Data: numbers},
		{Name: "lines.csv", Data: []byte(t.CSV())},
		{Name: "lines.md", Data: []byte(t.Markdown())},
	}
	return drawn(append(files, heard(r)...), pairFigures(r))
}

// heard is a table for each pair whose hum was played to a listener.
func heard(r result.Compare) (files []publish.File) {
	ends := endings(r.Pairs)
	for i, p := range r.Pairs {
		if a := p.Audibility; a != nil && a.Verdict != result.NotPlayed {
			files = append(files, publish.File{Name: "audibility" + ends[i] + ".csv", Data: []byte(table.Audible(*a).CSV())})
		}
	}
	return files
}

// drawn adds a report's figures to its files, as SVG.
func drawn(files []publish.File, figures []NamedFigure) ([]publish.File, error) {
	for _, f := range figures {
		vector, err := f.Draw("svg", figure.Options{})
		if err != nil {
			return nil, err
		}
		files = append(files, vector)
	}
	return files, nil
}

// JSON is a result as humdiff prints it, one object and a line's end.
func JSON(r any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(r); err != nil {
		return nil, fmt.Errorf("gather: %w", err)
	}
	return harmless(b.Bytes()), nil
}

// harmless writes what prints nothing by its code, as JSON may: names and texts
// from files could command a terminal otherwise.
func harmless(b []byte) []byte {
	out := make([]byte, 0, len(b))
	for _, r := range string(b) {
		switch {
		case r == '\n' || unicode.IsPrint(r):
			out = utf8.AppendRune(out, r)
		case r > 0xffff:
			hi, lo := utf16.EncodeRune(r)
			out = fmt.Appendf(out, `\u%04x\u%04x`, hi, lo)
		default:
			out = fmt.Appendf(out, `\u%04x`, r)
		}
	}
	return out
}

// endings tells the figures of several pairs apart.
func endings(pairs []result.Pair) []string {
	out := make([]string, len(pairs))
	if len(pairs) == 1 {
		return out
	}
	seen := map[int]bool{}
	for i, p := range pairs {
		out[i] = fmt.Sprintf("-ch%d", p.Near.Channel)
		if seen[p.Near.Channel] {
			return numbered(len(pairs))
		}
		seen[p.Near.Channel] = true
	}
	return out
}

func numbered(n int) []string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprintf("-pair%d", i+1)
	}
	return out
}
