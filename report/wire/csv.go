package wire

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"time"

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
	return slices.DeleteFunc(slices.Clone(tables[r.Top().Schema]), func(t Table) bool { return t.Rare && t.rows(r, func([]pair) {}) == 0 })
}

// CSV is the first table of a result that has entries, or else its first.
func CSV(r Result) []byte {
	var first []byte
	for _, t := range tables[r.Top().Schema] {
		text, entries := t.write(r, nil)
		if entries > 0 {
			return text
		}
		if first == nil {
			first = text
		}
	}
	return first
}

// File is a table (RFC 4180, lines end in LF), with a last column that has its result's
// fingerprint, so that it can't be passed off as another's.
func (t Table) File(r Result) []byte {
	text, _ := t.write(r, []pair{word("fingerprint", r.Top().Fingerprint)})
	return text
}

// write sets the table, and says how many entries it has.
func (t Table) write(r Result, last []pair) ([]byte, int) {
	var out bytes.Buffer
	w := csv.NewWriter(&out) // of a buffer, which takes everything
	var cells []string
	put := func(row []pair, cell func(pair) string) {
		cells = cells[:0]
		for _, p := range append(row, last...) {
			cells = append(cells, cell(p))
		}
		w.Write(cells)
	}
	s := sheet{of: t, put: func(row []pair) { put(row, func(p pair) string { return p.key }) }}
	s.all(r, reflect.New(reflect.TypeOf(r).Elem()), true)
	entries := t.rows(r, func(row []pair) { put(row, cellOf) })
	w.Flush()
	return out.Bytes(), entries
}

// rows gives each row, and says how many entries there are.
func (t Table) rows(r Result, put func([]pair)) int {
	s := sheet{encoder: encoder{settings: SettingsOf(r)}, of: t, put: put}
	s.all(r, reflect.ValueOf(r), false)
	return s.count
}

// sheet is a table while its rows are made.
type sheet struct {
	encoder
	of        Table
	put       func([]pair)
	warnings  []model.Warning
	harmonics []int // that a trend follows each by itself: rows have columns for each
	count     int   // of entries
	room      []pair
}

// all gives the rows of a result's values, or one of nothing but names where they are blank.
func (s *sheet) all(r Result, values reflect.Value, blank bool) {
	if t, ok := r.(*model.Trend); ok && len(t.Captures) > 0 {
		s.harmonics = t.Captures[0].Harmonics
	}
	s.warnings = WarningsOf(r)
	s.down(values, strings.Split(s.of.list, "."), nil, blank)
}

// down follows a list's key from v, which is one of the entries above it. An entry whose
// list is empty has a row of its own, blank below it.
func (s *sheet) down(v reflect.Value, path []string, above []pair, blank bool) {
	if v.Kind() == reflect.Pointer {
		if blank = blank || v.IsNil(); v.IsNil() {
			v = reflect.New(v.Type().Elem())
		}
		v = v.Elem()
	}
	switch {
	case v.Kind() != reflect.Slice:
		v = s.formed(v)
		f := fieldsOf(v.Type())[slices.IndexFunc(fieldsOf(v.Type()), func(f field) bool { return f.name == path[0] })]
		s.down(f.in(v), path[1:], above, blank)
	case v.Len() == 0 && (blank || len(above) > 0):
		s.entry(reflect.New(v.Type().Elem()).Elem(), path, above, true)
	default:
		for i := range v.Len() {
			s.entry(v.Index(i), path, above, blank)
		}
	}
}

// formed is a value in the form in which it is written.
func (s *sheet) formed(v reflect.Value) reflect.Value {
	if as, ok := formed[v.Type()]; ok {
		return as.write(&s.encoder, v)
	}
	return v
}

