package health

import "math"

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
	var sum, bend, sharpest float64
	var digits int64
	lowest, most := x[0], x[0]
	last, slope := before[1], before[1]-before[0]
	for _, v := range x {
		sum += v
		if v < lowest {
			lowest = v
		}
		if v > most {
			most = v
		}
		digits |= int64(v * (1 << finestDigit))
		rise := v - last
		d := (rise - slope) * (rise - slope)
		bend += d
		if d > sharpest {
			sharpest = d
		}
		last, slope = v, rise
	}
	return glance{sum, lowest, most, digits, bend, math.Sqrt(sharpest)}
}
