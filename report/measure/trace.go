package measure

import (
	"math"

	"humdiff/fft"
	"humdiff/report/model"
)

// traceColumns is how many columns a spectrum is reduced to: twice what a figure
// of usual width can show.
const traceColumns = 1600

// Trace reduces a spectrum taken from so many seconds to what a figure can show:
// columns evenly spaced in log frequency from 20 Hz to 20 kHz, or to half the
// sample rate, each with its lowest, mean and highest level, so that no line can
// vanish however few the columns are. A bin's level is its density times its
// equivalent noise bandwidth: a line between two bins reads low by no more than
// the window's scalloping. Levels are rounded to 0.001 dB and frequencies to
// 0.001 Hz: a drawing needs no more.
func Trace(s fft.Spectrum, seconds float64) model.Trace {
	if len(s.Density) == 0 {
		return model.NoTrace()
	}
	powers, enbw := make([]float64, len(s.Density)), s.ENBWHz()
	for j, density := range s.Density {
		if powers[j] = density * enbw; powers[j] == 0 {
			powers[j] = math.NaN() // no level
		}
	}
	hz, low, mean, high := reduce(s.BinHz(), powers, traceColumns, lowHz, math.Min(highHz, s.Rate/2))
	t := model.Trace{BinHz: seven(s.BinHz()), ENBWHz: seven(enbw), Window: s.Window, Seconds: seven(seconds), Hz: make([]model.Num, len(hz))}
	for i, x := range hz {
		t.Hz[i] = places(x, 3)
	}
	t.LoDBFS, t.MeanDBFS, t.HiDBFS = thousandths(low), thousandths(mean), thousandths(high)
	return t
}

// thousandths are powers in decibels.
func thousandths(powers []float64) []model.Num {
	out := make([]model.Num, len(powers))
	for i, p := range powers {
		out[i] = model.None
		if p > 0 {
			out[i] = places(10*math.Log10(p), 3)
		}
	}
	return out
}

// reduce sorts the bins of levels, the j-th at j·spacing hertz, into columns
// evenly spaced in log frequency from lo to hi hertz, both included. Each
// column that holds a bin gives one entry: the lowest, mean and highest level
// in it, and the frequency of the highest. Where bins are sparser than columns,
// that is one entry a bin. The entries' frequencies rise. A bin whose level is
// NaN is passed over; a column of such bins alone has NaN levels at its first
// bin. Levels may be in any unit. reduce returns nothing where the range is
// empty: spacing and lo must be above 0, columns at least 1 and hi above lo.
func reduce(spacing float64, levels []float64, columns int, lo, hi float64) (hz, low, mean, high []float64) {
	if !(spacing > 0 && lo > 0 && hi > lo && columns > 0) {
		return nil, nil, nil, nil
	}
	last := -1         // column of the newest entry
	var bins []float64 // with a level, of each entry
	for j := max(0, int(math.Ceil(lo/spacing))); j < len(levels) && float64(j)*spacing <= hi; j++ {
		f, x := float64(j)*spacing, levels[j]
		if c := column(f, columns, lo, hi); c != last {
			last = c
			hz, low, mean, high, bins = append(hz, f), append(low, math.NaN()), append(mean, 0), append(high, math.NaN()), append(bins, 0)
		}
		if math.IsNaN(x) {
			continue
		}
		i := len(hz) - 1
		if !(x >= low[i]) {
			low[i] = x
		}
		if !(x <= high[i]) {
			high[i], hz[i] = x, f
		}
		mean[i] += x
		bins[i]++
	}
	for i := range mean {
		mean[i] /= bins[i] // of none NaN
	}
	return hz, low, mean, high
}

func column(f float64, columns int, lo, hi float64) int {
	c := int(float64(columns) * math.Log(f/lo) / math.Log(hi/lo))
	return min(max(c, 0), columns-1)
}
