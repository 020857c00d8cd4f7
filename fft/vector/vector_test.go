package vector

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"humdiff/fixtures/kit"
)

// Every loop is run with and without vector instructions, on lengths around
// their strides, and has to give the same bits: neither is the other's
// approximation.
func TestSameBits(t *testing.T) {
	if !hasWide() {
		t.Skip("this processor has no AVX2 and FMA, or they aren't used")
	}
	for n := range 70 {
		for name, loop := range loops {
			plain, fast := loop(rand.New(rand.NewPCG(1, uint64(n))), n, false), loop(rand.New(rand.NewPCG(1, uint64(n))), n, true)
			if len(plain) != len(fast) {
				t.Fatalf("%s of %d: %d and %d results", name, n, len(plain), len(fast))
			}
			for i := range plain {
				if math.Float64bits(plain[i]) != math.Float64bits(fast[i]) {
					t.Fatalf("%s of %d: result %d is %x, in vectors %x", name, n, i, plain[i], fast[i])
				}
			}
		}
	}
}

// loops run one loop over n elements and return all they have left anywhere.
var loops = map[string]func(r *rand.Rand, n int, vectors bool) []float64{
	"Split":          func(r *rand.Rand, n int, vectors bool) []float64 { return splitAll(r, n, false, vectors) },
	"Split, swapped": func(r *rand.Rand, n int, vectors bool) []float64 { return splitAll(r, n, true, vectors) },
	"Transform16": func(r *rand.Rand, n int, vectors bool) []float64 {
		x, w16, w8 := complexes(r, 17), complexes(r, 4), complexes(r, 2)
		with(vectors, func() { Transform16(x, w16, w8, n%2 == 1) })
		return all(Floats(x))
	},
	"Transform8": func(r *rand.Rand, n int, vectors bool) []float64 {
		x, w8 := complexes(r, 9), complexes(r, 2)
		with(vectors, func() { Transform8(x, w8, n%2 == 1) })
		return all(Floats(x))
	},
	"SplitWindowed": func(r *rand.Rand, n int, vectors bool) []float64 {
		out, w, c := complexes(r, 4*n+1), complexes(r, n), [5]float64(floats(r, 5))
		at := [4][]complex128{out, out[n:], out[2*n:], out[3*n:]}
		x, y := floats(r, 4*n), floats(r, 4*n)
		quarters := func(x []float64) [4][]float64 { return [4][]float64{x[n:], x[3*n:], x, x[2*n:]} }
		with(vectors, func() { SplitWindowed(at, quarters(x), quarters(y), w, &c) })
		return all(Floats(out), x, y)
	},
	"AddPowers": func(r *rand.Rand, n int, vectors bool) []float64 {
		A, B, p, q := floats(r, n+1), floats(r, n+1), complexes(r, n), complexes(r, n)
		with(vectors, func() { AddPowers(A, B, p, q) })
		return all(A, B, Floats(p), Floats(q))
	},
	"AddPowers, all into one": func(r *rand.Rand, n int, vectors bool) []float64 {
		A, p, q := floats(r, n+1), complexes(r, n), complexes(r, n)
		with(vectors, func() { AddPowers(A, A, p, q) })
		return A
	},
	"AddSquares": func(r *rand.Rand, n int, vectors bool) []float64 {
		sum, z := floats(r, n+1), complexes(r, n)
		with(vectors, func() { AddSquares(sum, z) })
		return all(sum, Floats(z))
	},
	"Look": func(r *rand.Rand, n int, vectors bool) []float64 {
		x := floats(r, n+3)
		var l Looked
		with(vectors, func() { l = Look(x) })
		return all(x, []float64{l.Sum, l.Lowest, l.Most, float64(l.Digits), l.Bend, l.Sharpest})
	},
	"Fold":         func(r *rand.Rand, n int, vectors bool) []float64 { return foldAll(r, n, 1, vectors) },
	"Fold by twos": func(r *rand.Rand, n int, vectors bool) []float64 { return foldAll(r, n, 2, vectors) },
}

