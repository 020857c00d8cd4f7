package fft

import "math/cmplx"

// Transform is that of n complex points, a power of two, on the engine for real
// sequences. It is used by one goroutine at a time.
type Transform struct {
	engine Engine
	N      int          // points
	a, b   []complex128 // bins of the real and of the imaginary parts
}

// NewTransform is for n points.
func NewTransform(n int) *Transform {
	return &Transform{NewEngine(n), n, make([]complex128, n/2+1), make([]complex128, n/2+1)}
}

// Forward leaves X[j] = Σ x[i] e^{−2πi ij/n} in x.
func (t *Transform) Forward(x []complex128) {
	t.engine.Pair(x, t.a, t.b)
	for j, a := range t.a {
		b := t.b[j]
		x[(t.N-j)&(t.N-1)] = complex(real(a)+imag(b), real(b)-imag(a))
		x[j] = complex(real(a)-imag(b), imag(a)+real(b))
	}
}

// Inverse undoes Forward.
func (t *Transform) Inverse(x []complex128) {
	for i, v := range x {
		x[i] = cmplx.Conj(v)
	}
	t.Forward(x)
	scale := 1 / float64(t.N)
	for i, v := range x {
		x[i] = complex(scale*real(v), -scale*imag(v))
	}
}

// PowerOfTwo is the least that is not below n, 2 at least.
func PowerOfTwo(n int) int {
	p := 2
	for p < n {
		p *= 2
	}
	return p
}
