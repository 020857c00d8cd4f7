package measure

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"humdiff/fft/mains"
)

const (
	// steady is the scatter of the level, from step to step, that hum which
	// stands still may have besides noise: 0.05 of its amplitude, 0.43 dB.
	steady = 0.05
	// leastSteps is the shortest piece between two changes.
	leastSteps = 3
	// longestSteps is the longest piece sought at once, five minutes: else the work
	// would grow with the square of the length. Longer ones are joined later.
	longestSteps = 1500
	// A change is one only beyond this.
	changeDB = 2.0
	// Hum that rises or falls by more within a piece doesn't stand still there.
	driftDB = 1.5
	// stillSeconds is how long hum has to stand still to be worth comparing.
	stillSeconds = 2.0
	// referredSeconds is how long a part of a still span is that a reference tells of.
	referredSeconds = 20.0
	// penalty is by how much a change has to lessen the sum of squares, in
	// variances, with the logarithm of the number of steps on top: chosen so that
	// steady captures show none (see the package's tests).
	penalty = 25.0
)

// span is a piece of a capture: steps from up to, but not including, to.
type span struct {
	from, to int
	still    bool // the hum stands still in it, long enough to be compared
	mains.Level
}

// spansOf cuts a capture into pieces in which the hum stands still and pieces in
// which it changes. seconds is the length of a step.
func spansOf(steps []mains.StepLevel, seconds float64) []span {
	if len(steps) == 0 {
		return nil
	}
	s := series{steps: steps, seconds: seconds, sums: summed(stabilised(steps))}
	return s.levels(s.sharp(s.spans(s.merged(s.pieces(s.sums.changes())))))
}

// divided cuts spans in which hum stands still into parts of about so many seconds: what a
// reference tells of them may change where the level doesn't.
func divided(spans []span, steps []mains.StepLevel, seconds, every float64) (out []span) {
	for _, x := range spans {
		n := x.to - x.from
		parts := 1
		if x.still {
			parts = max(1, int(min(float64(n)*seconds/every, float64(n))))
		}
		for k := range parts {
			out = append(out, span{from: x.from + n*k/parts, to: x.from + n*(k+1)/parts, still: x.still})
		}
	}
	return series{steps: steps}.levels(out)
}

// measured are a span's steps; of a still one without those at its edges, which may hold
// a part of the change: the first, where another span comes before, and the last.
func (s span) measured(all int) (from, to int) {
	from, to = s.from, s.to
	if s.still && from > 0 {
		from++
	}
	if s.still && to < all {
		to--
	}
	return from, to
}

// stabilised is the amplitude of each step, transformed so that its standard
// deviation is about 1 wherever the hum stands still: noise counts where hum is
// weak, the scatter of steady hum where it is strong. That is asinh, the
// integral of 1/√(v + (steady·y)²).
func stabilised(steps []mains.StepLevel) []float64 {
	v := make([]float64, len(steps))
	for i, s := range steps {
		// An amplitude's variance by the power's: dy = dS/2y.
		v[i] = s.Variance / (4 * max(s.Read, s.Noise))
	}
	slices.Sort(v)
	sd := math.Sqrt(v[len(v)*9/10])
	z := make([]float64, len(steps))
	for i, s := range steps {
		z[i] = math.Asinh(steady*math.Sqrt(max(s.Read, 0))/sd) / steady
	}
	return z
}

// sums are running sums of values and of their products with the index, for
// straight lines through any piece of them.
type sums struct{ z, y, yy, xy []float64 }

func summed(z []float64) sums {
	s := sums{z, make([]float64, len(z)+1), make([]float64, len(z)+1), make([]float64, len(z)+1)}
	mean := stat.Mean(z, nil) // taken off, so that fewer digits are lost
	for i, v := range z {
		v -= mean
		s.y[i+1], s.yy[i+1], s.xy[i+1] = s.y[i]+v, s.yy[i]+v*v, s.xy[i]+v*float64(i)
	}
	return s
}

// line is the straight line through values i to j−1: its rise from one to the
// next, and what is left of the sum of squares.
func (s sums) line(i, j int) (slope, rest float64) {
	n := float64(j - i)
	y := s.y[j] - s.y[i]
	xy := s.xy[j] - s.xy[i] - y*(float64(i)+(n-1)/2)
	xx := n * (n*n - 1) / 12
	slope = xy / xx
	return slope, max(0, s.yy[j]-s.yy[i]-y*y/n-slope*xy)
}