func splitAll(r *rand.Rand, n int, swap, vectors bool) []float64 {
	x, w := complexes(r, 4*n+1), complexes(r, n)
	with(vectors, func() { Split(x[:n], x[n:], x[2*n:], x[3*n:], swap, w) })
	return all(Floats(x), Floats(w))
}

func foldAll(r *rand.Rand, n, step int, vectors bool) []float64 {
	taps := floats(r, 6)
	out, middle, x := floats(r, n+1), floats(r, n), floats(r, n+5*step+3+5*step)
	with(vectors, func() { Fold(out[:n], middle, 0.7, x, 5*step, 5*step+3, step, taps) })
	return all(out, middle, x, taps)
}

// with runs do with or without vector instructions.
func with(vectors bool, do func()) {
	defer setWide(setWide(vectors))
	do()
}

func floats(r *rand.Rand, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	return x
}

func complexes(r *rand.Rand, n int) []complex128 {
	z := make([]complex128, n)
	for i := range z {
		z[i] = complex(r.NormFloat64(), r.NormFloat64())
	}
	return z
}

func all(x ...[]float64) []float64 { return slices.Concat(x...) }

// Split by its definition, in complex arithmetic.
func TestSplit(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for _, n := range []int{1, 2, 3, 8} {
		for _, swap := range []bool{false, true} {
			x, w := complexes(r, 4*n), complexes(r, n)
			was := slices.Clone(x)
			Split(x[:n], x[n:], x[2*n:], x[3*n:], swap, w)
			for i := range n {
				a, b, c, d := was[i], was[n+i], was[2*n+i], was[3*n+i]
				up, down := w[i]*((a-c)-1i*(b-d)), complex(real(w[i]), -imag(w[i]))*((a-c)+1i*(b-d))
				if swap {
					up, down = down, up
				}
				for k, want := range []complex128{a + c, b + d, up, down} {
					near(t, x[k*n+i], want)
				}
			}
		}
	}
}

func near(t *testing.T, got, want complex128) {
	t.Helper()
	if d := got - want; math.Hypot(real(d), imag(d)) > 1e-14 {
		t.Errorf("%v, want %v", got, want)
	}
}

// The window by its definition at all four quarters, in a pass over 28 points.
func TestSplitWindowed(t *testing.T) {
	const m = 7
	r, c := rand.New(rand.NewPCG(2, 2)), [5]float64{1, 1.9, 1.3, 0.4, 0.03}
	x, y, out, w := floats(r, 4*m), floats(r, 4*m), make([]complex128, 4*m), make([]complex128, m)
	z := make([]complex128, 4*m)
	for i := range z {
		angle, sum := 2*math.Pi*float64(i)/(4*m), 0.0
		for k, a := range c {
			sum += a * math.Cos(float64(k)*(angle+math.Pi)) // which alternates their signs
		}
		z[i] = complex(sum*x[i], sum*y[i])
		if i < m {
			w[i] = complex(math.Cos(angle), -math.Sin(angle))
		}
	}
	quarters := func(x []float64) [4][]float64 { return [4][]float64{x, x[m:], x[2*m:], x[3*m:]} }
	SplitWindowed([4][]complex128{out, out[m:], out[2*m:], out[3*m:]}, quarters(x), quarters(y), w, &c)
	Split(z, z[m:], z[2*m:], z[3*m:], false, w)
	for i := range z {
		near(t, out[i], z[i])
	}
}

// Two sequences' bins a and b are packed as p = a + ib and, at the mirrored
// bin, q = a* + ib*.
func TestAddPowers(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	a, b := complexes(r, 9), complexes(r, 9)
	p, q, A, B := make([]complex128, 9), make([]complex128, 9), make([]float64, 9), make([]float64, 9)
	for i := range a {
		p[i] = a[i] + 1i*b[i]
		q[i] = complex(real(a[i]), -imag(a[i])) + 1i*complex(real(b[i]), -imag(b[i]))
		A[i], B[i] = 1, 2
	}
	AddPowers(A, B, p, q)
	for i := range a {
		near(t, complex(A[i], B[i]), complex(1+real(a[i])*real(a[i])+imag(a[i])*imag(a[i]), 2+real(b[i])*real(b[i])+imag(b[i])*imag(b[i])))
	}
}

