package fft

import "humdiff/fft/vector"

// Welch averages the power of transformed blocks.
type Welch struct {
	window Window
	rate   float64
	n      int
	hop    int
	sum    []float64
	blocks int
}

// NewWelch averages blocks of n samples cut every hop samples.
func NewWelch(rate float64, n, hop int, w Window) *Welch {
	return &Welch{window: w, rate: rate, n: n, hop: hop, sum: make([]float64, n/2+1)}
}

// Add takes one block's bins.
func (w *Welch) Add(bins []complex128) {
	vector.AddSquares(w.sum, bins)
	w.blocks++
}

// Spectrum is the average of the blocks so far.
func (w *Welch) Spectrum() Spectrum {
	taper := w.window.shared(w.n)
	s := Spectrum{
		Rate: w.rate, N: w.n, Window: w.window.Name, ENBW: w.window.ENBW(),
		Averages: PowerAverages(Overlaps(taper, w.hop), w.blocks),
		Density:  make([]float64, len(w.sum)),
	}
	energy := 0.0
	for _, v := range taper {
		energy += v * v
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
