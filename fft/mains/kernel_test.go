package mains

import (
	"math"
	"math/rand/v2"
	"testing"

	"humdiff/fft"
	"humdiff/fixtures/kit"
)

// The table's weights are those of the window's transform, to 1e-11 of the
// largest: a cubic in steps of h is off by at most 3/128·h⁴ times the fourth
// derivative, and that of a bandlimited function of height 1 is at most π⁴.
func TestKernelTable(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for _, w := range fft.Windows {
		l := kit.Must(newLayout(48000, 48000*20, Options{Window: w, UpTo: 5000}))(t)
		k := newKernel(l)
		for i := range 2000 {
			offset := r.Float64()
			switch i {
			case 0:
				offset = 0
			case 1:
				offset = 0.5
			case 2:
				offset = 1
			}
			middle := 0.25
			if offset >= 0.5 {
				middle = 0.75
			}
			got, want := k.weights(nil, offset), k.normal(offset, middle)
			for j := range want {
				if d := math.Abs(got[j]-want[j]) / k.whole[k.reach()]; !(d < 1e-11) {
					t.Fatalf("%s, %g bins above: weight %d is %g, want %g", w.Name, offset, j, got[j], want[j])
				}
			}
		}
	}
}
