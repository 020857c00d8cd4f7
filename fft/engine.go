package fft

import (
	"fmt"
	"slices"

	dsp "github.com/mjibson/go-dsp/fft"
)

// Engine transforms two real sequences of equal length, a power of two, at
// once. packed holds the one in its real parts and the other in its imaginary
// parts, and is used up. An Engine is used by one goroutine at a time.
type Engine interface {
	// Pair gives bins 0 … N/2 of the unscaled transforms
	// X[j] = Σ x[n] e^{−2πi jn/N}.
	Pair(packed, A, B []complex128)
	// Powers adds |X[j]|² of these bins to A and B instead, in an order of the
	// engine's own. fill writes a part of packed before it is read, each part once.
	Powers(packed []complex128, fill func(from, to int), A, B []float64)
	// InOrder gives such sums in order of frequency, in a new slice.
	InOrder(sums []float64) []float64
}

// NewEngine returns the engine in use for blocks of n samples, a power of two.
func NewEngine(n int) Engine {
	mustBePower(n)
	return splitRadix{planFor(n)}
}

// NewReferenceEngine returns an engine that shares no code with NewEngine's:
// what it gives is a second opinion. It is several times slower.
func NewReferenceEngine(n int) Engine {
	mustBePower(n)
	return godsp{}
}

func mustBePower(n int) {
	if n < 2 || n&(n-1) != 0 {
		panic(fmt.Sprintf("fft: block of %d samples: not a power of two", n))
	}
}

func init() {
	// With its default workers go-dsp is slower; captures run in parallel instead.
	dsp.SetWorkerPoolSize(1)
}

// godsp is go-dsp's transform.
type godsp struct{}

func (godsp) Pair(packed, A, B []complex128) {
	x := dsp.FFT(packed)
	n := len(x)
	for j := range A {
		A[j], B[j] = unpack(x[j], x[(n-j)&(n-1)])
	}
}

func (godsp) Powers(packed []complex128, fill func(from, to int), A, B []float64) {
	fill(0, len(packed))
	x := dsp.FFT(packed)
	n := len(x)
	for j := range A {
		a, b := unpack(x[j], x[(n-j)&(n-1)])
		A[j] += square(a)
		B[j] += square(b)
	}
}

func (godsp) InOrder(sums []float64) []float64 { return slices.Clone(sums) }

// square is |z|².
func square(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// unpack separates bin j of two real sequences from bins j and −j of their
// packed transform: a real sequence's bin −j is the conjugate of its bin j.
func unpack(p, q complex128) (a, b complex128) {
	return complex(0.5*(real(p)+real(q)), 0.5*(imag(p)-imag(q))),
		complex(0.5*(imag(p)+imag(q)), 0.5*(real(q)-real(p)))
}