// changes are the first indices of the pieces in each of which the values are
// best taken to follow a straight line, each piece after the first at a cost:
// the optimal partition, with the pruning of Killick, Fearnhead and Eckley
// (J. Am. Stat. Assoc. 107, 2012).
func (s sums) changes() []int {
	n := len(s.z)
	beta := penalty + 2*math.Log(float64(n))
	best, from := make([]float64, n+1), make([]int, n+1)
	best[0] = -beta
	var starts []int
	rests := make([]float64, longestSteps+leastSteps)
	for j := 1; j <= n; j++ {
		best[j] = math.Inf(1)
		if j < leastSteps {
			continue
		}
		starts = append(starts, j-leastSteps)
		if j-starts[0] > longestSteps {
			starts = starts[1:]
		}
		for k, i := range starts {
			_, rests[k] = s.line(i, j)
			if c := best[i] + rests[k] + beta; c < best[j] {
				best[j], from[j] = c, i
			}
		}
		kept := starts[:0]
		for k, i := range starts {
			if best[i]+rests[k] <= best[j] {
				kept = append(kept, i)
			}
		}
		starts = kept
	}
	if math.IsInf(best[n], 1) {
		return []int{0} // fewer steps than a piece has
	}
	var at []int
	for j := n; j > 0; j = from[j] {
		at = append(at, from[j])
	}
	slices.Reverse(at)
	return at
}

type series struct {
	steps   []mains.StepLevel
	seconds float64
	sums    sums
}

// piece is steps from … to−1, and the range of the levels it was merged from.
type piece struct {
	from, to int
	lo, hi   float64 // dB
	drifts   bool
}

func (s series) pieces(starts []int) []piece {
	var all []piece
	for i, from := range starts {
		to := len(s.steps)
		if i+1 < len(starts) {
			to = starts[i+1]
		}
		db := s.dB(from, to)
		all = append(all, piece{from, to, db, db, s.drifts(from, to)})
	}
	return all
}

// dB is the mean power read in some steps.
func (s series) dB(from, to int) float64 {
	sum := 0.0
	for _, x := range s.steps[from:to] {
		sum += x.Read
	}
	return 10 * math.Log10(sum/float64(to-from))
}

// drifts says that hum rises or falls through some steps, beyond chance and by
// more than driftDB.
func (s series) drifts(from, to int) bool {
	n := float64(to - from)
	if n < leastSteps {
		return false
	}
	slope, _ := s.sums.line(from, to)
	// Of a slope through values of variance 1.
	if sd := math.Sqrt(12 / (n * (n*n - 1))); math.Abs(slope) < 4*sd {
		return false
	}
	middle := stat.Mean(s.sums.z[from:to], nil)
	lo, hi := amplitude(middle-math.Abs(slope)*(n-1)/2), amplitude(middle+math.Abs(slope)*(n-1)/2)
	return lo <= 0 || 20*math.Log10(hi/lo) > driftDB
}

// amplitude undoes the transform but for its scale.
func amplitude(z float64) float64 { return math.Sinh(steady * z) }

// merged joins neighbours in which nothing drifts and that differ by less than a
// change, the most alike first, as long as none of what is joined differs by
// more.
func (s series) merged(all []piece) []piece {
	for {
		at, least := -1, changeDB
		for i := 0; i+1 < len(all); i++ {
			a, b := all[i], all[i+1]
			if d := max(a.hi, b.hi) - min(a.lo, b.lo); !a.drifts && !b.drifts && d < least {
				at, least = i, d
			}
		}
		if at < 0 {
			return all
		}
		a, b := all[at], all[at+1]
		all[at] = piece{a.from, b.to, min(a.lo, b.lo), max(a.hi, b.hi), false}
		all = slices.Delete(all, at+1, at+2)
	}
}

// spans says of each piece whether the hum stands still in it, and joins those
// in which it doesn't.
func (s series) spans(pieces []piece) []span {
	var spans []span
	for _, p := range pieces {
		still := !p.drifts && float64(p.to-p.from)*s.seconds >= stillSeconds
		if last := len(spans) - 1; last >= 0 && !still && !spans[last].still {
			spans[last].to = p.to
			continue
		}
		spans = append(spans, span{from: p.from, to: p.to, still: still})
	}
	return spans
}

// sharp takes a few steps in which the hum changes between two spans for the
// edge that they are, where those differ: each goes to the side it is nearer to.
func (s series) sharp(spans []span) []span {
	for i := 1; i+1 < len(spans); i++ {
		a, x, b := spans[i-1], spans[i], spans[i+1]
		if x.still || x.to-x.from > leastSteps || !a.still || !b.still {
			continue
		}
		from, to := s.dB(a.from, a.to), s.dB(b.from, b.to)
		if math.Abs(to-from) < changeDB {
			continue
		}
		at := x.from
		for at < x.to && math.Abs(s.dB(at, at+1)-from) < math.Abs(s.dB(at, at+1)-to) {
			at++
		}
		spans[i-1].to, spans[i+1].from = at, at
		spans = slices.Delete(spans, i, i+1)
		i--
	}
	return spans
}

// levels measures each span.
func (s series) levels(spans []span) []span {
	for i, x := range spans {
		from, to := x.measured(len(s.steps))
		spans[i].Level = mains.MeanOfSteps(s.steps[from:to])
	}
	return spans
}
