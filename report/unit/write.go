package unit

import (
	"strconv"
	"strings"
)

// WriteNumber is a value as Number reads it: the shortest decimal that reads back as
// the value, with the prefix that leaves 1 to 999 before the point where there is one.
func (u Unit) WriteNumber(v float64) string {
	mantissa, exp, _ := strings.Cut(strconv.FormatFloat(v, 'e', -1, 64), "e")
	ten, _ := strconv.Atoi(exp)
	s := u.written(v, ten)
	x, _ := strconv.ParseFloat(mantissa+"e"+strconv.Itoa(ten-s.exp), 64)
	return Decimal(x) + s.text
}

// written is the spelling that a value of this power of ten is written in: the
// first of those with the largest prefix that isn't too large.
func (u Unit) written(v float64, ten int) sign {
	best := u.signs[0]
	if v == 0 {
		return best
	}
	fits := func(s sign) bool { return s.exp <= ten }
	for _, s := range u.signs[1:] {
		better := !fits(best) && s.exp < best.exp || fits(s) && s.exp > best.exp
		if s.times == 1 && !s.level && s.exp%3 == 0 && better {
			best = s
		}
	}
	return best
}

// Decimal writes the shortest decimal that reads back as x.
func Decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
