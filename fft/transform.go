package fft

import "math/cmplx"

// Transform is that of complex points. It is used by one goroutine at a time.
type Transform struct {
	*plan
	N    int // points
	bins []complex128
}

// NewTransform is for n points, a power of two from 2 on.
func NewTransform(n int) *Transform { return &Transform{planFor(n), n, make([]complex128, n)} }

// Forward leaves X[j] = Σ x[i] e^{−2πi ij/n} in x.
func (t *Transform) Forward(x []complex128) {
	t.transform(x, false)
	t.bins[0], t.bins[t.N/2] = x[0], x[1]
	for i, place := range t.places[1:] {
		t.bins[i+1], t.bins[t.N-i-1] = x[place], x[mirror(place)]
	}
	copy(x, t.bins)
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
