package session

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"humdiff/report/model"
)

// rows takes a list of runs apart: CSV as spreadsheets write it, in UTF-8 with or
// without a byte order mark or in Windows-1252, its values parted by commas,
// semicolons or tabs, quoted or not, columns in any order. The first line names
// the columns. What can't be read of one row takes nothing from another.
func rows(file string, text []byte) (runs []entry, problems Problems) {
	here := place{file: file, line: 1}
	if bytes.ContainsRune(text, 0) || bytes.HasPrefix(text, []byte{0xff, 0xfe}) || bytes.HasPrefix(text, []byte{0xfe, 0xff}) {
		problems.add(here, "save it as CSV in UTF-8", "it is written in UTF-16")
		return nil, problems
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.FieldsPerRecord = separator(text), -1
	columns, err := r.Read()
	if err != nil {
		problems.add(here, "its first line names the columns: "+strings.Join(runNames(), ", "), "%s", unread(err, "it is empty"))
		return nil, problems
	}
	columns = checkColumns(here, columns, &problems)
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			dated(runs)
			return runs, problems
		}
		if err != nil {
			at := syntax(file, err)
			problems.add(at, "", "%s", unread(err, ""))
			at.key = rowKey(len(runs))
			runs = append(runs, entry{at: at, bad: runNames()})
			continue
		}
		if e, ok := runOf(file, len(runs), r, columns, row, &problems); ok {
			runs = append(runs, e)
		}
	}
}

// decoded is a list's text as UTF-8, and whether it was Windows-1252: what
// spreadsheets write who write no UTF-8.
func decoded(text []byte) ([]byte, bool) {
	if utf8.Valid(text) || bytes.ContainsRune(text, 0) || bytes.HasPrefix(text, []byte{0xff, 0xfe}) || bytes.HasPrefix(text, []byte{0xfe, 0xff}) {
		return text, false
	}
	utf, err := charmap.Windows1252.NewDecoder().Bytes(text)
	return utf, err == nil
}

func runNames() []string { return names(runKeys(new(model.Run))) }

// separator is the sign that parts the most values in the first line, outside
// of quotes.
func separator(text []byte) rune {
	line, _, _ := bytes.Cut(text, []byte("\n"))
	best, most, inside := ',', 0, false
	seen := map[rune]int{}
	for _, c := range string(line) {
		switch {
		case c == '"':
			inside = !inside
		case !inside && strings.ContainsRune(",;\t", c):
			if seen[c]++; seen[c] > most {
				best, most = c, seen[c]
			}
		}
	}
	return best
}

// mistyped stands before the name of a column that one of another name may mean.
const mistyped = "?"

// checkColumns puts the columns' names as they are known; what isn't known, or
// is there twice, is a problem.
func checkColumns(here place, columns []string, problems *Problems) []string {
	known := runNames()
	var seen []string
	for i, said := range columns {
		name := strings.NewReplacer(" ", "_", "-", "_").Replace(folded(said))
		if also[name] != "" {
			name = also[name]
		}
		switch {
		case name == "":
		case !slices.Contains(known, name):
			problems.add(here, meant(name, known), "there is no column %q", said)
			if name = nearest(name, known); name != "" {
				name = mistyped + name
			}
		case slices.Contains(seen, name):
			problems.add(here, "", "the column %q is there twice", said)
			name = ""
		}
		columns[i] = name
		seen = append(seen, name)
	}
	return columns
}

func rowKey(i int) string { return fmt.Sprintf("run[%d]", i) }

// runOf is one row, the ith run; not ok where it is empty.
func runOf(file string, i int, r *csv.Reader, columns, row []string, problems *Problems) (e entry, ok bool) {
	line, _ := r.FieldPos(0)
	e.at = place{file: file, line: line, key: rowKey(i)}
	for i, v := range row {
		if strings.TrimSpace(v) == "" {
			continue
		}
		ok = true
		line, column := r.FieldPos(i)
		at := place{file, line, column, e.at.key}
		switch {
		case i >= len(columns):
			problems.add(at, "quote a value that holds the sign between values", "there are more values than columns: %q", v)
		case strings.HasPrefix(columns[i], mistyped):
			e.bad = append(e.bad, strings.TrimPrefix(columns[i], mistyped))
		case columns[i] != "":
			at.key += "." + columns[i]
			e.keys = append(e.keys, given{columns[i], cell(v), at})
		}
	}
	return e, ok
}

func syntax(file string, err error) place {
	var wrong *csv.ParseError
	if errors.As(err, &wrong) {
		return place{file: file, line: wrong.Line, column: wrong.Column}
	}
	return place{file: file}
}

// unread is a CSV error without the place, which is said before it.
func unread(err error, ifEmpty string) string {
	var wrong *csv.ParseError
	switch {
	case errors.Is(err, io.EOF):
		return ifEmpty
	case errors.As(err, &wrong):
		return wrong.Err.Error()
	}
	return err.Error()
}
