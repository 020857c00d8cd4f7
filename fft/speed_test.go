package fft

import (
	"fmt"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"humdiff/fixtures/kit"
)

// Two real sequences, by either engine, and by gonum one after the other.
func BenchmarkTransform(b *testing.B) {
	for _, n := range []int{1 << 14, 1 << 16, 1 << 17, 1 << 18} {
		x, y := whiteNoise(1, n), whiteNoise(2, n)
		A, B := make([]complex128, n/2+1), make([]complex128, n/2+1)
		for name, engine := range engines {
			e := engine(n)
			b.Run(fmt.Sprintf("%s/%d", name, n), func(b *testing.B) {
				kit.PerSample(b, 2*n, func() {
					e.load(half{0, x, 0}, half{1, y, 0}, Nuttall)
					e.pair(A, B)
				})
			})
		}
		f := fourier.NewFFT(n)
		b.Run(fmt.Sprintf("gonum/%d", n), func(b *testing.B) {
			kit.PerSample(b, 2*n, func() {
				f.Coefficients(A, x)
				f.Coefficients(B, y)
			})
		})
	}
}

// Two blocks windowed, and the transform's first pass.
func BenchmarkWindow(b *testing.B) {
	const n = 1 << 17
	x, y, e := whiteNoise(1, n), whiteNoise(2, n), NewEngine(n)
	kit.PerSample(b, 2*n, func() { e.load(half{0, x, n / 3}, half{1, y, n / 2}, Nuttall) })
}

// A second of 96 kHz brought down to 12 kHz, as for lines up to 5 kHz.
func BenchmarkDecimate(b *testing.B) {
	const n = 96000
	x, d := whiteNoise(1, n), NewDecimator(n, 5140, 3)
	kit.PerSample(b, n, func() {
		for at := 0; at < n; at += 8000 {
			d.Push(x[at : at+8000])
		}
	})
}

// Two channels averaged over their whole band, windowing and transforms
// included: half overlapping, each sample passes two transforms.
func BenchmarkSpectrum(b *testing.B) {
	const n, blocks = 1 << 17, 6
	x := [][]float64{whiteNoise(1, blocks*n), whiteNoise(2, blocks*n)}
	kit.PerSample(b, 2*blocks*n, func() {
		averages := []*Welch{NewWelch(96000, n, n/2, Nuttall), NewWelch(96000, n, n/2, Nuttall)}
		wide := NewBlocksInto(averages, NewEngine)
		wide.Push(x)
		wide.Flush()
	})
}
