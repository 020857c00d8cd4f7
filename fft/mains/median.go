package mains

import (
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// median of x, which it reorders; 0 of none.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	n := len(x)
	upper := nth(x, n/2)
	if n%2 == 0 {
		return (slices.Max(x[:n/2]) + upper) / 2
	}
	return upper
}

// nth is the value that sorting would leave in x[n]. It reorders x: what comes
// before place n is no larger, what comes after it no smaller (C. A. R. Hoare's
// FIND, 1961). Values that are no numbers leave it undefined.
func nth(x []float64, n int) float64 {
	for lo, hi := 0, len(x)-1; lo < hi; {
		// The middle of three makes a bad pivot rare.
		a, pivot, c := x[lo], x[lo+(hi-lo)/2], x[hi]
		pivot = max(min(a, pivot), min(max(a, pivot), c))
		i, j := lo, hi
		for i <= j {
			for x[i] < pivot {
				i++
			}
			for pivot < x[j] {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case n <= j:
			hi = j
		case n >= i:
			lo = i
		default:
			return x[n]
		}
	}
	return x[n]
}

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
