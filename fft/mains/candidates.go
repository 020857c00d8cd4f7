package mains

import (
	"cmp"
	"math"
	"slices"
)

// candidate is a comb that stands out of the noise.
type candidate struct {
	found
	score float64 // −ln of the probability that noise makes it, each line's share capped
	own   float64 // power beyond noise of its lines that the other comb doesn't share
	clear int     // of those, how many stand out
}

const (
	// combEnd is up to where combs are told apart by power: a generator's kilohertz
	// lies on every 20th line of 50 Hz.
	combEnd = 975.0 // Hz
	// sharedReach is how many half-widths of a main lobe lie between lines of two
	// combs that are told apart.
	sharedReach = 1.5
)

// weigh puts the comb first that holds more power on its own lines. Where no comb
// has a line that the other doesn't share, the first is ambiguous.
func weigh(all []candidate, o *observation, l layout, surprise []float64) {
	for i := range all {
		var other *candidate
		if len(all) == 2 {
			other = &all[1-i]
		}
		all[i].own, all[i].clear = all[i].power(o, l, surprise, other)
	}
	slices.SortStableFunc(all, func(a, b candidate) int {
		if a.clear == 0 && b.clear == 0 {
			return cmp.Compare(b.score, a.score)
		}
		switch {
		case a.lone() == b.lone():
			return cmp.Compare(b.own, a.own)
		case a.lone(): // a tone beside a comb
			return 1
		}
		return -1
	})
	if len(all) == 2 {
		all[0].ambiguous = all[0].clear == 0
	}
}

// lone says whether the comb is one line where a public grid seldom is.
func (c candidate) lone() bool {
	return c.clear <= 1 && math.Abs(c.hz-c.nominal) > usualOffset
}

// power is what stands on the comb's own lines beyond noise, and on how many of them
// something stands out.
func (c candidate) power(o *observation, l layout, surprise []float64, other *candidate) (sum float64, clear int) {
	for h := 1; float64(h)*c.hz < min(combEnd, l.upTo); h++ {
		hz := float64(h) * c.hz
		if other != nil && shares(hz, other.hz, l) {
			continue
		}
		i := peakNear(&o.scan, hz, 2)
		if i >= len(surprise) || surprise[i] < loneShare {
			continue
		}
		sum += max(0, o.scan.mean[i]-o.rough[i/2]*l.lineENBW)
		clear++
	}
	return sum, clear
}

// shares says whether a comb at f0 has a line so near to hz that they can't be told
// apart.
func shares(hz, f0 float64, l layout) bool {
	return math.Abs(math.Remainder(hz, f0)) < sharedReach*float64(l.window.MainLobe())*l.binHz()
}
