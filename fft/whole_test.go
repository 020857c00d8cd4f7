package fft

import (
	"math"
	"testing"

	"humdiff/fixtures/kit"
)

func TestWhole(t *testing.T) {
	for _, c := range []struct {
		x    float64
		want int
	}{
		{2.9, 2}, {0, 0}, {-0.5, 0}, {-3, -2}, {7, 7}, {7.5, 7}, {1e300, 7},
		{math.NaN(), -2}, {math.Inf(1), 7}, {math.Inf(-1), -2}, {0x1p63, 7}, {-0x1p64, -2},
	} {
		kit.Same(t, Whole(c.x, -2, 7), c.want, "%g", c.x)
	}
}
