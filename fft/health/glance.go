package health

import (
	"math"

	"humdiff/fft/vector"
)

// glance is what one look at a block's samples gives.
type glance struct {
	sum          float64
	lowest, most float64
	digits       int64   // every binary digit that a sample uses
	bend         float64 // sum of the squares of second differences
	sharpest     float64 // largest magnitude of one
}

// finestDigit is the last binary digit looked at: 2⁻⁴⁰ of full scale.
const finestDigit = 40

// look takes in a block; before are the two samples ahead of it.
func look(x []float64, before [2]float64) glance {
	// The first two samples go with those ahead of them.
	start := append(before[:], x[:min(2, len(x))]...)
	seen := vector.Look(start)
	if len(x) > 2 {
		seen = join(seen, vector.Look(x))
	}
	g := glance{seen.Sum, seen.Lowest, seen.Most, seen.Digits, seen.Bend, math.Sqrt(seen.Sharpest)}
	if max(-g.lowest, g.most) >= vector.DigitsEnd {
		g.digits = digitsOf(x)
	}
	return g
}

func join(a, b vector.Looked) vector.Looked {
	return vector.Looked{
		Sum:    a.Sum + b.Sum,
		Lowest: min(a.Lowest, b.Lowest), Most: max(a.Most, b.Most),
		Digits: a.Digits | b.Digits,
		Bend:   a.Bend + b.Bend, Sharpest: max(a.Sharpest, b.Sharpest),
	}
}

// digitsOf is every binary digit used where floats go far beyond full scale.
func digitsOf(x []float64) (digits int64) {
	for _, v := range x {
		digits |= inDigits(v)
	}
	return digits
}

// inDigits is v in units of the finest digit. What an int64 doesn't hold has none
// of its digits.
func inDigits(v float64) int64 {
	if v *= 1 << finestDigit; v >= -0x1p63 && v < 0x1p63 {
		return int64(v)
	}
	return math.MinInt64
}
