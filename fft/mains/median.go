package mains

import (
	"slices"

	"gonum.org/v1/gonum/mathext"

	"humdiff/fft/lend"
	"humdiff/fft/vector"
)

// median of x, which it reorders; 0 of none.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	n := len(x)
	upper := vector.Nth(x, n/2)
	if n%2 == 1 {
		return upper
	}
	return (slices.Max(x[:n/2]) + upper) / 2
}

// medianOf is the median of x, which stays as it is.
func medianOf(x []float64) float64 {
	y := sorting.Take(len(x))
	copy(y, x)
	m := median(y)
	sorting.Give(y)
	return m
}

// sorting is the room for it.
var sorting lend.Pool[float64]

// slidingMedian is the median of x within reach places of each.
func slidingMedian(x []float64, reach int) []float64 {
	out := make([]float64, len(x))
	var sorted []float64
	insert := func(v float64) {
		i, _ := slices.BinarySearch(sorted, v)
		sorted = slices.Insert(sorted, i, v)
	}
	for i := range min(reach, len(x)) {
		insert(x[i])
	}
	for i := range x {
		if j := i + reach; j < len(x) {
			insert(x[j])
		}
		if j := i - reach - 1; j >= 0 {
			k, _ := slices.BinarySearch(sorted, x[j])
			sorted = slices.Delete(sorted, k, k+1)
		}
		n := len(sorted)
		out[i] = (sorted[(n-1)/2] + sorted[n/2]) / 2
	}
	return out
}

// medianBias is the median over the mean of an average of k exponential
// powers: ln 2 at k = 1, rising to 1.
func medianBias(k float64) float64 {
	return mathext.GammaIncRegInv(k, 0.5) / k
}
