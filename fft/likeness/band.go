package likeness

import (
	"math"

	"humdiff/fft"
)

// band makes whitened noise of a band, moved down to 0 Hz, from blocks of bins that
// lie half a block apart: complex samples with a mean square of 2.
type band struct {
	low, bins, kept int // first bin, how many are whitened, how many of them make the samples
	white           *whitener
	back            *fft.Transform
	scale           []float64    // undoes the windows
	tail            []complex128 // second half of the block before
	emit            func(complex128)
	levels          func([]float64) // gets each block's noise, one a segment; may be nil
	blocks, noisy   int             // in all, and with any noise
}

// newBand is for blocks of n; low has to divide by four where it matters that the
// shift to 0 Hz turns by whole turns from block to block; segment bins share a level.
func newBand(n, low, bins, kept, segment int, emit func(complex128)) *band {
	return &band{
		low: low, bins: bins, kept: kept, emit: emit,
		white: newWhitener(bins, segment), back: fft.NewTransform(kept),
		scale: overlapScale(n, kept), tail: make([]complex128, kept/2),
	}
}

// overlapScale undoes the sum of two windows half a block apart, and scales whitened
// noise to a mean square of 2.
func overlapScale(n, kept int) []float64 {
	w := fft.Nuttall.Samples(n)
	energy := 0.0
	for _, v := range w {
		energy += float64(v * v) // rounded: the same on every processor
	}
	scale := make([]float64, kept/2)
	for i := range scale {
		at := i * (n / kept)
		scale[i] = math.Sqrt(2*float64(kept)*energy/float64(n)) / (w[at] + w[at+n/2])
	}
	return scale
}

// add takes the next block's bins, which it changes.
func (b *band) add(bins []complex128) {
	part := bins[b.low:][:b.bins]
	levels := b.white.whiten(part)
	if b.levels != nil {
		b.levels(levels)
	}
	part = part[:b.kept]
	for _, z := range part {
		if z != 0 {
			b.noisy++
			break
		}
	}
	b.back.Inverse(part)
	if b.blocks > 0 {
		for i, z := range part[:b.kept/2] {
			z += b.tail[i]
			b.emit(complex(real(z)*b.scale[i], imag(z)*b.scale[i]))
		}
	}
	copy(b.tail, part[b.kept/2:])
	b.blocks++
}
