package fft

import (
	"fmt"

	dsp "github.com/mjibson/go-dsp/fft"
)

// Engine transforms two real sequences of equal length, a power of two, at
// once. A and B receive bins 0 … N/2 of the unscaled transforms
// X[j] = Σ x[n] e^{−2πi jn/N}. An Engine is used by one goroutine at a time.
type Engine interface {
	Pair(a, b []float64, A, B []complex128)
}

// NewEngine returns the engine in use for blocks of n samples, a power of two.
func NewEngine(n int) Engine {
	if n < 2 || n&(n-1) != 0 {
		panic(fmt.Sprintf("fft: block of %d samples: not a power of two", n))
	}
	return &godsp{packed: make([]complex128, n)}
}

func init() {
	// With its default workers go-dsp is slower; captures run in parallel instead.
	dsp.SetWorkerPoolSize(1)
}

// godsp packs two real sequences into one complex transform of go-dsp.
type godsp struct{ packed []complex128 }

func (e *godsp) Pair(a, b []float64, A, B []complex128) {
	n := len(e.packed)
	for i := range e.packed {
		e.packed[i] = complex(a[i], b[i])
	}
	x := dsp.FFT(e.packed)
	for j := 0; j <= n/2; j++ {
		p, q := x[j], x[(n-j)&(n-1)]
		A[j] = complex(0.5*(real(p)+real(q)), 0.5*(imag(p)-imag(q)))
		B[j] = complex(0.5*(imag(p)+imag(q)), 0.5*(real(q)-real(p)))
	}
}
