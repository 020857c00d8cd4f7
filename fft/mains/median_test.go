package mains

import (
	"testing"

	"humdiff/fixtures/kit"
)

func TestMedian(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		want float64
	}{{nil, 0}, {[]float64{3}, 3}, {[]float64{3, 1}, 2}, {[]float64{9, 1, 4}, 4}, {[]float64{9, 1, 4, 6}, 5}, {[]float64{2, 2, 2, 2}, 2}} {
		kit.Same(t, median(c.x), c.want, "median")
	}
}
