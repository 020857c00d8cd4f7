package wire

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"humdiff/report/doc"
	"humdiff/report/formula"
	"humdiff/report/model"
)

// Table is a list of a result that CSV has: a row for each of its entries, a column
// for each number or word in it, under its JSON key. Keys within keys are joined by an
// underscore, but "value" by nothing; lists within entries are left out.
type Table struct {
	Name  string   // of its file, without an ending
	Rare  bool     // no file where it has no entry
	list  string   // its key, behind those of the lists that it stands in: "pairs.lines"
	above []string // columns of the entries above
	keys  []string // its own; nil: all
	base  bool     // captures are named without their folders, which may name people
	codes bool     // of warnings end each row
}

// place is where something was recorded.
var place = []string{"quantity_", "exposure", "termination_", "loaded", "bonded"}

// tables are those of results by their schemas, the most wanted first.
var tables = map[string][]Table{
	model.CompareSchema: {
		{Name: "lines", list: "pairs.lines", above: []string{"quiet_file", "quiet_channel", "near_file", "near_channel"}, base: true},
		{Name: "audibility", list: "pairs.audibility.lines", above: []string{"near_file", "near_channel"}, base: true, Rare: true},
	},
	model.MeasureSchema: {{Name: "lines", list: "captures.lines", above: []string{"file", "channel"}, base: true}},
	model.TrendSchema: {
		{Name: "steps", list: "captures.steps", above: []string{"file", "channel"}, base: true},
		{Name: "spans", list: "captures.spans", above: []string{"file", "channel"}, base: true},
	},
	model.CheckSchema: {{Name: "files", list: "files.channels", codes: true,
		above: []string{"file", "problem_what", "container", "format", "rate_hz", "bits", "float", "channel_count", "frames", "file_s", "start_s", "end_s", "sha256", "metadata_"}}},
	model.SessionSchema: {
		{Name: "runs", list: "runs", keys: []string{"run", "cable", "condition", "exposure", "termination_", "repeat", "replaced", "plug", "loaded", "load_amps", "bonded",
			"start", "capture_hum_state", "capture_hum_dbfs", "capture_hum_lo_dbfs", "capture_hum_hi_dbfs", "capture_hum_limit_dbfs", "capture_hum_volts",
			"address", "measured", "capture_sha256", "used", "unused_code", "left_out", "note"}},
		{Name: "repeats", list: "cells.repeats", above: append([]string{"cable"}, place...)},
		{Name: "means", list: "cells"},
		{Name: "ranking", list: "rankings.places", above: place},
		{Name: "differences", list: "rankings.pairs", above: place},
		{Name: "claims", list: "claims.parts", above: []string{"name", "says", "by", "written", "kind", "cable", "than", "db", "volts", "quantity_", "late", "verdict", "p", "together"}},
	},
	model.PassportSchema: {
		{Name: "passport", list: "cables.couplings", above: []string{"cable"}},
		{Name: "budget", list: "cables.couplings.budget.parts", above: []string{"cable", "quantity"}},
		{Name: "tones", list: "cables.frequency", above: []string{"cable"}},
		{Name: "ratios", list: "runs.tones", above: []string{"run", "file"}, base: true, Rare: true},
	},
	model.AgreementSchema: {{list: "rows"}},
	model.CouplingSchema:  {{list: "runs"}, {list: "expected"}},
	model.PlanSchema:      {{list: "order.runs"}, {list: "tones.tones"}, {list: "length.times"}, {list: "length.reach"}, {list: "repeats.powers"}},
}

// Tables are those of a result that have a file: all but rare ones without entries.
func Tables(r Result) []Table {
	return slices.DeleteFunc(slices.Clone(tables[r.Top().Schema]), func(t Table) bool { return t.Rare && t.rows(r, false, func([]node) {}) == 0 })
}

// CSV is the first table of a result that has entries, or else its first.
func CSV(r Result) (text []byte) {
	for i, t := range tables[r.Top().Schema] {
		if one, entries := t.write(r); entries > 0 {
			return one
		} else if i == 0 {
			text = one
		}
	}
	return text
}

// File is a table (RFC 4180, lines end in LF), with a last column that has its result's
// fingerprint, so that it can't be passed off as another's.
func (t Table) File(r Result) []byte {
	text, _ := t.write(r, node{key: "fingerprint", kind: word, text: r.Top().Fingerprint})
	return text
}

// write sets the table, and says how many entries it has.
func (t Table) write(r Result, last ...node) ([]byte, int) {
	var out bytes.Buffer
	w := csv.NewWriter(&out) // of a buffer, which takes everything
	var cells []string
	put := func(cell func(node) string) func([]node) {
		return func(row []node) {
			cells = cells[:0]
			for _, n := range append(row, last...) {
				cells = append(cells, cell(n))
			}
			w.Write(cells)
		}
	}
	t.rows(r, true, put(func(n node) string { return n.key }))
	entries := t.rows(r, false, put(cellOf))
	w.Flush()
	return out.Bytes(), entries
}

