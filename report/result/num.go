package result

import (
	"encoding/json"
	"math"
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
	return json.Marshal(float64(n))
}

// UnmarshalJSON reads null as None.
func (n *Num) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*n = None
		return nil
	}
	return json.Unmarshal(b, (*float64)(n))
}

// DB is a power ratio in decibels; a power of zero or below has none.
func DB(power float64) Num {
	if !(power > 0) {
		return None
	}
	return Num(10 * math.Log10(power))
}
