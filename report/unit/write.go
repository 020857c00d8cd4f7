package unit

import (
	"math"
	"strconv"
	"strings"
)

// Write is a quantity as Parse reads it: the shortest decimal that reads back as
// the value, with the prefix that leaves 1 to 999 before the point where there is
// one, and the tolerance to six digits. What has no value is written as nothing.
func (u Unit) Write(e Estimate) string {
	v, ok := e.Value()
	if !ok {
		return ""
	}
	lo, hasLo := e.Lower()
	hi, hasHi := e.Upper()
	if !hasLo || !hasHi {
		return u.WriteNumber(v)
	}
	return u.WriteNumber(v) + " ±" + u.off(v, lo, hi)
}

// WriteNumber is a value without tolerance.
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

// off is a tolerance: in percent where both ends lie as far off, in decibels where
// they do by their logarithm, else the wider side.
func (u Unit) off(v, lo, hi float64) string {
	six := func(x float64) string { return Decimal(round(math.Abs(x))) }
	switch {
	case u.ratio:
		return six(max(hi-v, v-lo)) + "dB"
	case u.tells&inPercent == 0:
		return u.WriteNumber(round(max(hi-v, v-lo)))
	case u.tells&inDecibels != 0 && math.Abs(v/lo-hi/v) < 1e-9 && hi > lo:
		return six(20*math.Log10(hi/v)) + "dB"
	}
	return six(100*max(hi-v, v-lo)/v) + "%"
}

func round(x float64) float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 5, 64), 64)
	return r
}

// Decimal writes the shortest decimal that reads back as x.
func Decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
