package table

import (
	"humdiff/report/formula"
	"humdiff/report/words"
)

// Harmless writes a text from outside so that no spreadsheet takes it for a
// formula: an apostrophe goes before one that would open one. Characters that
// print nothing are written as their code.
func Harmless(s string) string {
	if s = words.Printable(s); formula.Opens(s) {
		return "'" + s
	}
	return s
}
