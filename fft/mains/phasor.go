package mains

import (
	"math"

	"humdiff/fft"
	"humdiff/fft/lend"
	"humdiff/fft/vector"
)

// block is the low band's bins of one block, phases counted from the block's
// centre. Single precision rounds each bin by 1e-7 of itself, which is nothing
// beside its noise.
type block []complex64

// centre counts the phases of a transform from the block's centre instead of
// its first sample.
func centre(bins []complex128) {
	for j := 1; j < len(bins); j += 2 { // e^{iπj}
		bins[j] = -bins[j]
	}
}

// store keeps the first bins, as many as b holds.
func (b block) store(bins []complex128) {
	for j, x := range bins[:len(b)] {
		b[j] = complex64(x)
	}
}

// kernel estimates a line's phasor from the bins of its main lobe by least
// squares. The bins around frequency f hold a·N·a0·W(j−f), so
// a = Σ W(j−f) X[j] / (N·a0·Σ W²(j−f)). Since W is the window's own transform,
// this amounts to transforming at exactly f with the window squared as taper:
// at the 75 % overlap used here that costs 0.01 dB of sensitivity and leaks
// −223 dB at 68 bins.
type kernel struct {
	window fft.Window
	scale  float64 // 1 / (N·a0)
	binHz  float64
	whole  []float64 // weights at whole-bin offsets −reach … reach
	half   []float64 // weights for a frequency half a bin above a bin
	table  []float64 // weights for frequencies in steps above a bin, row by row
}

// kernelSteps is how many rows of the table half a bin has. Between them the
// weights are cubic: off by less than 1e-11 of the largest.
const kernelSteps = 256

func newKernel(l layout) kernel {
	return kernels.Of(kernelOf{l.window.Key(), l.lowN, l.lowRate}, func() kernel { return makeKernel(l) })
}

// kernelOf is what a kernel depends on.
type kernelOf struct {
	window string
	n      int
	rate   float64
}

var kernels = lend.Memo[kernelOf, kernel]{Most: 8}

func makeKernel(l layout) kernel {
	k := kernel{window: l.window, scale: 1 / (float64(l.lowN) * l.window.Coeff[0]), binHz: l.binHz()}
	k.whole = k.normal(0, 0)
	k.half = k.normal(0.5, 0.25)
	// Which bins count changes in the middle, so each half bin has rows of its
	// own, and one more before and two behind it.
	for _, from := range []float64{0, 0.5} {
		for i := -1; i <= kernelSteps+1; i++ {
			k.table = append(k.table, k.normal(from+0.5*float64(i)/kernelSteps, from+0.25)...)
		}
	}
	return k
}

// reach is how many bins to either side of the one below a frequency count:
// those of its main lobe and half a bin more.
func (k kernel) reach() int { return k.window.MainLobe() + 1 }

// normal are the weights of the bins −reach … reach for a frequency `offset`
// bins above bin 0, already divided by the sum of squares. Those within a main
// lobe and half a bin of `middle` count.
func (k kernel) normal(offset, middle float64) []float64 {
	weights := make([]float64, 2*k.reach()+1)
	energy := 0.0
	for i := range weights {
		bin := float64(i - k.reach())
		if math.Abs(bin-middle) < float64(k.window.MainLobe())+0.5 {
			weights[i] = k.window.Response(bin - offset)
			energy += weights[i] * weights[i]
		}
	}
	for i := range weights {
		weights[i] *= k.scale / energy
	}
	return weights
}

// weights are what normal gives, appended to w, for offsets of 0 … 1: cubic
// between the table's rows (Lagrange's polynomial).
func (k kernel) weights(w []float64, offset float64) []float64 {
	place, row := offset*2*kernelSteps, 0
	if place >= kernelSteps {
		place, row = place-kernelSteps, kernelSteps+3
	}
	below := fft.Whole(place, 0, kernelSteps-1)
	t := place - float64(below)
	a, b := t*(t-1)/6, (t+1)*(t-2)/2
	c0, c1, c2, c3 := -a*(t-2), b*(t-1), -b*t, a*(t+1)
	n := 2*k.reach() + 1
	rows := k.table[(row+below)*n:][:4*n]
	r0, r1, r2, r3 := rows[:n], rows[n:][:n], rows[2*n:][:n], rows[3*n:][:n]
	for i := range r0 {
		w = append(w, c0*r0[i]+c1*r1[i]+c2*r2[i]+c3*r3[i])
	}
	return w
}

