package fft

import (
	"math"
	"testing"
)

// The squared window's samples are squares, and its bandwidth and response are
// those of a direct sum over them.
func TestSquared(t *testing.T) {
	const n = 512
	for _, w := range Windows {
		s, samples := w.Squared().Samples(n), w.Samples(n)
		sum, energy := 0.0, 0.0
		for i, v := range samples {
			if math.Abs(s[i]-v*v) > 1e-12 {
				t.Fatalf("%s: sample %d is %g, want %g", w.Name, i, s[i], v*v)
			}
			sum, energy = sum+v*v, energy+v*v*v*v
		}
		if got, want := w.Squared().ENBW(), n*energy/(sum*sum); math.Abs(got/want-1) > 1e-12 {
			t.Errorf("%s: ENBW %g, want %g", w.Name, got, want)
		}
		for _, d := range []float64{0.5, 3, 3.7, 4.2, 6} {
			re := 0.0
			for i, v := range samples {
				re += v * v * math.Cos(2*math.Pi*d*(float64(i)-n/2)/n)
			}
			if got, want := w.Squared().Response(d), re/sum; math.Abs(got-want) > 1e-4 {
				t.Errorf("%s: response at %g bins %g, want %g", w.Name, d, got, want)
			}
		}
	}
}
