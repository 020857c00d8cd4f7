package fft

import (
	"math"
	"slices"

	"humdiff/fft/vector"
)

// Aliases into the kept band are suppressed by 150 dB; a stage then ripples in
// its passband by less than 3e-7 dB. Kaiser's rules for length and shape fall up
// to 11 dB short where taps are few, hence a design for more.
const designDB = 162

// Decimator brings a stream down to a low rate by stages of two, each a
// linear-phase half-band low-pass (windowed sinc, Kaiser 1974). The first and
// last few milliseconds, where a filter would reach beyond the samples, are
// not delivered.
type Decimator struct{ stages []*halfBand }

// NewDecimator halves the rate the given number of times; the band from 0 to
// edge hertz stays clean. edge must lie below a quarter of the lowest input rate.
func NewDecimator(rate, edge float64, halvings int) *Decimator {
	d := &Decimator{}
	for range halvings {
		d.stages = append(d.stages, newHalfBand(edge/rate))
		rate /= 2
	}
	return d
}

// Halvings is how often rate may be halved for the band to edge to stay clean.
func Halvings(rate, edge float64) int {
	n := 0
	// 2.2 leaves the last filter a tenth of the band to fall in.
	for ; rate/2 >= 2.2*edge; rate /= 2 {
		n++
	}
	return n
}

// Push filters the next samples and returns what comes out, valid until the
// next call.
func (d *Decimator) Push(x []float64) []float64 {
	for _, s := range d.stages {
		x = s.push(x)
	}
	return x
}

// Frames is how many samples come out of n, in all.
func (d *Decimator) Frames(n int64) int64 {
	for _, s := range d.stages {
		n = max(0, (n-int64(2*s.reach)+1)/2)
	}
	return n
}

// Delay is how many samples of the input lie before the one that the first sample
// that comes out stands for.
func (d *Decimator) Delay() int {
	delay := 0
	for i, s := range d.stages {
		delay += s.reach << i
	}
	return delay
}

// halfBand is a low-pass at a quarter of its input rate that keeps every
// second sample. Every second tap beside the centre is zero, so an output is
// half of one odd sample of the input and a symmetric sum over even ones.
type halfBand struct {
	taps      []float64 // at offsets ±1, ±3, ±5 …; the centre tap is 1/2
	reach     int       // largest offset
	even, odd []float64 // samples not yet used up, oldest first
	out       []float64
}

// newHalfBand passes 0 … edge (in cycles per input sample) and stops
// 1/2 − edge … 1/2.
func newHalfBand(edge float64) *halfBand {
	transition := 2 * math.Pi * (0.5 - 2*edge)
	length := (designDB - 7.95) / (2.285 * transition)
	pairs := Whole(math.Ceil((length/2+1)/2), 1, 1<<20)
	pairs += pairs % 2 // Fold takes two at a time
	h := &halfBand{taps: make([]float64, pairs), reach: 2*pairs - 1}
	beta := 0.1102 * (designDB - 8.7)
	sum := 0.0
	for i := range h.taps {
		k := float64(2*i + 1)
		r := k / float64(h.reach+1)
		h.taps[i] = math.Sin(math.Pi*k/2) / (math.Pi * k) * besselI0(beta*math.Sqrt(1-r*r)) / besselI0(beta)
		sum += 2 * h.taps[i]
	}
	for i := range h.taps {
		h.taps[i] *= 0.5 / sum // unity at 0 Hz
	}
	return h
}

func (h *halfBand) push(x []float64) []float64 {
	h.take(x)
	pairs := len(h.taps)
	n := len(h.even) - (2*pairs - 1)
	if n <= 0 {
		return nil
	}
	h.out = slices.Grow(h.out[:0], n)[:n]
	vector.Fold(h.out, h.odd[pairs-1:], 0.5, h.even, pairs-1, pairs, 1, h.taps)
	h.even = h.even[:copy(h.even, h.even[n:])]
	h.odd = h.odd[:copy(h.odd, h.odd[n:])]
	return h.out
}

// take sorts samples into even and odd ones.
func (h *halfBand) take(x []float64) {
	if len(h.odd) < len(h.even) && len(x) > 0 {
		h.odd, x = append(h.odd, x[0]), x[1:]
	}
	n := len(x) / 2
	h.even, h.odd = slices.Grow(h.even, n+1), slices.Grow(h.odd, n)
	e, o := h.even[len(h.even):][:n], h.odd[len(h.odd):][:n]
	for i := range e {
		pair := x[2*i : 2*i+2 : 2*i+2]
		e[i], o[i] = pair[0], pair[1]
	}
	h.even, h.odd = h.even[:len(h.even)+n], h.odd[:len(h.odd)+n]
	if len(x)%2 == 1 {
		h.even = append(h.even, x[2*n])
	}
}

// besselI0 is the modified Bessel function of order zero, by its power series.
func besselI0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= (x / (2 * k)) * (x / (2 * k))
		sum += term
	}
	return sum
}
