package likeness

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"humdiff/fft"
	"humdiff/fft/vector"
)

const (
	// leastOverlap is the least that two captures must share for anything to be
	// said, seconds.
	leastOverlap = 5.0
	// sketchOverlap is what their sketches then share at least: they lack half a block
	// at either end.
	sketchOverlap = 3.0
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

// agree looks for one recording in two sketches. It takes some milliseconds a pair,
// and holds for overlaps of five seconds and more. Sketches that don't agree are of
// separate recordings, or of a copy in which next to nothing of the noise is left:
// less than a seventh of it, over five seconds, in the worst case; the longer, the less.
func agree(a, b Sketch) Agreement {
	if min(a.Seconds(), b.Seconds()) < sketchOverlap {
		return Agreement{}
	}
	x, y, rate, hz := common(a, b)
	if min(len(x), len(y)) < int(sketchOverlap*rate) {
		return Agreement{}
	}
	n := fft.PowerOfTwo(len(x) + len(y))
	c := newCorrelator(n)
	return c.agree(c.hold(x), c.hold(y), speedShifts(rate, hz, min(len(x), len(y)), n), rate, a.StartS-b.StartS)
}

// Pair is two of a list of channels, by their places in it.
type Pair struct {
	First, Second int
	Agreement
}

// Suspects are the pairs of a list of channels whose hashes are equal or whose sketches
// agree, for Compare to settle. It is several times faster than Agree for each, but
// copies that run at another speed it may miss. Sketches are held against those of so
// many channels before them in the list as mostPairs allows: of 200 channels against all.
func Suspects(marks []Mark) []Pair {
	found := equalHashes(marks)
	longest := 0
	for _, m := range marks {
		longest = max(longest, 2*len(m.Sketch.Data))
	}
	c := newCorrelator(fft.PowerOfTwo(2 * longest))
	reach := Reach(len(marks))
	for from := 0; from < len(marks); from += heldSpectra {
		found = append(found, c.suspects(marks, from, min(from+heldSpectra, len(marks)), reach)...)
	}
	slices.SortFunc(found, func(a, b Pair) int { return cmp.Or(a.Second-b.Second, a.First-b.First) })
	return found
}

const (
	mostPairs   = 20_000 // sketches are correlated in: half a minute
	heldSpectra = 16     // at a time; one is a megabyte for a minute's sketch
)

// Reach is how many channels before it in a list of n a sketch is held against.
func Reach(n int) int {
	if n*(n-1)/2 <= mostPairs {
		return n
	}
	return mostPairs / n
}

// equalHashes are the pairs that hold the same samples, each channel with the first.
func equalHashes(marks []Mark) (found []Pair) {
	first := map[string]int{}
	for j, m := range marks {
		if m.Silent || m.Hash == "" {
			continue
		}
		if i, seen := first[m.Hash]; seen {
			found = append(found, Pair{First: i, Second: j, Agreement: Agreement{Agree: true}})
		} else {
			first[m.Hash] = j
		}
	}
	return found
}

// suspects holds those from … to of a list against those before them.
func (c *correlator) suspects(marks []Mark, from, to, reach int) (found []Pair) {
	held := make([]held, to-from)
	for j := range held {
		held[j] = c.sketch(marks[from+j].Sketch)
	}
	for i := max(0, from-reach); i < to-1; i++ {
		other := held[max(i-from, 0)]
		if i < from {
			other = c.sketch(marks[i].Sketch)
		}
		for j := max(i+1, from); j < min(to, i+reach+1); j++ {
			a, b := marks[i].Sketch, marks[j].Sketch
			pair := Pair{First: i, Second: j}
			switch {
			case marks[i].sameSamples(marks[j]):
			case a.Rate != b.Rate || a.LowHz != b.LowHz:
				pair.Agreement = agree(a, b)
			case other.bins != nil && held[j-from].bins != nil:
				pair.Agreement = c.agree(other, held[j-from], []int{0}, a.Rate, a.StartS-b.StartS)
			}
			if pair.Agree {
				found = append(found, pair)
			}
		}
	}
	return found
}

// sketch is a sketch's spectrum; nothing where it is too short.
func (c *correlator) sketch(s Sketch) held {
	if s.Seconds() < sketchOverlap {
		return held{}
	}
	return c.hold(s.unpack())
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

// held is a sequence's spectrum, and how many samples the sequence has.
type held struct {
	len  int
	bins []complex128
}

// correlator holds spectra of n bins against each other.
type correlator struct {
	n       int
	back    *fft.Transform
	product []complex128
	powers  []float64
}

func newCorrelator(n int) *correlator {
	return &correlator{n: n, back: fft.NewTransform(n), product: make([]complex128, n)}
}

// agree is where two sequences are most alike, at any of the shifts; startS is by how
// much the first begins later.
func (c *correlator) agree(a, b held, shifts []int, rate, startS float64) Agreement {
	best, at, tried := 0.0, 0, 0
	for _, shift := range shifts {
		strength, lag, lags := c.strongest(a, b, shift, int(sketchOverlap*rate))
		tried += lags
		if strength > best {
			best, at = strength, lag
		}
	}
	return Agreement{
		Agree:    best > math.Log(float64(max(tried, 1))/searchChance),
		LagS:     float64(at)/rate + startS,
		Strength: best,
	}
}

// hold is a sequence's spectrum, in which whatever stands still is held down.
func (c *correlator) hold(x []complex128) held {
	bins := make([]complex128, c.n)
	copy(bins, x)
	c.back.Forward(bins)
	holdDown(bins)
	return held{len(x), bins}
}

// holdDown limits bins to twice their neighbours' median power. Noise keeps nearly
// all it has; a line that stands still, however strong, is left no more than a few
// bins of noise.
func holdDown(bins []complex128) {
	const stretch, sampled = 256, 4 // a part of the bins tells their median
	var room [stretch / sampled]float64
	for from := 0; from < len(bins); from += stretch {
		part := bins[from:min(from+stretch, len(bins))]
		few := room[:0]
		for i := 0; i < len(part); i += sampled {
			few = append(few, square(part[i]))
		}
		limit := 2 * vector.Nth(few, len(few)/2)
		for i, z := range part {
			if p := square(z); p > limit {
				scale := math.Sqrt(limit / p)
				part[i] = complex(real(z)*scale, imag(z)*scale)
			}
		}
	}
}

// strongest is the largest correlation power at lags that leave at least so many
// samples of overlap, over its median's mean; at which lag, of how many. The
// second sequence is shifted up by so many bins.
func (c *correlator) strongest(a, b held, shift, least int) (strength float64, lag, lags int) {
	for j, z := range a.bins {
		c.product[j] = z * cmplx.Conj(b.bins[(j-shift)&(c.n-1)])
	}
	c.back.Inverse(c.product)
	c.powers = c.powers[:0]
	const sampled = 16 // a part of the lags tells their median
	for l := least - b.len; l <= a.len-least; l++ {
		z := c.product[l&(c.n-1)]
		overlap := min(a.len, l+b.len) - max(0, l)
		p := square(z) / float64(overlap)
		if p > strength {
			strength, lag = p, l
		}
		if l&(sampled-1) == 0 {
			c.powers = append(c.powers, p)
		}
		lags++
	}
	if len(c.powers) == 0 {
		return 0, 0, lags
	}
	mean := vector.Nth(c.powers, len(c.powers)/2) / math.Ln2
	if mean == 0 {
		return 0, 0, lags
	}
	return strength / mean, lag, lags
}
