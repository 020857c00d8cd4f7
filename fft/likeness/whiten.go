package likeness

import (
	"math"

	"humdiff/fft/vector"
)

const (
	// fineSegment is how many bins of a sketch share one noise level: about 50 Hz.
	// Lines stand in few of them, so their median is the noise.
	fineSegment = 64
	// broadSegment is the same of samples that are read for correlation: its median
	// scatters half as much, and with it the copy's.
	broadSegment = 256
	// lineRatio over the noise's mean is a line, or 2.4 noise bins in 10 000.
	lineRatio = 12 * math.Ln2
	// A bin whose running mean over some blocks lies steadyRatio over the noise's is a
	// line too; so is noise about as rarely.
	steadyRatio  = 2.8
	steadyMemory = 0.85 // share of the mean that stays from block to block
	// lineReach is how far a line's main lobe goes (Nuttall): cut with it.
	lineReach = 4
)

// whitener makes the noise in blocks of bins white and cuts the lines out.
type whitener struct {
	segment                int // bins that share one level
	powers, sorted, levels []float64
	steady                 []float64 // running means of the powers, over the noise's
	cut                    []bool
}

func newWhitener(bins, segment int) *whitener {
	return &whitener{
		segment: segment, powers: make([]float64, bins), steady: ones(bins), sorted: make([]float64, segment),
		levels: make([]float64, (bins+segment-1)/segment), cut: make([]bool, bins),
	}
}

// whiten scales bins to a mean square of 1 and zeroes lines. It returns the noise's
// mean square in each segment, until the next call. Digital silence stays zero.
func (w *whitener) whiten(bins []complex128) []float64 {
	clear(w.cut)
	for i, z := range bins {
		w.powers[i] = square(z)
	}
	for from := 0; from < len(bins); from += w.segment {
		to := min(from+w.segment, len(bins))
		level := w.level(w.powers[from:to])
		w.levels[from/w.segment] = level
		scale := 0.0
		if level > 0 {
			scale = 1 / math.Sqrt(level)
		}
		for i := from; i < to; i++ {
			w.steady[i] = float64(steadyMemory*w.steady[i]) + float64((1-steadyMemory)*scale*scale*w.powers[i])
			if w.powers[i] > lineRatio*level || w.steady[i] > steadyRatio {
				w.cutAround(i)
			}
			bins[i] = complex(scale*real(bins[i]), scale*imag(bins[i]))
		}
	}
	for i, cut := range w.cut {
		if cut {
			bins[i] = 0
		}
	}
	return w.levels
}

// level is the mean that noise of such a median has: powers are exponential.
func (w *whitener) level(powers []float64) float64 {
	s := w.sorted[:copy(w.sorted, powers)]
	return vector.Nth(s, len(s)/2) / math.Ln2
}

func (w *whitener) cutAround(i int) {
	for k := max(i-lineReach, 0); k <= min(i+lineReach, len(w.cut)-1); k++ {
		w.cut[k] = true
	}
}

func ones(n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = 1
	}
	return x
}
