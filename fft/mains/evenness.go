package mains

import (
	"math"
	"slices"

	"humdiff/fft"
	"humdiff/fft/vector"
)

// Every threshold, interval and limit here stands on noise being steady: a mean
// of k blocks is then worth k looks. A thump of a second outweighs all other
// blocks and leaves one. So each block's own noise is gathered, band by band,
// and averages count for as many blocks as the noise was spread over.

// evenBands are the upper ends of the bands, Hz: a thump is low, a hiss is not.
var evenBands = []float64{150, 600, 2400, math.Inf(1)}

// evenness gathers the noise of blocks one by one.
type evenness struct {
	binHz   float64
	l       layout
	noise   [][]float32 // by band and block: the median power of the band's bins, arbitrary unit
	out     []bool      // blocks that averages leave out; nil: none
	kept    [][]float32 // noise of the other ones
	blocks  int
	scratch []float64
}

func newEvenness(l layout, out []bool) evenness {
	return evenness{binHz: l.binHz(), l: l, noise: make([][]float32, len(evenBands)), out: out, kept: make([][]float32, len(evenBands))}
}

// add takes a block's bins; a median over many of them passes lines by. It says
// whether the block is left out of averages.
func (e *evenness) add(bins []complex128) (left bool) {
	left = e.out != nil && e.out[e.blocks]
	e.blocks++
	from := fft.Whole(15/e.binHz, 0, len(bins))
	for i, end := range evenBands {
		to := fft.Whole(end/e.binHz, 0, len(bins))
		if to-from < 8 {
			continue // no such band, or too few bins to say
		}
		e.scratch = e.scratch[:0]
		for j := from; j < to; j += 1 + (to-from)/128 {
			x := bins[j]
			e.scratch = append(e.scratch, real(x)*real(x)+imag(x)*imag(x))
		}
		middle := float32(vector.Nth(e.scratch, len(e.scratch)/2))
		e.noise[i] = append(e.noise[i], middle)
		if e.out != nil && !left {
			e.kept[i] = append(e.kept[i], middle)
		}
		from = to
	}
	return left
}

// leastNoise raises what blocks have to a least power.
func (e *evenness) leastNoise(bin float32) {
	for _, of := range [][][]float32{e.noise, e.kept} {
		for _, g := range of {
			for b, x := range g {
				g[b] = max(x, bin)
			}
		}
	}
}

// averaged is the noise of band i in the blocks that averages are made of.
func (e *evenness) averaged(i int) []float32 {
	if e.out == nil {
		return e.noise[i]
	}
	return e.kept[i]
}

// share is the effective share of the averages at a frequency: 1 where noise is
// steady; where it lies in few blocks, what those few, overlapping as they do,
// are worth beside all.
func (e *evenness) share(hz float64) float64 { return e.overlapping(e.band(hz)) }

func (e *evenness) overlapping(g []float32) float64 {
	if len(g) == 0 {
		return 1
	}
	// A line's taper is shorter than the window that g was seen through, so a
	// thump lies in fewer blocks still: the power 1.5 leaves one where the share
	// says four of sixty.
	few := fft.Whole(math.Round(math.Pow(effectiveShare(g, 1), 1.5)*float64(len(g))), 1, len(g))
	return e.l.powerAverages(few) / e.l.powerAverages(len(g))
}

// spanShare is the same for means over n blocks, which hardly overlap.
func (e *evenness) spanShare(hz float64, n int) float64 { return effectiveShare(e.band(hz), n) }

// band is the noise of the band that hz lies in, nil where it is not known.
func (e *evenness) band(hz float64) []float32 {
	for i, end := range evenBands {
		if g := e.averaged(i); hz < end && len(g) > 0 {
			return g
		}
	}
	return nil
}

// worst is the share of the least even band, and the number of its loudest block.
func (e *evenness) worst() (share float64, loudest int) {
	share = 1
	for i := range e.noise {
		g := e.averaged(i)
		if s := e.overlapping(g); s < share {
			share, loudest = s, e.number(slices.Index(g, slices.Max(g)))
		}
	}
	return share, loudest
}

// number is which of all blocks the kth is that averages are made of.
func (e *evenness) number(k int) int {
	for b, left := range e.out {
		if left {
			k++
		}
		if b >= k {
			break
		}
	}
	return k
}

// effectiveShare is (Σg)²/(K·Σg²) of means over n: 1 where all are alike, 1/K
// where one holds all.
func effectiveShare(g []float32, n int) float64 {
	sum, square, count := 0.0, 0.0, 0
	for i := 0; i+n <= len(g); i += n {
		mean := 0.0
		for _, x := range g[i : i+n] {
			mean += float64(x)
		}
		sum, square, count = sum+mean, square+mean*mean, count+1
	}
	if !(square > 0) || math.IsInf(square, 0) { // none, or no number
		return 1
	}
	// Medians of a hundred bins scatter by themselves, with a variance of 1 to
	// 5 %; that is no unevenness.
	const scatter = 1.05
	return math.Min(1, scatter*sum*sum/(float64(count)*square))
}
