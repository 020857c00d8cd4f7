// Package trace reduces an averaged spectrum to what a figure can show. It
// takes bins evenly spaced in frequency and returns columns evenly spaced in
// log frequency, each with its lowest and its highest level, so that no line
// can vanish however few the columns are.
package trace

import (
	"math"

	"humdiff/fft"
	"humdiff/report/result"
)

// The band that a trace covers: what can be heard, or up to half the sample
// rate where that is lower.
const (
	LowHz  = 20.0
	HighHz = 20000.0
)

// Reduce sorts the bins of levels, the j-th at j·spacing hertz, into columns
// evenly spaced in log frequency from lo to hi hertz, both included. Each
// column that holds a bin gives one entry: the lowest and the highest level in
// it, and the frequency of the highest. Where bins are sparser than columns,
// that is one entry a bin. The entries' frequencies rise. A bin whose level is
// NaN is passed over; a column of such bins alone has NaN levels at its first
// bin. Levels may be in any unit. Reduce returns nothing where the range is
// empty: spacing and lo must be above 0, columns at least 1 and hi above lo.
func Reduce(spacing float64, levels []float64, columns int, lo, hi float64) (hz, low, high []float64) {
	if !(spacing > 0 && lo > 0 && hi > lo && columns > 0) {
		return nil, nil, nil
	}
	last, end := -1, 0.0 // column of the newest entry, and where it ends
	for j := firstBin(lo, spacing); j < len(levels); j++ {
		f := float64(j) * spacing
		if f > hi {
			break
		}
		if f < end {
			widen(&hz[len(hz)-1], &low[len(low)-1], &high[len(high)-1], f, levels[j])
			continue
		}
		if c := column(f, columns, lo, hi); c != last {
			last, end = c, columnEnd(c, columns, lo, hi)
			hz, low, high = append(hz, f), append(low, levels[j]), append(high, levels[j])
			continue
		}
		widen(&hz[len(hz)-1], &low[len(low)-1], &high[len(high)-1], f, levels[j])
	}
	return hz, low, high
}

// firstBin is the first bin at or above lo.
func firstBin(lo, spacing float64) int {
	return max(0, int(math.Ceil(lo/spacing)))
}

func column(f float64, columns int, lo, hi float64) int {
	c := int(float64(columns) * math.Log(f/lo) / math.Log(hi/lo))
	return min(max(c, 0), columns-1)
}

// columnEnd is just short of where a column ends: below it column needn't be
// asked, which takes long.
func columnEnd(c, columns int, lo, hi float64) float64 {
	const short = 1e-9 // far more than rounding, far less than a bin
	return lo * math.Pow(hi/lo, float64(c+1)/float64(columns)) * (1 - short)
}

// widen takes a bin into a column's entry.
func widen(hz, low, high *float64, f, level float64) {
	if math.IsNaN(level) {
		return
	}
	if !(level >= *low) {
		*low = level
	}
	if !(level <= *high) {
		*high, *hz = level, f
	}
}

// FromSpectrum reduces a spectrum taken from so many seconds to a result's
// trace. A bin's level is its density times its equivalent noise bandwidth: a
// line between two bins reads low by no more than the window's scalloping.
// Levels are rounded to 0.001 dB and frequencies to 0.001 Hz.
func FromSpectrum(s fft.Spectrum, seconds float64, columns int) result.Trace {
	t := result.Trace{
		BinHz:   result.Num(s.BinHz()),
		ENBWHz:  result.Num(s.ENBWHz()),
		Window:  s.Window,
		Seconds: result.Num(seconds),
	}
	powers, enbw := make([]float64, len(s.Density)), s.ENBWHz()
	for j, density := range s.Density {
		if powers[j] = density * enbw; powers[j] == 0 {
			powers[j] = math.NaN() // no level
		}
	}
	hz, low, high := Reduce(s.BinHz(), powers, columns, LowHz, math.Min(HighHz, s.Rate/2))
	t.Hz, t.LoDBFS, t.HiDBFS = thousandths(hz), thousandths(decibels(low)), thousandths(decibels(high))
	return t
}

func decibels(powers []float64) []float64 {
	for i, p := range powers {
		powers[i] = float64(result.DB(p))
	}
	return powers
}

// thousandths rounds for a file that people open: a drawing needs no more.
func thousandths(xs []float64) []result.Num {
	out := make([]result.Num, len(xs))
	for i, x := range xs {
		out[i] = result.Num(math.Round(x*1000) / 1000)
	}
	return out
}