// rows gives each row, or one of nothing but names, and says how many entries there are.
func (t Table) rows(r Result, names bool, put func([]node)) int {
	s := sheet{Table: t, put: put, warnings: WarningsOf(r)}
	if trend, ok := r.(*model.Trend); ok && len(trend.Captures) > 0 {
		s.harmonics = trend.Captures[0].Harmonics
	}
	m := maker{context: &context{settings: SettingsOf(r)}}
	all := m.node(reflect.ValueOf(r).Elem(), "")
	if names {
		all = m.blankOf(reflect.TypeOf(r).Elem(), "")
	}
	s.down(all, strings.Split(t.list, "."), nil, names)
	return s.count
}

// sheet is a table while its rows are made.
type sheet struct {
	Table
	put       func([]node)
	warnings  []model.Warning
	harmonics []int // that a trend follows each by itself: rows have columns for each
	count     int   // of entries
}

// down follows a list's key from n, which is one of the entries above it. An entry whose
// list is empty has a row of its own, blank below it.
func (s *sheet) down(n node, path []string, above []node, blank bool) {
	switch {
	case n.kind == absent:
		s.down(n.at(-1), path, above, true)
	case n.kind == object:
		s.down(n.of[slices.IndexFunc(n.of, func(k node) bool { return k.key == path[0] })], path[1:], above, blank)
	case n.n == 0 && (blank || len(above) > 0):
		s.entry(n.at(-1), path, above, true)
	default:
		for i := range n.n {
			s.entry(n.at(i), path, above, blank)
		}
	}
}

// entry is one of a list: a row, or what stands above others.
func (s *sheet) entry(n node, path []string, above []node, blank bool) {
	keys := s.keys
	if len(path) > 0 {
		keys = s.above
	}
	row := above[:len(above):len(above)]
	for _, c := range s.flat(nil, n, "", blank) {
		switch {
		case !wanted(c.key, keys):
			continue
		case slices.ContainsFunc(above, func(a node) bool { return a.key == c.key }):
			c.key = s.list[strings.LastIndex(s.list, ".")+1:] + "_" + c.key
		case s.base && strings.HasSuffix(c.key, "file"):
			c.text = doc.Base(c.text)
		}
		row = append(row, c)
	}
	if len(path) > 0 {
		s.down(n, path, row, blank)
		return
	}
	if !blank {
		s.count++
	}
	if s.codes {
		row = append(row, node{key: "warnings", kind: word, text: s.codesOf(row)})
	}
	s.put(row)
}

// wanted says that a column is one of those named; a name that ends in a line stands for
// all that begin so.
func wanted(key string, of []string) bool {
	return of == nil || slices.ContainsFunc(of, func(k string) bool { return key == k || strings.HasSuffix(k, "_") && strings.HasPrefix(key, k) })
}

// codesOf are the codes of warnings of a row's file and channel.
func (s *sheet) codesOf(row []node) string {
	var codes []string
	at := func(key string) string {
		return row[slices.IndexFunc(row, func(n node) bool { return n.key == key })].text
	}
	for _, w := range s.warnings {
		if channel := at("channel"); w.File == at("file") && (w.Channel == 0 || channel == "" || channel == fmt.Sprint(w.Channel)) {
			codes = append(codes, w.Code)
		}
	}
	return strings.Join(codes, " ")
}

// flat appends a value as a row has it, under its key. Lists of words or whole numbers stand
// in one cell, levels of chosen harmonics in some each; other lists are left out.
func (s *sheet) flat(row []node, n node, key string, blank bool) []node {
	switch n.kind {
	case absent:
		return s.flat(row, n.at(-1), key, true)
	case arguments:
		return row
	case object:
		for _, k := range n.of {
			row = s.flat(row, k, joined(key, k.key), blank)
		}
		return row
	case list:
		entry := n.at(-1)
		if entry.kind == object && entry.of[0].enum != nil { // an Estimate
			for i, h := range s.harmonics {
				row = s.flat(row, n.at(min(i, n.n-1)), fmt.Sprintf("h%d", h), blank)
			}
			return row
		}
		if entry.kind != word && entry.kind != whole {
			return row
		}
		var texts []string
		for i := range n.n {
			texts = append(texts, n.at(i).text)
		}
		n = node{kind: word, text: strings.Join(texts, " ")}
	}
	if blank {
		n = node{kind: word}
	}
	n.key = key
	return append(row, n)
}

func joined(key, inner string) string {
	switch {
	case key == "":
		return inner
	case inner == "" || inner == "value":
		return key
	}
	return key + "_" + inner
}

// cellOf writes a value: numbers in ASCII, empty where there is none; texts, which may
// come from outside, so that no spreadsheet takes them for a formula, and characters
// that print nothing as their code.
func cellOf(n node) string {
	var e encoder
	switch n.kind {
	case word:
		s := doc.Printable(n.text)
		if formula.Opens(s) {
			return "'" + s
		}
		return s
	case number:
		if e.number(n.float); !model.Num(n.float).Ok() {
			return ""
		}
		return e.String()
	}
	return n.text
}
