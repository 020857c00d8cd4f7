package health

import (
	"math"
	"slices"

	"humdiff/fft/vector"
)

const (
	// hushEvery is how often the sharpness of so many samples is looked at, or all of
	// them: where rates are low, hum bends as much as noise does, and in a cycle up and
	// down.
	hushEvery   = 0.02 // s
	hushSamples = 320
	hushLeast   = 100 // looks that say anything
	// hushedShare is the power, of what there usually is, below which it is hushed, and
	// openShare that above which it isn't.
	hushedShare, openShare = 0.1, 0.25
	// openSpread is how far the loudest fifth of what isn't hushed may lie above its
	// middle where it is steady: noise in 320 samples scatters by a seventh, and what is
	// of all levels in decibels lies 1.5 times above.
	openSpread = 1.35
	// shutSpread is how far three fifths of what is hushed may lie above one fifth where it is
	// a gate's: 200 drawn ones gave 1.24 at the most, music with long notes 6.2 at the least.
	shutSpread = 3.0
)

// hush looks for a gate: what is recorded is steady, and for times nearly gone. Clicks
// over steady noise, music and speech aren't so: they are of all levels.
type hush struct {
	levels []float32 // second differences' power, each hushEvery
	next   int64     // sample at which the next look begins
}

func (h *hush) add(x []float64, rate float64, at int64) {
	every := max(16, int64(math.Ceil(hushEvery*min(rate, 1e9))))
	n := min(every, hushSamples)
	for ; h.next+n <= at+int64(len(x)); h.next += every {
		if from := h.next - at; from >= 0 {
			h.levels = append(h.levels, float32(vector.Look(x[from:from+n]).Bend))
		}
	}
}

// seconds is for how long it is hushed; 0 where what there is besides isn't steady.
func (h *hush) seconds(samples int64, rate float64) float64 {
	if len(h.levels) < hushLeast {
		return 0
	}
	sorted := slices.Sorted(slices.Values(h.levels))
	high := sorted[len(sorted)*9/10]
	for range 2 { // from the loudest down to what is usual of the loud
		first, _ := slices.BinarySearch(sorted, openShare*high)
		open := sorted[first:]
		middle := open[len(open)/2]
		if open[len(open)*4/5] > openSpread*middle {
			return 0
		}
		high = middle
	}
	n, _ := slices.BinarySearch(sorted, hushedShare*high)
	if least := sorted[n/5]; least > 0 && sorted[n*3/5] > shutSpread*least {
		return 0
	}
	return float64(n) / float64(len(sorted)) * float64(samples) / rate
}

// moves is the range, dB, over eighths of the capture of the level that a twentieth of
// each lies below: of what there is besides words and clicks.
func (h *hush) moves() float64 {
	if len(h.levels) < hushLeast {
		return 0
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range 8 {
		part := slices.Sorted(slices.Values(h.levels[i*len(h.levels)/8 : (i+1)*len(h.levels)/8]))
		level := 10 * math.Log10(math.Max(float64(part[len(part)/20]), math.SmallestNonzeroFloat64))
		lo, hi = min(lo, level), max(hi, level)
	}
	return hi - lo
}
