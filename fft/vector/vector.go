// Package vector holds the few loops that a measurement spends its time in,
// in vector instructions where the processor has them (AVX2 and FMA on amd64) and in
// plain Go elsewhere. Both do the same operations in the same order, and fuse the same
// products: their results are equal to the last bit, so what is measured doesn't depend
// on the machine's instructions. Slices that are too short panic.
package vector

import (
	"math"
	"unsafe"
)

// Split is the butterfly of a split-radix transform of n points (Duhamel &
// Hollmann 1984; conjugate pairs: Kamar & Elcherif 1989): with a, b, c, d the
// point's quarters and w[i] = e^{−2πi i/n}, it leaves a+c in a, b+d in b,
// w·((a−c) − i(b−d)) in up and w*·((a−c) + i(b−d)) in down, where up and down
// are c and d or d and c. All have the length of w.
func Split(a, b, c, d []complex128, swap bool, w []complex128) {
	n := len(w)
	a, b, c, d = a[:n], b[:n], c[:n], d[:n]
	up, down := c, d
	if swap {
		up, down = d, c
	}
	i := 0
	if wide && n >= 2 {
		i = n &^ 1
		splitWide(&a[0], &b[0], &c[0], &d[0], &up[0], &down[0], &w[0], i)
	}
	for ; i < n; i++ {
		a[i], b[i], up[i], down[i] = split(a[i], b[i], c[i], d[i], w[i])
	}
}

func split(a, b, c, d, w complex128) (even, odd, up, down complex128) {
	e, f := a-c, b-d
	u := complex(real(e)+imag(f), imag(e)-real(f))
	v := complex(real(e)-imag(f), imag(e)+real(f))
	return a + c, b + d, times(u, real(w), imag(w)), times(v, real(w), -imag(w))
}

// times is z·(re + i·im).
func times(z complex128, re, im float64) complex128 {
	return complex(math.FMA(real(z), re, -float64(imag(z)*im)), math.FMA(imag(z), re, float64(real(z)*im)))
}

// SplitWindowed windows two sequences, takes one for real and the other for imaginary
// parts, and makes Split's pass over them. out, x and y are the quarters of what comes out
// and of the sequences, from one place of each on as long as w, Split's factors there. The
// window is the cosine sum c[0] − c[1]·cos θ + c[2]·cos 2θ …: its cosines at all quarters
// are those of the factors' angles.
func SplitWindowed(out [4][]complex128, x, y [4][]float64, w []complex128, c *[5]float64) {
	n := len(w)
	q := quarters{c: c}
	for k := range out {
		out[k], x[k], y[k] = out[k][:n], x[k][:n], y[k][:n]
		q.out[k], q.x[k], q.y[k] = unsafe.SliceData(out[k]), unsafe.SliceData(x[k]), unsafe.SliceData(y[k])
	}
	i := 0
	if wide && n >= 4 {
		i = n &^ 3
		q.w, q.n = &w[0], i
		splitWindowedWide(&q)
	}
	for ; i < n; i++ {
		var z [4]complex128
		for k, v := range windowAt(w[i], c) {
			z[k] = complex(x[k][i]*v, y[k][i]*v)
		}
		out[0][i], out[1][i], out[2][i], out[3][i] = split(z[0], z[1], z[2], z[3], w[i])
	}
}

// quarters are where SplitWindowed finds them.
type quarters struct {
	out  [4]*complex128
	x, y [4]*float64
	w    *complex128
	c    *[5]float64
	n    int
}

// windowAt is the window at the four places that factor w belongs to.
func windowAt(w complex128, c *[5]float64) [4]float64 {
	c1, s1 := real(w), imag(w)
	c2, half := float64(c1*c1)-float64(s1*s1), c1*s1
	s2 := half + half
	c3, s3 := float64(c1*c2)-float64(s1*s2), float64(s1*c2)+float64(c1*s2)
	c4 := float64(c2*c2) - float64(s2*s2)
	same, turned := c[0]+float64(c[4]*c4), float64(c[2]*c2)
	even, odd := float64(c[1]*c1)+float64(c[3]*c3), float64(c[1]*s1)-float64(c[3]*s3)
	return [4]float64{(same + turned) - even, (same - turned) - odd, (same + turned) + even, (same - turned) + odd}
}

// AddPowers adds the powers of bins of two real sequences A and B, whose packed
// transform has p at bins +j and q at bins −j: |p + q*|²/4 to A, |p − q*|²/4 to
// B. All have the length of p; A and B may be one.
func AddPowers(A, B []float64, p, q []complex128) {
	n := len(p)
	A, B, q = A[:n], B[:n], q[:n]
	i := 0
	if wide && n >= 4 {
		i = n &^ 3
		addPowersWide(&A[0], &B[0], &p[0], &q[0], i)
	}
	for ; i < n; i++ {
		t, r := p[i]+q[i], p[i]-q[i]
		A[i] += float64(0.25 * square(real(t), imag(r)))
		B[i] += float64(0.25 * square(real(r), imag(t)))
	}
}

// AddSquares adds |z[i]|² to sum[i]. sum has the length of z.
func AddSquares(sum []float64, z []complex128) {
	n := len(z)
	sum = sum[:n]
	i := 0
	if wide && n >= 4 {
		i = n &^ 3
		addSquaresWide(&sum[0], &z[0], i)
	}
	for ; i < n; i++ {
		sum[i] += square(real(z[i]), imag(z[i]))
	}
}

// square is x² + y².
func square(x, y float64) float64 { return float64(x*x) + float64(y*y) }

// Fold filters symmetrically: out[k] is weight·middle[k] and the sum over i of
// taps[i]·(x[left−i·step+k] + x[right+i·step+k]). Taps are taken by twos, so
// their number is even. middle has the length of out, and is something else.
func Fold(out, middle []float64, weight float64, x []float64, left, right, step int, taps []float64) {
	n, most := len(out), (len(taps)-1)*step
	if n == 0 {
		return
	}
	if len(taps) == 0 || len(taps)%2 == 1 {
		panic("vector: an odd number of taps, or none")
	}
	middle = middle[:n]
	_, _ = x[left-most], x[left+n-1]
	_, _ = x[right], x[right+most+n-1]
	if wide && n >= 16 {
		foldWide(&out[0], &middle[0], weight, &x[left], &x[right], &taps[0], step, len(taps), n&^15)
		if k := n - 16; n%16 > 0 { // the last ones, some of them again
			foldWide(&out[k], &middle[k], weight, &x[left+k], &x[right+k], &taps[0], step, len(taps), 16)
		}
		return
	}
	for i, m := range middle {
		out[i] = weight * m
	}
	for i := 0; i < len(taps); i += 2 {
		l, r := left-i*step, right+i*step
		addPairs(out, x[l-step:], x[l:], x[r:], x[r+step:], taps[i], taps[i+1])
	}
}

// addPairs adds two pairs of taps to every output, the inner one's samples at
// l0 and r0, the outer one's at l1 and r1.
func addPairs(out, l1, l0, r0, r1 []float64, inner, outer float64) {
	n := len(out)
	l1, l0, r0, r1 = l1[:n], l0[:n], r0[:n], r1[:n]
	for k := range out {
		out[k] = math.FMA(outer, l1[k]+r1[k], math.FMA(inner, l0[k]+r0[k], out[k]))
	}
}

// Floats are complex numbers' real and imaginary parts in turn, in place.
func Floats(z []complex128) []float64 {
	return unsafe.Slice((*float64)(unsafe.Pointer(unsafe.SliceData(z))), 2*len(z))
}
