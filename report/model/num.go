package model

import (
	"encoding/json"
	"math"
	"strconv"

	"humdiff/fft/estimate"
)

// Num is a number that JSON can always carry: NaN and infinities are null.
type Num float64

// None is the absent number.
var None = Num(math.NaN())

// Of is a number, or None where it isn't finite.
func Of(x float64) Num {
	if n := Num(x); n.Ok() {
		return n
	}
	return None
}

// Ok reports whether the number is there.
func (n Num) Ok() bool { return !math.IsNaN(float64(n)) && !math.IsInf(float64(n), 0) }

// MarshalJSON writes null for an absent number.
func (n Num) MarshalJSON() ([]byte, error) {
	if !n.Ok() {
		return []byte("null"), nil
	}
	return json.Marshal(positive(float64(n)))
}

// UnmarshalJSON reads null as None.
func (n *Num) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*n = None
		return nil
	}
	return json.Unmarshal(b, (*float64)(n))
}

// DB is a power ratio in decibels, to a ten-thousandth; a power of zero or below
// has none.
func DB(power float64) Num {
	if !(power > 0) {
		return None
	}
	return Num(Places(10*math.Log10(power), 4))
}

// Float is the number, NaN where it is absent.
func (n Num) Float() float64 {
	if !n.Ok() {
		return math.NaN()
	}
	return float64(n)
}

// OrZero is the number, 0 where it is absent.
func (n Num) OrZero() float64 {
	if !n.Ok() {
		return 0
	}
	return float64(n)
}

// Places rounds to so many decimals. Numbers are rounded where they enter the
// model, so that processors that differ in a last bit don't differ in print.
func Places(x float64, decimals int) float64 {
	up := math.Pow10(decimals)
	return positive(math.Round(x*up) / up)
}

// Digits rounds to so many significant digits.
func Digits(x float64, digits int) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return positive(x)
	}
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', digits-1, 64), 64)
	if err != nil {
		return x
	}
	return positive(rounded)
}

// positive turns -0 into 0.
func positive(x float64) float64 { return x + 0 }

// Level is a power with the ends of its interval as an estimate in dB.
func Level(power, lo, hi float64) Estimate {
	return estimate.Of(DB(power).Float(), DB(lo).Float(), DB(hi).Float())
}
