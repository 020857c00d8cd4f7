package wire

import (
	"fmt"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// harmless writes what prints nothing by its code, as JSON may: names and texts
// from files could command a terminal otherwise.
func harmless(b []byte) []byte {
	out := make([]byte, 0, len(b))
	for _, r := range string(b) {
		switch {
		case unicode.IsPrint(r):
			out = utf8.AppendRune(out, r)
		case r > 0xffff:
			hi, lo := utf16.EncodeRune(r)
			out = fmt.Appendf(out, `\u%04x\u%04x`, hi, lo)
		default:
			out = fmt.Appendf(out, `\u%04x`, r)
		}
	}
	return out
}
