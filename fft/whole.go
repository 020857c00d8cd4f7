package fft

// Whole is x without its decimals, kept within lo … hi; lo where x is not a number.
// A float beyond an int's range, turned into one directly, gives another value on
// each kind of processor.
func Whole(x float64, lo, hi int) int {
	switch {
	case !(x > float64(lo)):
		return lo
	case x >= float64(hi):
		return hi
	}
	return int(x)
}
