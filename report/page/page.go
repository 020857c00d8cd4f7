// Package page writes a comparison as one HTML file that stands by itself:
// conclusion first, then figures, table, conditions, what could still explain
// the result, and how anyone can check it. The page loads nothing, runs no
// script and allows neither. It takes a result as it is printed and calculates
// nothing.
package page

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"

	"humdiff/report/figure"
	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"
)

//go:embed page.html
var source string

//go:embed page.css
var css string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"file": words.File,
	"side": words.Side,
}).Parse(source))

// content is what the template is filled with.
type content struct {
	CSS      template.CSS
	Policy   string // content security policy
	Title    string
	Lead     string // below the title: what was compared
	Pairs    []pairContent
	NotShown []string
	Would    []string
	Table    tableContent
	Settings []fact
	Warnings []string
	Others   []other
	Method   []string
	Checks   []check
	Cautions []string
	Hashes   []hash
	Version  string
}

type pairContent struct {
	ID        string
	Name      string // empty where there is only one pair
	Found     []string
	StandsOn  []string
	Figures   []figureContent
	Elsewhere bool // its figures are in files of their own
	Facts     []sideFact
}

// figureContent is one figure for wide windows and one for narrow ones.
type figureContent struct{ Wide, Narrow template.HTML }

// fact is a name and a value; sideFact has a value for quiet and one for near.
type fact struct{ Name, Value string }
type sideFact struct{ Name, Quiet, Near string }

type tableContent struct {
	Columns []table.Column
	Groups  []groupContent
	Notes   []string
}

type groupContent struct {
	ID, Title string
	Rows      [][]table.Cell
	Total     []table.Cell
	Notes     []string
}

type hash struct{ File, SHA256 string }

// mostDrawn is how many pairs have their figures on the page: more would make
// it too heavy to mail.
const mostDrawn = 6

// Compare is the page of a comparison.
func Compare(r result.Compare) ([]byte, error) {
	style := css + "@media screen and (prefers-color-scheme: dark) {\n" + figure.DarkCSS(".figure") + "}\n"
	statements := words.Pairs(r)
	c := content{
		CSS:      template.CSS(style),
		Policy:   policy(style),
		NotShown: words.NotShown(statements),
		Would:    words.Would(statements),
		Table:    tables(table.Compare(r)),
		Settings: settings(r.Settings),
		Warnings: table.Warnings(r.Warnings),
		Others:   others(r),
		Method:   method(r),
		Checks:   checks(r),
		Cautions: cautions,
		Hashes:   hashes(r),
		Version:  words.Printable(r.Tool.Version),
	}
	c.Title, c.Lead = heading(r)
	for i, p := range r.Pairs {
		c.Pairs = append(c.Pairs, pair(r, p, statements[i], i))
	}
	var b bytes.Buffer
	if err := page.Execute(&b, c); err != nil {
		return nil, fmt.Errorf("page: %w", err)
	}
	return b.Bytes(), nil
}

// policy allows the page its own style sheet, and nothing else.
func policy(style string) string {
	sum := sha256.Sum256([]byte(style))
	return "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) +
		"'; base-uri 'none'; form-action 'none'"
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

func pair(r result.Compare, p result.Pair, s words.Statement, i int) pairContent {
	c := pairContent{ID: fmt.Sprintf("pair%d", i+1), Name: s.Of, Found: s.Found, StandsOn: s.StandsOn,
		Facts: sideFacts(p), Elsewhere: i >= mostDrawn}
	if c.Name == "" { // the first sentence is the page's title
		c.Found = c.Found[1:]
	}
	if c.Elsewhere {
		return c
	}
	for _, f := range figure.OfPair(r.Settings, p) {
		c.Figures = append(c.Figures, figureContent{
			Wide:   template.HTML(f.SVG(figure.Options{ID: c.ID + "-" + f.Name})),
			Narrow: template.HTML(f.SVG(figure.Options{ID: c.ID + "-" + f.Name + "-narrow", Size: figure.Phone})),
		})
	}
	return c
}

func tables(t table.Table) tableContent {
	c := tableContent{Columns: t.Printed(), Notes: t.Notes}
	for i, g := range t.Groups {
		c.Groups = append(c.Groups, groupContent{ID: fmt.Sprintf("lines%d", i+1), Title: g.Title,
			Rows: t.Shown(g), Total: t.PrintedCells(g.Total), Notes: g.Notes})
	}
	return c
}

func settings(s result.Settings) []fact {
	volts := "unknown"
	if s.FullScaleVolts.Ok() {
		volts = words.Volts(s.FullScaleVolts) + " rms is 0 dBFS"
		if s.FullScaleSaid != "" {
			volts += " (" + words.Printable(s.FullScaleSaid) + ")"
		}
	}
	mains := words.Printable(s.Mains)
	if s.WideMains {
		mains += ", over the range of generators"
	}
	return []fact{
		{"Mains sought", mains},
		{"Lines to", words.Hz(result.Num(s.UpToHz))},
		{"Window", words.Printable(s.Window)},
		{"Full scale", volts},
		{"Intervals", words.Percent(s.Confidence)},
		{"False alarms", fmt.Sprintf("in %s of captures of noise alone: %s the search for the mains, %s a line found, all lines together",
			words.Percent(s.FalseAlarmShare), words.Percent(s.FalseAlarmShare/2), words.Percent(s.FalseAlarmShare/2))},
	}
}

func sideFacts(p result.Pair) []sideFact {
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
	return []sideFact{
		{"File", words.File(q.File), words.File(n.File)},
		{"Channel", fmt.Sprint(q.Channel), fmt.Sprint(n.Channel)},
		{"Span", words.Span(q), words.Span(n)},
		{"Sample rate", words.Hz(result.Num(q.RateHz)), words.Hz(result.Num(n.RateHz))},
		{"Samples", words.Format(q), words.Format(n)},
		{"Mains, by the recorder's clock", mains(m.QuietDetected, m.QuietHz, m.QuietU95Hz), mains(m.NearDetected, m.NearHz, m.NearU95Hz)},
		{"Noise without hum", level(p.Noise.QuietDBFS), level(p.Noise.NearDBFS)},
		{"Noise, A-weighted", level(p.Noise.QuietADBFS), level(p.Noise.NearADBFS)},
	}
}

// hashes lists each file once.
func hashes(r result.Compare) []hash {
	var out []hash
	seen := map[hash]bool{}
	for _, p := range r.Pairs {
		for _, s := range []result.Side{p.Quiet, p.Near} {
			h := hash{words.File(s.File), words.Printable(s.SHA256)}
			if !seen[h] {
				seen[h] = true
				out = append(out, h)
			}
		}
	}
	return out
}
