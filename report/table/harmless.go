package table

import (
	"strings"

	"humdiff/report/words"
)

// Harmless writes a text from outside so that no spreadsheet takes it for a
// formula: an apostrophe goes before one that starts, blanks aside, with a
// character that can open a formula (the list is OWASP's, "CSV Injection",
// from memory, with the full-width forms). Characters that print nothing are
// written as their code.
func Harmless(s string) string {
	s = words.Printable(s)
	if start := strings.TrimLeft(s, " \u00a0\u3000"); start != "" && strings.ContainsAny(start[:firstRune(start)], "=+-@＝＋－＠") {
		return "'" + s
	}
	return s
}

func firstRune(s string) int {
	for i := range s {
		if i > 0 {
			return i
		}
	}
	return len(s)
}
