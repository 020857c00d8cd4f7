package wire

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// encoder writes nodes one after the other.
type encoder struct {
	bytes.Buffer
	words [][2]int // where texts are that a fingerprint doesn't stand for
}

func (e *encoder) node(n *node) {
	switch n.kind {
	case object:
		e.object(n.of, func(i int) { e.node(&n.of[i]) })
	case list:
		if !n.tabled { // one at a time: they may be many
			e.list(n.n, func(i int) *node {
				one := n.at(i)
				return &one
			})
			return
		}
		rows := make([]node, n.n)
		for i := range rows {
			rows[i] = n.at(i)
		}
		e.columns(n.at(-1), len(rows), func(i int) *node { return &rows[i] })
	case word, moment:
		from := e.Len()
		e.text(n.text)
		if n.apart {
			e.words = append(e.words, [2]int{from, e.Len()})
		}
	case number:
		e.number(n.float)
	case absent:
		e.WriteString("null")
	default:
		e.WriteString(n.text)
	}
}

// object writes keys, each with a value.
func (e *encoder) object(keys []node, value func(i int)) {
	e.WriteByte('{')
	for i, k := range keys {
		if i > 0 {
			e.WriteByte(',')
		}
		e.WriteByte('"')
		e.WriteString(k.key) // of letters and lines
		e.WriteString(`":`)
		value(i)
	}
	e.WriteByte('}')
}

// list writes a list of n.
func (e *encoder) list(n int, at func(i int) *node) {
	e.WriteByte('[')
	for i := range n {
		if i > 0 {
			e.WriteByte(',')
		}
		e.node(at(i))
	}
	e.WriteByte(']')
}

// number writes the shortest digits that tell a number from all others: as encoding/json
// does, which is four times slower.
func (e *encoder) number(x float64) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		e.WriteString("null")
		return
	}
	x += 0 // -0 is 0
	if size := math.Abs(x); size == 0 || size >= 1e-6 && size < 1e21 {
		e.Write(strconv.AppendFloat(e.AvailableBuffer(), x, 'f', -1, 64))
		return
	}
	text := strconv.AppendFloat(e.AvailableBuffer(), x, 'e', -1, 64)
	if n := len(text); text[n-2] == '0' && text[n-3] == '-' {
		text[n-2], text = text[n-1], text[:n-1] // e-09 is e-9
	}
	e.Write(text)
}

// text writes a string.
func (e *encoder) text(s string) {
	for i := range len(s) {
		if c := s[i]; c < ' ' || c > '~' || c == '"' || c == '\\' {
			quoted, _ := plain(s) // a string can be written
			e.Write(quoted)
			return
		}
	}
	e.WriteByte('"')
	e.WriteString(s)
	e.WriteByte('"')
}

// plain writes a value as encoding/json does.
func plain(x any) ([]byte, error) {
	var b bytes.Buffer
	j := json.NewEncoder(&b)
	j.SetEscapeHTML(false)
	err := j.Encode(x)
	return harmless(bytes.TrimRight(b.Bytes(), "\n")), err
}

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