func TestAddSquares(t *testing.T) {
	sum := []float64{1, 1, 1, 1, 1}
	AddSquares(sum, []complex128{3 + 4i, 1, 2i, 0, -1 - 1i})
	if want := []float64{26, 2, 5, 1, 3}; !slices.Equal(sum, want) {
		t.Errorf("%v, want %v", sum, want)
	}
}

// A filter of five taps by hand: out[k] = k/2 + 1·(x[k+1]+x[k+2]) + 10·(x[k]+x[k+3]).
func TestFold(t *testing.T) {
	x := make([]float64, 43)
	for i := range x {
		x[i] = float64(i * i)
	}
	out, middle := make([]float64, 40), make([]float64, 40)
	for k := range middle {
		middle[k] = float64(k)
	}
	Fold(out, middle, 0.5, x, 1, 2, 1, []float64{1, 10})
	for k := range out {
		if want := float64(k)/2 + x[k+1] + x[k+2] + 10*(x[k]+x[k+3]); out[k] != want {
			t.Errorf("%d: %g, want %g", k, out[k], want)
		}
	}
}

// Look by its definition, on numbers that make all sums exact.
func TestLook(t *testing.T) {
	x := []float64{5, 7, -0.25, 0.5, 0, -1, 0.75, 0.75, 3}
	// Rises from the third on: −7.25, 0.75, −0.5, −1, 1.75, 0, 2.25, after 2.
	bend := 9.25*9.25 + 8*8 + 1.25*1.25 + 0.5*0.5 + 2.75*2.75 + 1.75*1.75 + 2.25*2.25
	want := Looked{Sum: 3.75, Lowest: -1, Most: 3, Digits: 1<<51 - 1<<38, Bend: bend, Sharpest: 9.25 * 9.25}
	for _, vectors := range []bool{false, true} {
		with(vectors, func() {
			if got := Look(x); got != want {
				t.Errorf("%+v\n want %+v", got, want)
			}
		})
	}
}

// Digits are those of the whole number of 2⁻⁴⁰ towards zero, in 51 bits.
func TestLookDigits(t *testing.T) {
	for _, v := range []float64{0, 1, -1, 0x1p-23, -0x1p-23, 3 * 0x1p-40, -3.7 * 0x1p-40, 0x1p-41, -0x1p-41, math.Pi, -2047.9999} {
		want := int64(math.Trunc(v*0x1p40)) & (1<<51 - 1)
		for _, vectors := range []bool{false, true} {
			with(vectors, func() {
				kit.Same(t, Look([]float64{0, 0, v, 0, 0, 0, 0, 0, 0}).Digits, want, "%g: digits", v)
			})
		}
	}
}

// What would reach beyond a slice panics in Go, before the loop.
func TestTooShort(t *testing.T) {
	x := make([]float64, 100)
	z := make([]complex128, 100)
	for name, call := range map[string]func(){
		"Split": func() { Split(z, z, z, z[:30:30], false, z[:40]) },
		"SplitWindowed": func() {
			SplitWindowed([4][]complex128{z, z, z, z}, [4][]float64{x, x, x[:30:30], x}, [4][]float64{x, x, x, x}, z[:40], new([5]float64))
		},
		"AddPowers":        func() { AddPowers(x, x[:30:30], z[:40], z) },
		"AddSquares":       func() { AddSquares(x[:30:30], z[:40]) },
		"Fold, left":       func() { Fold(x[:40], x, 1, x, 2, 3, 1, x[:4]) },
		"Fold, right":      func() { Fold(x[:40], x, 1, x[:46:46], 3, 4, 1, x[:4]) },
		"Look":             func() { Look(x[:2:2]) },
		"Fold, odd number": func() { Fold(x[:40], x, 1, x, 3, 4, 1, x[:3]) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			call()
		}()
	}
}
