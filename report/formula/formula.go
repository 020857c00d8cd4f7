// Package formula keeps texts from outside from becoming formulas in a spreadsheet. It
// assumes that one which begins with an apostrophe is shown as it stands.
package formula

import "strings"

// Opens says whether a spreadsheet may take a cell for a formula: where it starts,
// blanks aside, with a character that can open one (the list is OWASP's, "CSV
// Injection", from memory, with the full-width forms).
func Opens(cell string) bool {
	start := strings.TrimLeft(cell, " \t\r\n\u00a0\u3000")
	return strings.IndexFunc(start, func(r rune) bool { return strings.ContainsRune("=+-@＝＋－＠", r) }) == 0
}

// Guard writes a text that has to be read back as it is: an apostrophe goes before
// one that opens a formula. Unguard takes it away again.
func Guard(text string) string {
	if Opens(text) || guarded(text) {
		return "'" + text
	}
	return text
}

// Unguard is the text that Guard was given.
func Unguard(cell string) string {
	if guarded(cell) {
		return cell[1:]
	}
	return cell
}

// guarded says that a text begins with apostrophes before what opens a formula.
func guarded(text string) bool {
	return strings.HasPrefix(text, "'") && Opens(strings.TrimLeft(text, "'"))
}
