package text

import (
	"encoding/csv"
	"fmt"
	"iter"
	"slices"
	"strconv"
	"strings"

	"humdiff/report/doc"
	"humdiff/report/formula"
	"humdiff/report/model"
)

// CSV writes tables of one kind below one another (RFC 4180, lines end in LF): every
// row, in the result's own numbers, with an ASCII hyphen as minus sign, empty where
// there is none, and texts from outside so that no spreadsheet takes them for a
// formula. A table isn't held once it is written.
func CSV(tables iter.Seq[doc.Table]) string {
	var out strings.Builder
	w := csv.NewWriter(&out) // of a builder, which takes everything
	var row []string
	headed := false
	for t := range tables {
		if !headed {
			for _, c := range t.Columns {
				row = append(row, c.Plain...)
			}
			w.Write(row)
			headed = true
		}
		for _, r := range t.Rows {
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
	return out.String()
}

// Marked are tables with a last column that has their result's fingerprint, so that
// none of them can be passed off as another's.
func Marked(tables iter.Seq[doc.Table], fingerprint string) iter.Seq[doc.Table] {
	return func(yield func(doc.Table) bool) {
		for t := range tables {
			t.Columns = append(slices.Clone(t.Columns), doc.Column{Plain: []string{"fingerprint"}})
			t.Rows = slices.Clone(t.Rows)
			for i := range t.Rows {
				t.Rows[i].Cells = append(slices.Clone(t.Rows[i].Cells), doc.Cell{Plain: []any{fingerprint}})
			}
			if !yield(t) {
				return
			}
		}
	}
}

// One is one table for CSV.
func One(t doc.Table) iter.Seq[doc.Table] {
	return func(yield func(doc.Table) bool) { yield(t) }
}

func plain(v any) string {
	switch v := v.(type) {
	case model.Num:
		if !v.Ok() {
			return ""
		}
		return strconv.FormatFloat(float64(v), 'g', -1, 64)
	case string:
		return noFormula(v)
	case nil:
		return ""
	}
	return fmt.Sprint(v)
}

// noFormula writes a text from outside so that no spreadsheet takes it for a
// formula: an apostrophe goes before one that would open one. Characters that
// print nothing are written as their code.
func noFormula(s string) string {
	if s = doc.Printable(s); formula.Opens(s) {
		return "'" + s
	}
	return s
}
