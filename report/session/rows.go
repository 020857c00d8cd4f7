package session

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strings"
)

// rows takes a list of runs apart: CSV as spreadsheets write it, in UTF-8 with or
// without a byte order mark, its values parted by commas, semicolons or tabs,
// quoted or not, columns in any order. The first line names the columns.
func rows(file string, text []byte) (runs []entry, problems Problems) {
	here := place{file: file, line: 1}
	if bytes.HasPrefix(text, []byte{0xff, 0xfe}) || bytes.HasPrefix(text, []byte{0xfe, 0xff}) {
		problems.add(here, "save it as CSV in UTF-8", "it is written in UTF-16")
		return nil, problems
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	if at := notUTF8(text); at > 0 {
		problems.add(place{file, at, 0}, "save it as CSV in UTF-8", "it holds letters that are no UTF-8")
		return nil, problems
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.FieldsPerRecord = separator(text), -1
	columns, err := r.Read()
	if err != nil {
		problems.add(here, "its first line names the columns: "+strings.Join(names(runFields), ", "), "%s", unread(err, "it is empty"))
		return nil, problems
	}
	columns = checkColumns(here, columns, &problems)
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			return runs, problems
		}
		if err != nil {
			problems.add(syntax(file, err), "", "%s", unread(err, ""))
			return runs, problems
		}
		if e, ok := runOf(file, r, columns, row, &problems); ok {
			runs = append(runs, e)
		}
	}
}

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

// checkColumns puts the columns' names as they are known; what isn't known, or
// is there twice, is a problem, and its name empty.
func checkColumns(here place, columns []string, problems *Problems) []string {
	known := names(runFields)
	var seen []string
	for i, said := range columns {
		name := strings.ToLower(strings.TrimSpace(said))
		name = strings.NewReplacer(" ", "_", "-", "_").Replace(name)
		switch {
		case name == "":
		case !slices.Contains(known, name):
			problems.add(here, meant(name, known), "there is no column %q", said)
			name = ""
		case slices.Contains(seen, name):
			problems.add(here, "", "the column %q is there twice", said)
			name = ""
		}
		columns[i] = name
		seen = append(seen, name)
	}
	return columns
}

// runOf is one row; not ok where it is empty.
func runOf(file string, r *csv.Reader, columns, row []string, problems *Problems) (e entry, ok bool) {
	line, _ := r.FieldPos(0)
	e.at = place{file: file, line: line}
	for i, v := range row {
		if strings.TrimSpace(v) == "" {
			continue
		}
		ok = true
		line, column := r.FieldPos(i)
		at := place{file, line, column}
		switch {
		case i >= len(columns):
			problems.add(at, "quote a value that holds the sign between values", "there are more values than columns: %q", v)
		case columns[i] != "":
			e.keys = append(e.keys, key{columns[i], cell(v), at})
		}
	}
	return e, ok
}

func syntax(file string, err error) place {
	var wrong *csv.ParseError
	if errors.As(err, &wrong) {
		return place{file, wrong.Line, wrong.Column}
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
