package likeness

import (
	"context"
	"io"
	"math"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fft/vector"
)

const (
	noiseFrom = 300.0  // Hz
	noiseTo   = 7500.0 // Hz; above, codecs and resamplers begin to differ
	bands     = 16     // between them
	// rawSeconds is how much is held as it was decoded.
	rawSeconds = 2.0
)

// stretch is a part of a capture, read for correlation.
type stretch struct {
	rate    float64      // of x
	startS  float64      // of x[0], from the capture's start
	x       []complex128 // whitened noise, noiseFrom to noiseTo, at its own frequencies
	low     float64      // Hz; where the noise begins
	high    float64      // Hz; where it ends
	density [][]float64  // each block's noise in each of the bands, per hertz
	raw     []float64    // samples as decoded, from frame rawAt on
	rawAt   int64
	rawRate float64 // their rate
	step    float64 // the finest binary digit that raw uses; 0 of silence
}

// readStretch reads frames from … from+frames of a source of one channel.
func readStretch(ctx context.Context, src capture.Source, from, frames int64, high float64) (*stretch, error) {
	rate := float64(src.Rate())
	halvings := fft.Halvings(rate, high)
	low := rate / math.Exp2(float64(halvings))
	d := fft.NewDecimator(rate, high, halvings)
	n := fft.PowerOfTwo(int(low*sketchBlock/2) + 1)
	s := &stretch{
		rate: low / 2, low: min(noiseFrom, high/8), high: high,
		startS: (float64(from)+float64(d.Delay()))/rate + float64(n/2)/low,
		rawAt:  from + frames/2, rawRate: rate,
	}
	blocks := fft.NewBlocks(fft.NewEngine, n, n/2, 1, fft.Nuttall, s.listen(n, low))
	rawEnd := min(s.rawAt+int64(rawSeconds*rate), from+frames)
	err := each(ctx, src, from, frames, func(at int64, x []float64) {
		lo, hi := max(s.rawAt-at, 0), min(rawEnd-at, int64(len(x)))
		if lo < hi {
			s.raw = append(s.raw, x[lo:hi]...)
		}
		if y := d.Push(x); len(y) > 0 {
			blocks.Push([][]float64{y})
		}
	})
	blocks.Flush()
	s.step = stepOf(s.raw)
	return s, err
}

// listen takes blocks' bins at a rate: it gathers whitened noise and its densities.
func (s *stretch) listen(n int, rate float64) func(int, []complex128) {
	binHz := rate / float64(n)
	first, last := int(s.low/binHz), int(s.high/binHz)
	b := newBand(n, 0, n/2, n/2, broadSegment, func(z complex128) { s.x = append(s.x, z) })
	scale := densityScale(n, rate)
	b.levels = func(levels []float64) {
		row := make([]float64, bands)
		for i := range row {
			lo := (first + i*(last-first)/bands) / broadSegment
			hi := max((first+(i+1)*(last-first)/bands)/broadSegment, lo+1)
			for _, v := range levels[lo:min(hi, len(levels))] {
				row[i] += scale * v / float64(min(hi, len(levels))-lo)
			}
		}
		s.density = append(s.density, row)
	}
	return func(_ int, bins []complex128) {
		clear(bins[:first])
		clear(bins[last:])
		b.add(bins)
	}
}

// densityScale makes a density per hertz of a bin's power.
func densityScale(n int, rate float64) float64 {
	energy := 0.0
	for _, v := range fft.Nuttall.Samples(n) {
		energy += v * v
	}
	return 4 / (rate * energy) // as in fft.Welch
}

// each hands out a part of a source of one channel, with the frames' numbers.
func each(ctx context.Context, src capture.Source, from, count int64, push func(at int64, x []float64)) error {
	at := int64(0)
	err := src.Read(ctx, func(frames [][]float64) error {
		n := min(int64(len(frames[0])), from+count-at)
		if skip := min(max(from-at, 0), n); skip < n {
			push(at+skip, frames[0][skip:n])
		}
		if at += n; at == from+count {
			return io.EOF
		}
		return nil
	})
	if err == io.EOF {
		return nil
	}
	return err
}

// stepOf is the finest binary digit that samples use, to 2⁻⁴⁰; 0 of silence.
func stepOf(x []float64) float64 {
	if len(x) < 3 {
		return 0
	}
	digits := vector.Look(x).Digits
	if digits == 0 {
		return 0
	}
	return math.Ldexp(float64(digits&-digits), -40)
}