// entry is one of a list: a row, or what stands above others.
func (s *sheet) entry(v reflect.Value, path []string, above []pair, blank bool) {
	keys := s.of.keys
	if len(path) > 0 {
		keys = s.of.above
	}
	row := above[:len(above):len(above)]
	s.room = s.flat(s.room[:0], v, "", "")
	for _, p := range s.room {
		if !wanted(p.key, keys) {
			continue
		}
		switch {
		case slices.ContainsFunc(above, func(a pair) bool { return a.key == p.key }):
			p.key = s.of.list[strings.LastIndex(s.of.list, ".")+1:] + "_" + p.key
		case s.of.base && strings.HasSuffix(p.key, "file"):
			p.text = doc.Base(p.text)
		}
		if blank {
			p.text, p.number = "", math.NaN()
		}
		row = append(row, p)
	}
	if len(path) > 0 {
		s.down(v, path, row, blank)
		return
	}
	if !blank {
		s.count++
	}
	if s.of.codes {
		row = append(row, word("warnings", s.codesOf(row)))
	}
	s.put(row)
}

// wanted says that a column is one of those named; a name that ends in a line stands for
// all that begin so.
func wanted(key string, of []string) bool {
	return of == nil || slices.ContainsFunc(of, func(k string) bool { return key == k || strings.HasSuffix(k, "_") && strings.HasPrefix(key, k) })
}

// codesOf are the codes of warnings of a row's file and channel.
func (s *sheet) codesOf(row []pair) string {
	var codes []string
	at := func(key string) pair { return row[slices.IndexFunc(row, func(p pair) bool { return p.key == key })] }
	for _, w := range s.warnings {
		if channel := at("channel").number; w.File == at("file").text && (w.Channel == 0 || !(channel > 0) || w.Channel == int(channel)) {
			codes = append(codes, w.Code)
		}
	}
	return strings.Join(codes, " ")
}

// flat appends a value as a row has it, under its key.
func (s *sheet) flat(row []pair, v reflect.Value, form, key string) []pair {
	switch v.Type() {
	case estimateType:
		for _, p := range s.estimate(of[model.Estimate](v), form) {
			p.key = joined(key, p.key)
			row = append(row, p)
		}
		return row
	case timeType:
		return append(row, word(key, timeText(of[time.Time](v))))
	case noteType:
		return append(row, word(joined(key, "code"), of[model.Note](v).Code))
	}
	switch v.Kind() {
	case reflect.Struct:
		v = s.formed(v)
		for _, f := range fieldsOf(v.Type()) {
			side := s.side
			s.side = cmp.Or(f.side, side)
			row = s.flat(row, f.in(v), f.form, joined(key, f.name))
			s.side = side
		}
	case reflect.Pointer:
		if !v.IsNil() {
			return s.flat(row, v.Elem(), form, key)
		}
		n := len(row)
		row = s.flat(row, reflect.New(v.Type().Elem()).Elem(), form, key)
		for i, p := range row[n:] {
			row[n+i] = pair{key: p.key, number: math.NaN(), isText: p.isText}
		}
	case reflect.Slice:
		return s.flatList(row, v, form, key)
	case reflect.Float64:
		return append(row, number(key, v.Float()))
	case reflect.Int, reflect.Int64:
		return append(row, number(key, float64(v.Int())))
	default:
		return append(row, word(key, fmt.Sprint(v.Interface())))
	}
	return row
}

// flatList appends a list of words or whole numbers in one cell, and of levels of chosen
// harmonics a level each.
func (s *sheet) flatList(row []pair, v reflect.Value, form, key string) []pair {
	switch v.Type().Elem().Kind() {
	case reflect.String, reflect.Int:
		return append(row, word(key, strings.Trim(fmt.Sprint(v.Interface()), "[]")))
	}
	if v.Type().Elem() == estimateType {
		for i, h := range s.harmonics {
			var level model.Estimate
			if i < v.Len() {
				level = of[model.Estimate](v.Index(i))
			}
			row = s.flat(row, reflect.ValueOf(level), form, fmt.Sprintf("h%d", h))
		}
	}
	return row
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
func cellOf(p pair) string {
	if p.isText {
		s := doc.Printable(p.text)
		if formula.Opens(s) {
			return "'" + s
		}
		return s
	}
	var e encoder
	if e.number(p.number); math.IsNaN(p.number) || math.IsInf(p.number, 0) {
		return ""
	}
	return e.String()
}
