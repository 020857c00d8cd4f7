package fft

import (
	"math"
	"math/bits"
	"math/cmplx"
	"sync"

	"humdiff/fft/vector"
)

// splitRadix is the transform in use: the conjugate-pair split radix (I. Kamar,
// Y. Elcherif 1989), decimated in frequency and depth first. Depth first, so
// that all but the outermost passes find their samples in the cache; conjugate
// pairs, so that one factor serves two products. Nothing is allocated.
//
// Bins come out of order, but those at +j and −j, which are needed together to
// take two sequences apart, lie at equal places of two stretches: the last
// quarter's bins are minus the third's, as each quarter is transformed in the
// other's mirror image. So powers are gathered from one end to the other.
type splitRadix struct{ *plan }

// plan is what a transform of n points needs to know. It is read only.
type plan struct {
	n       int
	factors [][]complex128 // e^{−2πi p/l}, p < l/4, by log₂ l
	places  []int32        // of bins 0 … n/2−1 behind a transform
}

// planFor makes the plan of a length once.
func planFor(n int) *plan { return plans[bits.Len(uint(n))-1]() }

var plans = func() (all [31]func() *plan) {
	for log := range all {
		all[log] = sync.OnceValue(func() *plan { return newPlan(1 << log) })
	}
	return all
}()

func newPlan(n int) *plan {
	p := &plan{n: n, places: make([]int32, n/2)}
	for l := 1; l <= n; l *= 2 {
		p.factors = append(p.factors, factorsFor(l))
	}
	bins := make([]int32, n)
	locate(bins, 0, 1)
	for place, bin := range bins {
		if bin &= int32(n - 1); int(bin) < n/2 {
			p.places[bin] = int32(place)
		}
	}
	return p
}

// mirror is the place of bin −j, where bin j is at one beyond the first two.
func mirror(place int32) int32 { return place ^ 1<<(bits.Len32(uint32(place))-2) }

// factorsFor are the factors of a pass over l points, the same for all plans.
func factorsFor(l int) []complex128 { return factors[bits.Len(uint(l))-1]() }

var factors = func() (all [31]func() []complex128) {
	for log := range all {
		all[log] = sync.OnceValue(func() []complex128 {
			l := 1 << log
			w := make([]complex128, l/4)
			for i := range w {
				w[i] = cmplx.Rect(1, -2*math.Pi*float64(i)/float64(l))
			}
			return w
		})
	}
	return all
}()

// locate notes which bins transform leaves in order of place: first, first+step
// … of len(at) points. The mirror image counts down.
func locate(bins []int32, first, step int32) {
	n := len(bins)
	if n <= 2 {
		for i := range bins {
			bins[i] = first + int32(i)*step
		}
		return
	}
	locate(bins[:n/2], first, 2*step)
	locate(bins[n/2:][:n/4], first+step, 4*step)
	locate(bins[n/2+n/4:], first-step, -4*step)
}

func (s splitRadix) Pair(packed, A, B []complex128) {
	s.transform(packed[:s.n], false)
	A[0], B[0] = unpack(packed[0], packed[0])
	A[s.n/2], B[s.n/2] = unpack(packed[1], packed[1])
	for i, place := range s.places[1:] {
		A[i+1], B[i+1] = unpack(packed[place], packed[mirror(place)])
	}
}

func (s splitRadix) Powers(packed []complex128, fill func(from, to int), A, B []float64) {
	const strip = 128 // of each quarter: few enough to be in the cache when they are split
	m := s.n / 4
	for from := 0; from < m; from += strip {
		to := min(from+strip, m)
		for quarter := 0; quarter < s.n; quarter += m {
			fill(quarter+from, quarter+to)
		}
		s.split(packed[:s.n], from, to)
	}
	if m == 0 {
		fill(0, s.n)
	}
	s.powers(packed[:s.n], A, B)
	for i, at := range []int{0, s.n / 2} {
		A[at] += square(complex(real(packed[i]), 0))
		B[at] += square(complex(imag(packed[i]), 0))
	}
}

// split makes the first pass over x from one place of its quarters to another.
func (p *plan) split(x []complex128, from, to int) {
	m := len(x) / 4
	w := p.factors[bits.Len(uint(len(x)))-1]
	vector.Split(x[from:to], x[m+from:m+to], x[2*m+from:2*m+to], x[3*m+from:3*m+to], false, w[from:to])
}

// powers transforms what has been split, and adds up powers of all but its first two bins,
// those of each quarter as soon as they are there: then they still are in the cache.
func (p *plan) powers(x []complex128, A, B []float64) {
	m := len(x) / 4
	if m == 0 {
		p.transform(x, false)
		return
	}
	half, up, down := x[:2*m], x[2*m:3*m], x[3*m:]
	p.split(half, 0, m/2)
	p.powers(half, A, B)
	p.transform(up, false)
	p.transform(down, true)
	vector.AddPowers(A[m:], B[m:], up, down)
}

func (s splitRadix) InOrder(sums []float64) []float64 {
	ordered := make([]float64, len(sums))
	ordered[0], ordered[s.n/2] = sums[0], sums[s.n/2]
	for i, place := range s.places[1:] {
		other := mirror(place)
		ordered[i+1] = sums[min(place, other)-(place^other)] // see Powers
	}
	return ordered
}

// transform leaves the bins of x in x, out of order; mirrored, it leaves bin −j
// where bin j would be.
func (p *plan) transform(x []complex128, mirrored bool) {
	switch n := len(x); n {
	case 1:
	case 2:
		x[0], x[1] = x[0]+x[1], x[0]-x[1]
	case 4:
		vector.Transform4(x, mirrored)
	case 8:
		vector.Transform8(x, p.factors[3], mirrored)
	case 16:
		vector.Transform16(x, p.factors[4], p.factors[3], mirrored)
	default:
		m := n / 4
		vector.Split(x[:m], x[m:2*m], x[2*m:3*m], x[3*m:], mirrored, p.factors[bits.Len(uint(n))-1])
		p.transform(x[:2*m], mirrored)
		p.transform(x[2*m:3*m], mirrored)
		p.transform(x[3*m:], !mirrored)
	}
}
