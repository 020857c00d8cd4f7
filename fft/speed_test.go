package fft

import (
	"fmt"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

// perSample states what a benchmark cost a sample.
func perSample(b *testing.B, samples int) {
	b.ReportAllocs()
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(samples), "ns/sample")
}

// Two real sequences, by either engine, and by gonum one after the other.
func BenchmarkTransform(b *testing.B) {
	for _, n := range []int{1 << 14, 1 << 16, 1 << 17, 1 << 18} {
		x, y := whiteNoise(1, n), whiteNoise(2, n)
		from, used := packed(x, y), make([]complex128, n)
		A, B := make([]complex128, n/2+1), make([]complex128, n/2+1)
		for name, engine := range engines {
			e := engine(n)
			b.Run(fmt.Sprintf("%s/%d", name, n), func(b *testing.B) {
				for b.Loop() {
					copy(used, from)
					e.Pair(used, A, B)
				}
				perSample(b, 2*n)
			})
		}
		f := fourier.NewFFT(n)
		b.Run(fmt.Sprintf("gonum/%d", n), func(b *testing.B) {
			for b.Loop() {
				f.Coefficients(A, x)
				f.Coefficients(B, y)
			}
			perSample(b, 2*n)
		})
	}
}
