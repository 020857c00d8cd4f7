package likeness

import (
	"math"
	"math/cmplx"
	"slices"
)

const (
	// leastOverlap is the least that two captures must share for anything to be
	// said, seconds.
	leastOverlap = 10.0
	// sketchOverlap is what their sketches then share at least: they lack half a block
	// at either end.
	sketchOverlap = 7.0
	// searchChance is how rarely two separate sketches agree, in one place of all.
	searchChance = 1e-6
	// mostPPM is the fastest that one copy may run against the other, in parts per
	// million.
	mostPPM = 150.0
	// speedStep is how far apart speeds are tried, in cycles that the band's middle
	// gains over the overlap: at most 0.8 from the next, where a quarter of the
	// correlation is left.
	speedStep = 1.6
)

// Agreement is where two sketches are most alike.
type Agreement struct {
	Agree bool
	// LagS: what the second capture has at t seconds, the first has at t + LagS, to
	// some milliseconds.
	LagS float64
	// Strength is the correlation's power over its mean at all other lags: chance makes
	// more than x of it with probability e^−x at each.
	Strength float64
}

// Agree looks for one recording in two sketches. It takes some milliseconds a pair,
// and holds for overlaps of ten seconds and more. Sketches that don't agree are of
// separate recordings, or of a copy in which next to nothing of the noise is left:
// less than a tenth of it, over ten seconds, in the worst case; the longer, the less.
func Agree(a, b Sketch) Agreement {
	if min(a.Seconds(), b.Seconds()) < sketchOverlap {
		return Agreement{}
	}
	x, y, rate, hz := common(a, b)
	least := int(sketchOverlap * rate)
	if min(len(x), len(y)) < least {
		return Agreement{}
	}
	c := newCorrelator(x, y)
	best, at, tried := 0.0, 0, 0
	for _, shift := range speedShifts(rate, hz, min(len(x), len(y)), c.n) {
		strength, lag, lags := c.strongest(shift, least)
		tried += lags
		if strength > best {
			best, at = strength, lag
		}
	}
	return Agreement{
		Agree:    best > math.Log(float64(tried)/searchChance),
		LagS:     float64(at)/rate + a.StartS - b.StartS,
		Strength: best,
	}
}

// speedShifts are the shifts in bins of n that speeds up to mostPPM make of a band
// around hz, over an overlap of so many samples, the slowest first.
func speedShifts(rate, hz float64, overlap, n int) []int {
	shifts := []int{0}
	step := speedStep * rate / float64(overlap) // Hz
	for k := 1.0; (k-0.5)*step < mostPPM*1e-6*hz; k++ {
		bins := int(math.Round(k * step / rate * float64(n)))
		shifts = append(shifts, bins, -bins)
	}
	return shifts
}

// correlator holds the spectra of two sequences against each other.
type correlator struct {
	n       int
	lenA    int
	lenB    int
	a, b    []complex128 // spectra
	product []complex128
	powers  []float64
	back    *transform
}

func newCorrelator(x, y []complex128) *correlator {
	n := powerOfTwo(len(x) + len(y))
	c := &correlator{
		n: n, lenA: len(x), lenB: len(y), back: newTransform(n),
		product: make([]complex128, n), powers: make([]float64, 0, n),
	}
	c.a, c.b = c.spectrum(x), c.spectrum(y)
	return c
}

// spectrum transforms a sequence and holds down whatever stands still in it.
func (c *correlator) spectrum(x []complex128) []complex128 {
	bins := make([]complex128, c.n)
	copy(bins, x)
	c.back.forward(bins)
	holdDown(bins)
	return bins
}

// holdDown limits bins to twice their neighbours' median power. Noise keeps nearly
// all it has; a line that stands still, however strong, is left no more than a few
// bins of noise.
func holdDown(bins []complex128) {
	const stretch = 256
	var room [stretch]float64
	for from := 0; from < len(bins); from += stretch {
		part := bins[from:min(from+stretch, len(bins))]
		for i, z := range part {
			room[i] = square(z)
		}
		sorted := room[:len(part)]
		slices.Sort(sorted)
		limit := math.Sqrt(2 * sorted[len(part)/2])
		for i, z := range part {
			if m := cmplx.Abs(z); m > limit {
				part[i] = complex(real(z)*limit/m, imag(z)*limit/m)
			}
		}
	}
}

// strongest is the largest correlation power at lags that leave at least so many
// samples of overlap, over its median's mean; at which lag, of how many. The
// second sequence is shifted up by so many bins.
func (c *correlator) strongest(shift, least int) (strength float64, lag, lags int) {
	for j, a := range c.a {
		c.product[j] = a * cmplx.Conj(c.b[(j-shift)&(c.n-1)])
	}
	c.back.inverse(c.product)
	c.powers = c.powers[:0]
	for l := least - c.lenB; l <= c.lenA-least; l++ {
		z := c.product[l&(c.n-1)]
		overlap := min(c.lenA, l+c.lenB) - max(0, l)
		p := square(z) / float64(overlap)
		if p > strength {
			strength, lag = p, l
		}
		c.powers = append(c.powers, p)
	}
	slices.Sort(c.powers)
	mean := c.powers[len(c.powers)/2] / math.Ln2
	if mean == 0 {
		return 0, 0, len(c.powers)
	}
	return strength / mean, lag, len(c.powers)
}
