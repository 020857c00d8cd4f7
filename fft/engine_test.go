package fft

import (
	"fmt"
	"math"
	"math/bits"
	"math/cmplx"
	"slices"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"pgregory.net/rapid"
)

// A transform of n samples by a fast method rounds to a few units in the last
// place per stage, relative to the root of the power: |error| is below
// 2⁻⁵²·log₂n·‖x‖₂ in every bin, with ‖·‖ over both sequences, as they share a
// transform.
func roundOff(n int, a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i]*a[i] + b[i]*b[i]
	}
	return 0x1p-52 * float64(bits.Len(uint(n))) * math.Sqrt(sum)
}

func pair(n int, a, b []float64) (A, B []complex128) {
	A, B = make([]complex128, n/2+1), make([]complex128, n/2+1)
	NewEngine(n).Pair(a, b, A, B)
	return A, B
}

func compareBins(t *testing.T, what string, got, want []complex128, tol float64) {
	t.Helper()
	for j := range want {
		if d := cmplx.Abs(got[j] - want[j]); !(d <= tol) {
			t.Fatalf("%s: bin %d is %v, want %v: %.3g apart, may be %.3g", what, j, got[j], want[j], d, tol)
		}
	}
}

// direct sums X[j] = Σ x[n] e^{−2πi jn/N}, the angle reduced in whole numbers.
func direct(x []float64) []complex128 {
	n := len(x)
	bins := make([]complex128, n/2+1)
	for j := range bins {
		for i, v := range x {
			bins[j] += complex(v, 0) * cmplx.Rect(1, -2*math.Pi*float64(i*j%n)/float64(n))
		}
	}
	return bins
}

func TestPairAgainstDirectSum(t *testing.T) {
	for n := 2; n <= 512; n *= 2 {
		a, b := whiteNoise(1, n), whiteNoise(2, n)
		keptA, keptB := slices.Clone(a), slices.Clone(b)
		A, B := pair(n, a, b)
		tol := roundOff(n, a, b)
		compareBins(t, fmt.Sprintf("A of %d", n), A, direct(a), tol+1e-16*float64(n))
		compareBins(t, fmt.Sprintf("B of %d", n), B, direct(b), tol+1e-16*float64(n))
		if !slices.Equal(a, keptA) || !slices.Equal(b, keptB) {
			t.Errorf("a transform of %d changed its input", n)
		}
	}
}

func TestPairAgainstGonum(t *testing.T) {
	for n := 2; n <= 1<<17; n *= 2 {
		a, b := whiteNoise(3, n), whiteNoise(4, n)
		A, B := pair(n, a, b)
		f := fourier.NewFFT(n)
		compareBins(t, fmt.Sprintf("A of %d", n), A, f.Coefficients(nil, a), roundOff(n, a, b))
		compareBins(t, fmt.Sprintf("B of %d", n), B, f.Coefficients(nil, b), roundOff(n, a, b))
	}
}

// Any two sequences: agreement with gonum, Parseval's theorem, real ends.
func TestPairOfAnySequences(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := 1 << rapid.IntRange(1, 8).Draw(t, "log2 n")
		value := rapid.Float64Range(-1e6, 1e6)
		a := rapid.SliceOfN(value, n, n).Draw(t, "a")
		b := rapid.SliceOfN(value, n, n).Draw(t, "b")
		A, B := pair(n, a, b)
		tol := roundOff(n, a, b)
		for _, c := range []struct {
			x    []float64
			bins []complex128
		}{{a, A}, {b, B}} {
			for j, want := range fourier.NewFFT(n).Coefficients(nil, c.x) {
				if d := cmplx.Abs(c.bins[j] - want); d > tol {
					t.Fatalf("bin %d is %v, want %v", j, c.bins[j], want)
				}
			}
			energy, power := 0.0, 0.0
			for _, v := range c.x {
				energy += v * v
			}
			for j, x := range c.bins {
				p := real(x)*real(x) + imag(x)*imag(x)
				if j > 0 && j < n/2 {
					p *= 2 // the bin above half the rate
				}
				power += p / float64(n)
			}
			if d := math.Abs(power - energy); d > 2*tol*math.Sqrt(energy)+tol*tol {
				t.Fatalf("power %g, energy %g", power, energy)
			}
			if imag(c.bins[0]) != 0 || imag(c.bins[n/2]) != 0 {
				t.Fatalf("ends %v, %v are not real", c.bins[0], c.bins[n/2])
			}
		}
	})
}

// A silent channel beside a loud one stays silent to the last digits of the
// loud one: −300 dB.
func TestPairKeepsChannelsApart(t *testing.T) {
	const n = 1 << 16
	loud, silent := whiteNoise(5, n), make([]float64, n)
	A, B := pair(n, loud, silent)
	top := 0.0
	for _, x := range A {
		top = max(top, cmplx.Abs(x))
	}
	for j, x := range B {
		if cmplx.Abs(x) > 1e-15*top {
			t.Fatalf("bin %d of the silent channel holds %.3g of the loud one's peak", j, cmplx.Abs(x)/top)
		}
	}
	_, B2 := pair(n, silent, loud)
	compareBins(t, "the loud one second", B2, A, roundOff(n, loud, silent))
}

func TestEngineRefusesOtherLengths(t *testing.T) {
	for _, n := range []int{-8, 0, 1, 3, 6, 100, 1<<16 - 1} {
		func() {
			defer func() {
				want := fmt.Sprintf("fft: block of %d samples: not a power of two", n)
				if got := recover(); got != want {
					t.Errorf("n = %d: %v, want %s", n, got, want)
				}
			}()
			NewEngine(n)
		}()
	}
}

func BenchmarkPair(b *testing.B) {
	const n = 1 << 16
	x, y := whiteNoise(1, n), whiteNoise(2, n)
	A, B, e := make([]complex128, n/2+1), make([]complex128, n/2+1), NewEngine(n)
	b.SetBytes(2 * 8 * n)
	for b.Loop() {
		e.Pair(x, y, A, B)
	}
}
