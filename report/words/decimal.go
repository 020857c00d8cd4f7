package words

import (
	"regexp"
	"strings"
)

// keptPoint stands for a point that Decimal leaves a point. It is of the private
// use area, which Printable lets no text from outside have.
const keptPoint = "\uE000"

// Verbatim is a text from outside, such as a file's name, made harmless by
// Printable and with points that Decimal takes for no decimal sign.
func Verbatim(s string) string { return strings.ReplaceAll(Printable(s), ".", keptPoint) }

var decimalPoint = regexp.MustCompile(`(\d)\.(\d)`)

// Decimal writes the numbers in a text with a comma as decimal sign, or leaves
// them with a point (ISO 80000-1 allows both), and undoes Verbatim.
func Decimal(s string, comma bool) string {
	if comma {
		s = decimalPoint.ReplaceAllString(s, "$1,$2")
	}
	return strings.ReplaceAll(s, keptPoint, ".")
}
