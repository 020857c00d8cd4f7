package likeness

import (
	"math/cmplx"

	"humdiff/fft"
)

// transform is that of n complex points, a power of two, on the engine for real
// sequences. It is used by one goroutine at a time.
type transform struct {
	engine fft.Engine
	n      int
	a, b   []complex128 // bins of the real and of the imaginary parts
}

func newTransform(n int) *transform {
	return &transform{fft.NewEngine(n), n, make([]complex128, n/2+1), make([]complex128, n/2+1)}
}

// forward leaves X[j] = Σ x[i] e^{−2πi ij/n} in x.
func (t *transform) forward(x []complex128) {
	t.engine.Pair(x, t.a, t.b)
	for j, a := range t.a {
		b := t.b[j]
		x[(t.n-j)&(t.n-1)] = complex(real(a)+imag(b), real(b)-imag(a))
		x[j] = complex(real(a)-imag(b), imag(a)+real(b))
	}
}

// inverse undoes forward.
func (t *transform) inverse(x []complex128) {
	for i, v := range x {
		x[i] = cmplx.Conj(v)
	}
	t.forward(x)
	scale := 1 / float64(t.n)
	for i, v := range x {
		x[i] = complex(scale*real(v), -scale*imag(v))
	}
}

// powerOfTwo is the least that is not below n, 2 at least.
func powerOfTwo(n int) int {
	p := 2
	for p < n {
		p *= 2
	}
	return p
}