// phasor is the complex half-amplitude at hz; a line A·cos(2πft+φ) gives
// A/2·e^{iφ}, φ at the block's centre. It is 0 where hz's main lobe isn't held.
func (k kernel) phasor(b block, hz float64) complex128 {
	f := hz / k.binHz
	below := math.Floor(f)
	var room [32]float64
	return apply(b, fft.Whole(below, -1, len(b)), k.weights(room[:0], f-below))
}

// tuned estimates at one frequency, in many blocks.
type tuned struct {
	centre  int
	weights []float64
}

func (k kernel) tune(hz float64) tuned {
	f := hz / k.binHz
	below := math.Floor(f)
	return tuned{fft.Whole(below, -1, math.MaxInt32), k.weights(make([]float64, 0, 2*k.reach()+1), f-below)}
}

// phasor is what kernel.phasor gives.
func (t tuned) phasor(b block) complex128 { return apply(b, t.centre, t.weights) }

func apply(b block, centre int, weights []float64) complex128 {
	first := centre - len(weights)/2
	if first < 0 || first+len(weights) > len(b) {
		return 0
	}
	var re, im float64
	for i, x := range b[first:][:len(weights)] {
		re += weights[i] * float64(real(x))
		im += weights[i] * float64(imag(x))
	}
	return complex(re, im)
}

// fraction is what a number of turns has beyond whole ones, of its sign; rounded before,
// it is the same on every processor.
func fraction(turns float64) float64 { return float64(turns) - math.Trunc(turns) }

// power is that of a line with phasor a: its mean square 2|a|², relative to
// the full-scale sine's 1/2.
func power(a complex128) float64 { return 4 * (real(a)*real(a) + imag(a)*imag(a)) }

// scan is the mean over blocks of a line estimate's power at every half bin.
type scan struct {
	binHz       float64
	mean        []float64 // mean[i] at i·binHz/2, once done
	whole, half []float64 // sums of |a|² at whole bins, and half a bin above them
	blocks      int
	line        []complex128 // scratch
}

// add takes in one block's bins, phases counted from its centre.
func (s *scan) add(k kernel, bins []complex128) {
	if s.whole == nil {
		s.binHz = k.binHz
		s.whole, s.half = make([]float64, len(bins)), make([]float64, len(bins))
		s.line = make([]complex128, scanStrip)
	}
	s.blocks++
	x, reach := vector.Floats(bins), k.reach()
	// Weights are symmetric; those beyond a main lobe's half-width are zero.
	wing := reach &^ 1
	whole, half := k.whole[reach+1:][:wing], k.half[reach+1:][:wing]
	for from := reach; from < len(bins)-reach; from += scanStrip {
		n := min(scanStrip, len(bins)-reach-from)
		line, middle := s.line[:n], x[2*from:]
		estimate := vector.Floats(line)
		vector.Fold(estimate, middle, k.whole[reach], x, 2*(from-1), 2*(from+1), 2, whole)
		vector.AddSquares(s.whole[from:], line)
		vector.Fold(estimate, middle, 0, x, 2*from, 2*(from+1), 2, half)
		vector.AddSquares(s.half[from:], line)
	}
}

// scanStrip is how many bins are taken through all taps at a time: few enough
// to stay in the nearest cache.
const scanStrip = 512

// done turns sums into means.
func (s *scan) done() {
	s.mean = make([]float64, 2*len(s.whole))
	scale := 4 / float64(max(s.blocks, 1)) // see power
	for j := range s.whole {
		s.mean[2*j], s.mean[2*j+1] = scale*s.whole[j], scale*s.half[j]
	}
	s.whole, s.half, s.line = nil, nil, nil
}

// at is the index of the half bin nearest to hz.
func (s *scan) at(hz float64) int { return fft.Whole(math.Round(2*hz/s.binHz), -1, len(s.mean)) }

// near is the mean power at the half bin nearest to hz, the last one beyond it.
func (s *scan) near(hz float64) float64 {
	return s.mean[min(max(s.at(hz), 0), len(s.mean)-1)]
}

// hz is the frequency of half bin i.
func (s *scan) hz(i int) float64 { return float64(i) * s.binHz / 2 }
