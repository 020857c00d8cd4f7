package coupling

import "math"

// vacuum is the permittivity of free space, F/m (CODATA 2018).
const vacuum = 8.8541878128e-12

// Wires is the geometry of two bare parallel conductors of one diameter, in
// air, metres.
type Wires struct {
	Spacing  float64 // between their centres
	Diameter float64
	Length   float64 // over which they run in parallel
}

// Farads is the capacitance between the two conductors, πε·length/acosh(D/d)
// (Ott, Noise Reduction Techniques, ch. 2; from memory). Bare means without a
// shield: a shielded cable's is a small share of it. NaN where the wires would
// touch.
func (w Wires) Farads() float64 {
	if !(w.Spacing > w.Diameter && w.Diameter > 0 && w.Length > 0) {
		return math.NaN()
	}
	return math.Pi * vacuum * w.Length / math.Acosh(w.Spacing/w.Diameter)
}
