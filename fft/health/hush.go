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
	// bent is the mean square of white noise's second differences, of its own.
	bent = 1 + 4 + 1
	// mostScatter, over the root of their samples, is how far looks may scatter whose lowest say
	// something of the floor: steady noise makes 8 dB, bursts in each half cycle 49 to 57 dB.
	mostScatter = 21.7
)

// hush looks for a gate: what is recorded is steady, and for times nearly gone. Clicks
// over steady noise, music and speech aren't so: they are of all levels.
type hush struct {
	levels []float32 // second differences' power, each hushEvery
	next   int64     // sample at which the next look begins
}

// lookSamples is how many samples there are from look to look.
func lookSamples(rate float64) int64 { return max(16, int64(math.Ceil(hushEvery*min(rate, 1e9)))) }

func (h *hush) add(x []float64, rate float64, at int64) {
	n := min(lookSamples(rate), hushSamples)
	for ; h.next+n <= at+int64(len(x)); h.next += lookSamples(rate) {
		if from := h.next - at; from >= 0 {
			h.levels = append(h.levels, float32(vector.Look(x[from:from+n]).Bend))
		}
	}
}

// facts says for how long it is hushed; nothing where what there is besides isn't steady.
func (h *hush) facts(f *Facts) {
	if len(h.levels) < hushLeast {
		return
	}
	n := float64(min(lookSamples(f.Rate), hushSamples) - 2)
	if h.scatter() < mostScatter/math.Sqrt(n) {
		f.FloorMoves = h.moves()
	}
	sorted := slices.Sorted(slices.Values(h.levels))
	high := sorted[len(sorted)*9/10]
	for range 2 { // from the loudest down to what is usual of the loud
		first, _ := slices.BinarySearch(sorted, openShare*high)
		open := sorted[first:]
		middle := open[len(open)/2]
		if open[len(open)*4/5] > openSpread*middle {
			return
		}
		high = middle
	}
	limit := hushedShare * high
	shut, _ := slices.BinarySearch(sorted, limit)
	if shut == 0 {
		return
	}
	if least := sorted[shut/5]; least > 0 && sorted[shut*3/5] > shutSpread*least {
		return
	}
	each := float64(f.Samples) / f.Rate / float64(len(sorted))
	f.Hushed = float64(shut) * each
	f.HushedFirst = float64(slices.IndexFunc(h.levels, func(x float32) bool { return x < limit })) * each
	f.HushedNoise = float64(sorted[shut/2]) / n / bent
}

// scatter is by how many dB half of the looks, and more, lie from the one before.
func (h *hush) scatter() float64 {
	apart := make([]float64, len(h.levels)-1)
	for i := range apart {
		apart[i] = math.Abs(decibels(h.levels[i+1]) - decibels(h.levels[i]))
	}
	return vector.Nth(apart, len(apart)/2)
}

// moves is the range, dB, over eighths of the capture of the level that a twentieth of
// each lies below: of what there is besides words and clicks.
func (h *hush) moves() float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range 8 {
		part := slices.Sorted(slices.Values(h.levels[i*len(h.levels)/8 : (i+1)*len(h.levels)/8]))
		level := decibels(part[len(part)/20])
		lo, hi = min(lo, level), max(hi, level)
	}
	return hi - lo
}

func decibels(level float32) float64 {
	return 10 * math.Log10(math.Max(float64(level), math.SmallestNonzeroFloat64))
}
