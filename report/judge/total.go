package judge

import (
	"math"
	"slices"

	"humdiff/fft/estimate"
	"humdiff/fft/mains"
	"humdiff/report/model"
	"humdiff/report/weighting"
)

// total is the hum over a set of a capture's lines, dBFS: see mains.Total. Over
// the very lines of the capture's own total it is that.
func total(c model.Capture, set mains.Set) model.Estimate {
	if set.Weight == nil && isOwn(c, set) {
		return c.Hum.Level
	}
	lines := make([]mains.Line, len(c.Lines))
	for i, l := range c.Lines {
		lines[i] = line(l)
	}
	finest := power(c.FinestDBFS.Float())
	if math.IsNaN(finest) {
		finest = 0
	}
	sum := mains.Total(lines, level(c.Hum.Level), finest, set)
	if sum.Detected {
		return model.Level(sum.Power, sum.Lo, sum.Hi)
	}
	return limit(model.DB(sum.Limit))
}

// limit is a level below which hum lies that wasn't found.
func limit(dbfs model.Num) model.Estimate {
	if !dbfs.Ok() {
		return estimate.None(WhyNoLevel)
	}
	return estimate.Below(float64(dbfs))
}

// isOwn says that a set leaves out none of the lines that are in a capture's own
// total.
func isOwn(c model.Capture, set mains.Set) bool {
	if set.Lines != 0 && set.Lines < len(c.Lines) {
		return false
	}
	return !slices.ContainsFunc(c.Lines, func(l model.Line) bool { return l.Counts() && slices.Contains(set.Without, l.Harmonic) })
}

// line is as much of a line as a total needs.
func line(l model.Line) mains.Line {
	s := l.Share
	return mains.Line{
		Harmonic: l.Harmonic, Hz: l.Hz.Float(), Level: level(l.Level), Hidden: l.Hidden, Method: l.Method,
		Share: mains.Share{Excess: s.Excess.Float(), Noise: s.Noise.Float(), Variance: s.Variance.Float(), Model: s.Model.Float()},
	}
}

// level is a level in dBFS as powers; NaN what isn't known.
func level(e model.Estimate) mains.Level {
	v, lo, hi := e.Numbers()
	if e.Measured() {
		return mains.Level{Detected: true, Power: power(v), Lo: power(lo), Hi: power(hi), Limit: math.NaN()}
	}
	return mains.Level{Power: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), Limit: power(hi)}
}

func power(db float64) float64 { return math.Pow(10, db/10) }

// common is the largest set of lines that may be added up in each of some
// captures: as many as the one with the fewest has, without those that a tone
// hides, or that have no floor, in any. Not ok where there is none: no line was
// measured in one of them.
func common(captures ...*model.Capture) (set mains.Set, ok bool) {
	for i, c := range captures {
		if i == 0 || len(c.Lines) < set.Lines {
			set.Lines = len(c.Lines)
		}
	}
	for _, c := range captures {
		for _, l := range c.Lines {
			if !l.Counts() && l.Harmonic <= set.Lines {
				set.Without = append(set.Without, l.Harmonic)
			}
		}
	}
	slices.Sort(set.Without)
	set.Without = slices.Compact(set.Without)
	return set, set.Lines > 0
}

// aWeighted is a set whose lines count as much as they do to the A-weighting of
// IEC 61672-1.
func aWeighted(set mains.Set) mains.Set {
	set.Weight = weighting.APower
	return set
}
