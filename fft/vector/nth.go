package vector

// Nth is the value that sorting would leave in x[n]. It reorders x: what comes
// before place n is no larger, what comes after it no smaller (C. A. R. Hoare's
// FIND, 1961, with N. Lomuto's partition, which needs no branch: no processor guesses
// how two values compare). Values that are no numbers leave it undefined.
func Nth(x []float64, n int) float64 {
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
