package fft

import "humdiff/fft/vector"

// Welch averages the power of transformed blocks.
type Welch struct {
	window Window
	rate   float64
	n      int
	hop    int
	sum    []float64
	blocks int    // in sum
	out    []bool // see LeaveOut
	seen   int    // blocks, left out or not
}

// NewWelch averages blocks of n samples cut every hop samples.
func NewWelch(rate float64, n, hop int, w Window) *Welch {
	return &Welch{window: w, rate: rate, n: n, hop: hop, sum: make([]float64, n/2+1)}
}

// LeaveOut keeps blocks out of the average, by their numbers as they come. It is
// said before the first comes.
func (w *Welch) LeaveOut(blocks []bool) { w.out = blocks }

// Add takes one block's bins.
func (w *Welch) Add(bins []complex128) {
	if w.takes() {
		vector.AddSquares(w.sum, bins)
	}
}

// takes counts the next block, and says whether it belongs into the average.
func (w *Welch) takes() bool {
	w.seen++
	if w.seen <= len(w.out) && w.out[w.seen-1] {
		return false
	}
	w.blocks++
	return true
}

// Spectrum is the average of the blocks so far.
func (w *Welch) Spectrum() Spectrum {
	energy, overlaps := w.window.Taper(w.n, w.hop)
	averages, _ := Averages(overlaps, w.seen, w.out)
	s := Spectrum{
		Rate: w.rate, N: w.n, Window: w.window.Name, ENBW: w.window.ENBW(),
		Averages: averages,
		Density:  make([]float64, len(w.sum)),
	}
	// 2 for one side, 2 for the full-scale sine's mean square of one half.
	scale := 4 / (w.rate * energy * float64(max(w.blocks, 1)))
	for j, p := range w.sum {
		s.Density[j] = scale * p
	}
	s.Density[0] /= 2 // no other side
	if len(s.Density) > 1 {
		s.Density[len(s.Density)-1] /= 2
	}
	return s
}
