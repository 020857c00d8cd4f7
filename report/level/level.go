// Package level takes levels out of results: a result states them in decibels,
// the maths works in powers. So totals and differences can be made anew from
// results alone, wherever the captures are. Its functions are pure.
package level

import (
	"math"
	"slices"

	"humdiff/fft/mains"
	"humdiff/report/result"
	"humdiff/report/weighting"
)

// OfLine is the level a result states of a line; NaN what it doesn't state.
func OfLine(l result.Line) mains.Level {
	return mains.Level{Detected: l.State == result.Detected, Power: power(l.DBFS), Lo: power(l.LoDBFS), Hi: power(l.HiDBFS), Limit: power(l.LimitDBFS)}
}

// OfHum is the level a result states of a total; NaN what it doesn't state.
func OfHum(h result.HumSide) mains.Level {
	return mains.Level{Detected: h.State == result.Detected, Power: power(h.DBFS), Lo: power(h.LoDBFS), Hi: power(h.HiDBFS), Limit: power(h.LimitDBFS)}
}

func power(db result.Num) float64 {
	if !db.Ok() {
		return math.NaN()
	}
	return math.Pow(10, float64(db)/10)
}

// Total is the total over a set of a capture's lines, with its interval or its
// limit: see mains.Total. Over the very lines of the capture's own total it is
// that.
func Total(c result.Capture, set mains.Set) mains.Level {
	own := OfHum(c.Hum)
	if set.Weight == nil && isOwn(c, set) {
		return own
	}
	lines := make([]mains.Line, len(c.Lines))
	for i, l := range c.Lines {
		lines[i] = line(l)
	}
	finest := power(c.FinestDBFS)
	if math.IsNaN(finest) {
		finest = 0
	}
	return mains.Total(lines, own, finest, set)
}

// isOwn says that a set leaves out none of the lines that are in a capture's own
// total.
func isOwn(c result.Capture, set mains.Set) bool {
	if set.Lines != 0 && set.Lines < len(c.Lines) {
		return false
	}
	return !slices.ContainsFunc(c.Lines, func(l result.CaptureLine) bool { return !l.Hidden && slices.Contains(set.Without, l.Harmonic) })
}

// line is as much of a line as a total needs.
func line(l result.CaptureLine) mains.Line {
	s := l.Share
	return mains.Line{
		Harmonic: l.Harmonic, Hz: number(l.Hz), Level: OfLine(l.Line), Hidden: l.Hidden, Method: l.Method,
		Share: mains.Share{Excess: number(s.Excess), Noise: number(s.Noise), Variance: number(s.Variance), Model: number(s.Model)},
	}
}

func number(n result.Num) float64 {
	if !n.Ok() {
		return math.NaN()
	}
	return float64(n)
}

// Common is the largest set of lines that may be added up in each of some
// captures: as many as the one with the fewest has, without those that a tone
// hides in any. Not ok where there is none: no line was measured in one of them.
func Common(captures ...result.Capture) (set mains.Set, ok bool) {
	for i, c := range captures {
		if i == 0 || len(c.Lines) < set.Lines {
			set.Lines = len(c.Lines)
		}
	}
	for _, c := range captures {
		for _, l := range c.Lines {
			if l.Hidden && l.Harmonic <= set.Lines {
				set.Without = append(set.Without, l.Harmonic)
			}
		}
	}
	slices.Sort(set.Without)
	set.Without = slices.Compact(set.Without)
	return set, set.Lines > 0
}

// AWeighted is a set whose lines count as much as they do to the A-weighting of
// IEC 61672-1.
func AWeighted(set mains.Set) mains.Set {
	set.Weight = weighting.APower
	return set
}
