package transfer

import (
	"math"
	"math/cmplx"
)

// Turn is by how much the reference's own line leads so many times its fundamental's phase,
// rad, mean of spans, with its standard uncertainty; of the fundamental, whose turn is zero,
// that of its phase by noise. Mains hold it as their loads do, however their frequency
// wanders. It is NaN where spans are too few, or not the fundamental's.
func (r Ratio) Turn(fundamental Ratio) (rad, u float64) {
	n := len(r.line.Reference)
	if n < LeastSpans || n != len(fundamental.line.Reference) {
		return math.NaN(), math.NaN()
	}
	noise := 1 / (2 * r.SNR * float64(n))
	if r.Harmonic == fundamental.Harmonic {
		return 0, math.Sqrt(noise)
	}
	var mean complex128
	turned := make([]complex128, n)
	for s, x := range r.line.Reference {
		turned[s] = x * cmplx.Rect(1, -float64(r.Harmonic)*cmplx.Phase(fundamental.line.Reference[s]))
		mean += turned[s]
	}
	squares := 0.0
	for _, x := range turned {
		strays := cmplx.Phase(x * cmplx.Conj(mean))
		squares += strays * strays
	}
	return cmplx.Phase(mean), math.Sqrt(max(noise, squares/float64(n*(n-1))))
}
