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
type splitRadix struct {
	*plan
	packed []complex128
}

// plan is what a transform of n points needs to know. It is read only.
type plan struct {
	n       int
	factors [][]complex128 // e^{−2πi p/l}, p < l/4, by log₂ l
	places  []int32        // of bins 0 … n/2−1 behind a transform
}

// planFor is the plan of a length.
func planFor(n int) *plan { return plans[bits.Len(uint(n))-1]() }

var plans, factors = byLog(newPlan), byLog(newFactors)

// byLog works out once, for each power of two, what is asked for.
func byLog[T any](work func(n int) T) (all [31]func() T) {
	for log := range all {
		all[log] = sync.OnceValue(func() T { return work(1 << log) })
	}
	return all
}

func newPlan(n int) *plan {
	p := &plan{n: n, places: make([]int32, n/2)}
	for log := range bits.Len(uint(n)) {
		p.factors = append(p.factors, factors[log]())
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

// newFactors are the factors of a pass over l points, the same for all plans.
func newFactors(l int) []complex128 {
	w := make([]complex128, l/4)
	for i := range w {
		w[i] = cmplx.Rect(1, -2*math.Pi*float64(i)/float64(l))
	}
	return w
}

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

// load makes the transform's first pass as it windows: so the samples pass the cache once.
func (s splitRadix) load(one, other half, w Window) {
	m, c := s.n/4, [5]float64{}
	if copy(c[:], w.Coeff) < len(w.Coeff) {
		panic("fft: a window of more than five terms")
	}
	factors := s.factors[bits.Len(uint(s.n))-1]
	for from := 0; from < m; {
		x, y := one.quarters(from, m), other.quarters(from, m)
		n := min(m-from, len(x[0]), len(y[0]))
		out := [4][]complex128{s.packed[from:], s.packed[m+from:], s.packed[2*m+from:], s.packed[3*m+from:]}
		vector.SplitWindowed(out, x, y, factors[from:from+n], &c)
		from += n
	}
}

// quarters are those of a block of 4m samples from one place of each on, as far as they
// lie in a row: to the end of one of x's.
func (h half) quarters(from, m int) (q [4][]float64) {
	place := h.first + from
	for k := range q {
		at := (place/m + k) % 4 * m
		q[k] = h.x[at+place%m : at+m]
	}
	return q
}

func (s splitRadix) pair(A, B []complex128) {
	x := s.packed
	s.goOn(x, false)
	A[0], B[0] = unpack(x[0], x[0])
	A[s.n/2], B[s.n/2] = unpack(x[1], x[1])
	for i, place := range s.places[1:] {
		A[i+1], B[i+1] = unpack(x[place], x[mirror(place)])
	}
}

func (s splitRadix) addPowers(A, B []float64) {
	s.powers(s.packed, A, B)
	for i, at := range []int{0, s.n / 2} {
		A[at] += square(complex(real(s.packed[i]), 0))
		B[at] += square(complex(imag(s.packed[i]), 0))
	}
}

// powers goes on with what has been split, and adds up powers of all but its first two
// bins, those of each quarter as soon as they are there: then they still are in the cache.
func (p *plan) powers(x []complex128, A, B []float64) {
	m := len(x) / 4
	if m == 0 {
		p.transform(x, false)
		return
	}
	p.split(x[:2*m], false)
	p.powers(x[:2*m], A, B)
	p.transform(x[2*m:3*m], false)
	p.transform(x[3*m:], true)
	vector.AddPowers(A[m:], B[m:], x[2*m:3*m], x[3*m:])
}

func (s splitRadix) release() { packs.Give(s.packed) }

func (s splitRadix) inOrder(sums []float64) []float64 {
	ordered := make([]float64, len(sums))
	ordered[0], ordered[s.n/2] = sums[0], sums[s.n/2]
	for i, place := range s.places[1:] {
		other := mirror(place)
		ordered[i+1] = sums[min(place, other)-(place^other)] // see addPowers
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
		p.split(x, mirrored)
		p.goOn(x, mirrored)
	}
}

// split makes the first pass over x.
func (p *plan) split(x []complex128, mirrored bool) {
	m := len(x) / 4
	vector.Split(x[:m], x[m:2*m], x[2*m:3*m], x[3*m:], mirrored, p.factors[bits.Len(uint(len(x)))-1])
}

// goOn transforms what has been split.
func (p *plan) goOn(x []complex128, mirrored bool) {
	m := len(x) / 4
	p.transform(x[:2*m], mirrored)
	p.transform(x[2*m:3*m], mirrored)
	p.transform(x[3*m:], !mirrored)
}
