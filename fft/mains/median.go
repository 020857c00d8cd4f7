package mains

import (
	"slices"

	"gonum.org/v1/gonum/mathext"

	"humdiff/fft/lend"
)

// median of x, which it reorders; 0 of none.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	n := len(x)
	upper := nth(x, n/2)
	if n%2 == 1 {
		return upper
	}
	lower := x[0]
	for _, v := range x[1 : n/2] {
		if v > lower {
			lower = v
		}
	}
	return (lower + upper) / 2
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

// nth is the value that sorting would leave in x[n]. It reorders x: what comes
// before place n is no larger, what comes after it no smaller (C. A. R. Hoare's
// FIND, 1961, with N. Lomuto's partition, which needs no branch: no processor guesses
// how two values compare). Values that are no numbers leave it undefined.
func nth(x []float64, n int) float64 {
	for len(x) > 1 {
		last := len(x) - 1
		// The middle of three makes a bad pivot rare.
		a, pivot, c := x[0], x[last/2], x[last]
		pivot = max(min(a, pivot), min(max(a, pivot), c))
		below := 0
		for i, v := range x {
			x[i], x[below] = x[below], v
			below += one(v < pivot)
		}
		switch {
		case n < below:
			x = x[:below]
			continue
		case below > 0:
			x, n = x[below:], n-below
			continue
		}
		// The pivot is the least: those that equal it come first.
		for i, v := range x {
			x[i], x[below] = x[below], v
			below += one(v == pivot)
		}
		if n < below || below == 0 {
			return pivot
		}
		x, n = x[below:], n-below
	}
	return x[0]
}

// one is 1 of true and 0 of false.
func one(is bool) int {
	n := 0
	if is {
		n = 1
	}
	return n
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
