package fft

import (
	"fmt"
	"slices"

	dsp "github.com/mjibson/go-dsp/fft"

	"humdiff/fft/lend"
	"humdiff/fft/vector"
)

// Engine transforms two real sequences of equal length N, a power of two from 4 on, at
// once: what is loaded, one of the others uses up. An Engine is used by one goroutine at
// a time.
type Engine interface {
	// load windows two blocks.
	load(one, other half, w Window)
	// pair gives bins 0 … N/2 of the unscaled transforms
	// X[j] = Σ x[n] e^{−2πi jn/N}.
	pair(A, B []complex128)
	// addPowers adds |X[j]|² of these bins to A and B instead, in an order of the
	// engine's own.
	addPowers(A, B []float64)
	// inOrder gives such sums in order of frequency, in a new slice.
	inOrder(sums []float64) []float64
	// release gives back what is lent.
	release()
}

// half is a block that shares a transform with another one. Its samples begin at place
// first of x, and go on at its beginning.
type half struct {
	channel int // none: of nobody
	x       []float64
	first   int
}

// NewEngine returns the engine in use for blocks of n samples, a power of two.
func NewEngine(n int) Engine {
	mustBePower(n)
	return splitRadix{planFor(n), packs.Take(n)}
}

// packs are where blocks are transformed. Each place is written before it is read.
var packs lend.Pool[complex128]

// NewReferenceEngine returns an engine that shares no code with NewEngine's:
// what it gives is a second opinion. It is several times slower.
func NewReferenceEngine(n int) Engine {
	mustBePower(n)
	return &godsp{packed: make([]complex128, n)}
}

func mustBePower(n int) {
	if n < 4 || n&(n-1) != 0 {
		panic(fmt.Sprintf("fft: block of %d samples: not a power of two from 4 on", n))
	}
}

func init() {
	// With its default workers go-dsp is slower; captures run in parallel instead.
	dsp.SetWorkerPoolSize(1)
}

// godsp is go-dsp's transform.
type godsp struct {
	packed []complex128
	window []float64
}

func (g *godsp) load(one, other half, w Window) {
	n := len(g.packed)
	if g.window == nil {
		g.window = w.Samples(n)
	}
	for i, v := range g.window {
		g.packed[i] = complex(v*one.x[(one.first+i)%n], v*other.x[(other.first+i)%n])
	}
}

func (g *godsp) pair(A, B []complex128) {
	x := dsp.FFT(g.packed)
	n := len(x)
	for j := range A {
		A[j], B[j] = unpack(x[j], x[(n-j)&(n-1)])
	}
}

func (g *godsp) addPowers(A, B []float64) {
	n := len(g.packed)/2 + 1
	a, b := make([]complex128, n), make([]complex128, n)
	g.pair(a, b)
	vector.AddSquares(A, a)
	vector.AddSquares(B, b)
}

func (*godsp) inOrder(sums []float64) []float64 { return slices.Clone(sums) }

func (*godsp) release() {}

// square is |z|².
func square(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// unpack separates bin j of two real sequences from bins j and −j of their
// packed transform: a real sequence's bin −j is the conjugate of its bin j.
func unpack(p, q complex128) (a, b complex128) {
	return complex(0.5*(real(p)+real(q)), 0.5*(imag(p)-imag(q))),
		complex(0.5*(imag(p)+imag(q)), 0.5*(real(q)-real(p)))
}
