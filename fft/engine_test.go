package fft

import (
	"fmt"
	"math"
	"math/bits"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
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

// engines are what measures and what it is compared with.
var engines = map[string]func(n int) Engine{"split radix": NewEngine, "go-dsp": NewReferenceEngine}

func pair(e Engine, a, b []float64) (A, B []complex128) {
	n := len(a)
	A, B = make([]complex128, n/2+1), make([]complex128, n/2+1)
	e.load(half{0, a, 0}, half{1, b, 0}, Window{Coeff: []float64{1}})
	e.pair(A, B)
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
	for name, engine := range engines {
		for n := 4; n <= 512; n *= 2 {
			a, b := whiteNoise(1, n), whiteNoise(2, n)
			A, B := pair(engine(n), a, b)
			tol := roundOff(n, a, b) + 1e-16*float64(n)
			compareBins(t, fmt.Sprintf("%s: A of %d", name, n), A, direct(a), tol)
			compareBins(t, fmt.Sprintf("%s: B of %d", name, n), B, direct(b), tol)
		}
	}
}

func TestPairAgainstGonum(t *testing.T) {
	for name, engine := range engines {
		for n := 4; n <= 1<<18; n *= 2 {
			a, b := whiteNoise(3, n), whiteNoise(4, n)
			A, B := pair(engine(n), a, b)
			f := fourier.NewFFT(n)
			compareBins(t, fmt.Sprintf("%s: A of %d", name, n), A, f.Coefficients(nil, a), roundOff(n, a, b))
			compareBins(t, fmt.Sprintf("%s: B of %d", name, n), B, f.Coefficients(nil, b), roundOff(n, a, b))
		}
	}
}

// Rounding in all bins together grows as the root of the number of stages, as
// it adds up at random: 0.6 to 1.0 times 2⁻⁵³·√log₂n of the sequences' rms was
// measured, the rounding of the samples included. Of cosine and sine at a bin
// all bins are known: n/2, −i·n/2, and zero.
func TestRoundingOfAll(t *testing.T) {
	for name, engine := range engines {
		for n := 16; n <= 1<<18; n *= 4 {
			a, b, k := make([]float64, n), make([]float64, n), 3*n/16+1
			for i := range a {
				b[i], a[i] = math.Sincos(2 * math.Pi * float64(i*k%n) / float64(n))
			}
			A, B := pair(engine(n), a, b)
			A[k] -= complex(float64(n)/2, 0)
			B[k] -= complex(0, -float64(n)/2)
			sum := 0.0
			for j := range A {
				sum += real(A[j])*real(A[j]) + imag(A[j])*imag(A[j]) + real(B[j])*real(B[j]) + imag(B[j])*imag(B[j])
			}
			relative := math.Sqrt(sum) / (float64(n) / math.Sqrt2)
			if tol := 1.2 * 0x1p-53 * math.Sqrt(math.Log2(float64(n))); !(relative < tol) {
				t.Errorf("%s of %d: %.3g, may be %.3g", name, n, relative, tol)
			}
		}
	}
}

// A silent channel beside a loud one stays silent to the last digits of the
// loud one: −300 dB.
func TestPairKeepsChannelsApart(t *testing.T) {
	const n = 1 << 16
	loud, silent := whiteNoise(5, n), make([]float64, n)
	A, B := pair(NewEngine(n), loud, silent)
	top := 0.0
	for _, x := range A {
		top = max(top, cmplx.Abs(x))
	}
	for j, x := range B {
		if cmplx.Abs(x) > 1e-15*top {
			t.Fatalf("bin %d of the silent channel holds %.3g of the loud one's peak", j, cmplx.Abs(x)/top)
		}
	}
	_, B2 := pair(NewEngine(n), silent, loud)
	compareBins(t, "the loud one second", B2, A, roundOff(n, loud, silent))
}

func TestEngineRefusesOtherLengths(t *testing.T) {
	for _, n := range []int{-8, 0, 1, 2, 3, 6, 100, 1<<16 - 1} {
		func() {
			defer func() {
				want := fmt.Sprintf("fft: block of %d samples: not a power of two from 4 on", n)
				if got := recover(); got != want {
					t.Errorf("n = %d: %v, want %s", n, got, want)
				}
			}()
			NewEngine(n)
		}()
	}
}
