package judge

import (
	"math"
	"slices"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// leastReferred is how long a span has to be to show how steady ratios are: three times
// the eight blocks that are averaged, s.
const leastReferred = 15

// TrendReferred is what a reference tells of a span in which hum stands still: the ratios of
// some harmonics, or of the strongest line where none are named, and what came since the
// first such span; nil: this is the first. Since one in which the reference itself changed
// nothing is known to have come, and a warning says so.
func TrendReferred(set model.Settings, harmonics []int, first *model.Capture, c model.Capture) (*model.TrendReferred, []model.Warning) {
	var said list
	r := &model.TrendReferred{SteadyDB: model.None, Ratios: []model.TrendRatio{}, Added: estimate.None("")}
	if c.Reference == nil {
		r.Why = model.ReferenceWeak
		return r, nil
	}
	r.Why, r.SteadyDB = c.Reference.Why, c.Reference.SteadyDB
	switch {
	case r.Why == model.ReferenceWeak && c.EndS-c.StartS < leastReferred:
		r.Why = model.ReferenceShort
	case r.Why == "":
		before := c
		if first != nil {
			before = *first
			p := Pair(set, *first, c)
			if said.reference(p); len(said) > 0 {
				r.Why = referenceMoved
			} else {
				r.Added = p.Hum.Pickup
			}
		}
		if len(harmonics) == 0 {
			harmonics = []int{strongestReferred(before)}
		}
		r.Ratios = ratiosOf(harmonics, c)
	}
	return r, model.Once(said)
}

func ratiosOf(harmonics []int, c model.Capture) []model.TrendRatio {
	all := []model.TrendRatio{}
	for _, l := range c.Lines {
		if l.Ratio != nil && slices.Contains(harmonics, l.Harmonic) {
			all = append(all, model.TrendRatio{Harmonic: l.Harmonic, Ratio: *l.Ratio})
		}
	}
	return all
}

// strongestReferred is the harmonic of the strongest line that has a ratio.
func strongestReferred(c model.Capture) (harmonic int) {
	top := math.Inf(-1)
	for _, l := range c.Lines {
		if v, ok := l.Level.Value(); ok && l.Ratio != nil && v > top {
			harmonic, top = l.Harmonic, v
		}
	}
	return harmonic
}
