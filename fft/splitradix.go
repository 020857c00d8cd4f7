package fft

import (
	"math"
	"math/bits"
	"math/cmplx"
	"sync"
)

// splitRadix is the transform in use: the conjugate-pair split radix (I. Kamar,
// Y. Elcherif 1989), decimated in frequency and depth first. Depth first, so
// that all but the outermost passes find their samples in the cache; conjugate
// pairs, so that one factor serves two products. Bins come out of order and are
// put in order as the two sequences are taken apart. Nothing is allocated.
type splitRadix struct{ *plan }

// plan is what a transform of n points needs to know. It is read only.
type plan struct {
	n       int
	factors [][]complex128 // e^{−2πi p/l}, p < l/4, by log₂ l
	order   []place
}

// place says where bin j and bin −j of the packed transform lie.
type place struct{ bin, at, mirror int32 }

// planFor makes the plan of a length once.
func planFor(n int) *plan { return plans[bits.Len(uint(n))-1]() }

var plans = func() (all [31]func() *plan) {
	for log := range all {
		all[log] = sync.OnceValue(func() *plan { return newPlan(1 << log) })
	}
	return all
}()

func newPlan(n int) *plan {
	p := &plan{n: n}
	for l := 1; l <= n; l *= 2 {
		w := make([]complex128, l/4)
		for i := range w {
			w[i] = cmplx.Rect(1, -2*math.Pi*float64(i)/float64(l))
		}
		p.factors = append(p.factors, w)
	}
	at := make([]int32, n)
	p.locate(at, 0, n, 0, 1)
	p.order = visits(at)
	return p
}

// locate notes where transform leaves the bins first, first+step … of n points
// that begin at from.
func (p *plan) locate(at []int32, from, n, first, step int) {
	if n <= 2 {
		for i := range n {
			at[(first+i*step)&(p.n-1)] = int32(from + i)
		}
		return
	}
	p.locate(at, from, n/2, first, 2*step)
	p.locate(at, from+n/2, n/4, first+step, 4*step)
	p.locate(at, from+n/2+n/4, n/4, first-step, 4*step)
}

// visits lists bins 0 … N/2 in an order that suits the cache: bins a quarter
// of the transform apart lie side by side, so groups of four in a row are
// visited with those a quarter further, and with the groups of their mirrors.
func visits(at []int32) (order []place) {
	n := len(at)
	visit := func(j int) {
		if j <= n/2 {
			order = append(order, place{int32(j), at[j], at[(n-j)&(n-1)]})
		}
	}
	if n < 32 {
		for j := range n {
			visit(j)
		}
		return order
	}
	for group := 0; group < n/8; group += 4 {
		for _, first := range []int{group, n/4 - 4 - group} {
			for j := first; j < first+4; j++ {
				visit(j)
				visit(j + n/4)
			}
		}
	}
	visit(n / 2)
	return order
}

func (s splitRadix) Pair(packed, A, B []complex128) {
	s.transform(packed[:s.n])
	for _, v := range s.order {
		A[v.bin], B[v.bin] = unpack(packed[v.at], packed[v.mirror])
	}
}

func (s splitRadix) Powers(packed []complex128, A, B []float64) {
	s.transform(packed[:s.n])
	for _, v := range s.order {
		a, b := unpack(packed[v.at], packed[v.mirror])
		A[v.bin] += square(a)
		B[v.bin] += square(b)
	}
}

// transform leaves the bins of x in x, out of order.
func (p *plan) transform(x []complex128) {
	switch n := len(x); n {
	case 1:
	case 2:
		x[0], x[1] = x[0]+x[1], x[0]-x[1]
	case 4:
		transform4(x)
	case 8:
		transform8(x)
	default:
		split(x, p.factors[bits.Len(uint(n))-1])
		p.transform(x[:n/2])
		p.transform(x[n/2 : n/2+n/4])
		p.transform(x[n/2+n/4:])
	}
}

// split leaves in the first half of x the points whose transform is the even
// bins, and in the third and last quarter those of bins 4k+1 and 4k−1.
func split(x, factors []complex128) {
	m := len(factors)
	xa, xb, xc, xd := x[:m], x[m:][:m], x[2*m:][:m], x[3*m:][:m]
	for i, w := range factors {
		a, b, c, d := xa[i], xb[i], xc[i], xd[i]
		xa[i], xb[i] = a+c, b+d
		e, f := a-c, turn(b-d)
		u, v := e+f, e-f
		xc[i] = complex(real(u)*real(w)-imag(u)*imag(w), real(u)*imag(w)+imag(u)*real(w))
		xd[i] = complex(real(v)*real(w)+imag(v)*imag(w), imag(v)*real(w)-real(v)*imag(w))
	}
}

// turn is −i·z.
func turn(z complex128) complex128 { return complex(imag(z), -real(z)) }

// transform4 is split with its halves' transforms, written out.
func transform4(x []complex128) {
	x = x[:4]
	x[0], x[1], x[2], x[3] = four(x[0], x[1], x[2], x[3])
}

func four(a, b, c, d complex128) (_, _, _, _ complex128) {
	even, odd := a+c, b+d
	e, f := a-c, turn(b-d)
	return even + odd, even - odd, e + f, e - f
}

// transform8 likewise; its factors are 1 and e^{∓iπ/4}.
func transform8(x []complex128) {
	x = x[:8]
	e0, f0 := x[0]-x[4], turn(x[2]-x[6])
	e1, f1 := x[1]-x[5], turn(x[3]-x[7])
	u0, v0 := e0+f0, e0-f0
	u1, v1 := e1+f1, e1-f1
	const c = math.Sqrt2 / 2
	u1 = complex(c*(real(u1)+imag(u1)), c*(imag(u1)-real(u1)))
	v1 = complex(c*(real(v1)-imag(v1)), c*(imag(v1)+real(v1)))
	x[0], x[1], x[2], x[3] = four(x[0]+x[4], x[1]+x[5], x[2]+x[6], x[3]+x[7])
	x[4], x[5] = u0+u1, u0-u1
	x[6], x[7] = v0+v1, v0-v1
}
