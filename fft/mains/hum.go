package mains

import (
	"math"
	"slices"
)

// floorModel is the share by which floors may be off together: their bias is
// within 0.1 dB (measured: fixtures/proof), and a sum of many lines sees it.
const floorModel = 0.02

// totalModelDB is modelDB for a sum: what lines that stray from the mains lose
// within blocks all goes one way.
const totalModelDB = 0.007

// hiddenBy is how far above its floor the noise of a line has to be, because of
// tones on it or beside it, for it to be left out of the total: its own share of
// hum can't be told there, and its uncertainty would swamp all others'.
const hiddenBy = 4

// total adds lines up, noise taken off each.
type total struct {
	excess   float64
	noise    float64
	variance float64
	surest   float64 // largest lower end of a line that is found
	model    float64 // by which excess may be off for other reasons than noise
}

func (t *total) add(r reading) {
	a := max(r.excess(), 0)
	t.excess += r.excess()
	t.noise += r.noise
	t.variance += r.noise * (2*a + r.noise) / r.averages(a)
	t.model += a * r.model * math.Ln10 / 10
}

// level is the sum's; it counts as detected where any of its lines is.
func (t total) level(detected bool) Level {
	half := 1.96*math.Sqrt(t.variance) + floorModel*t.noise + t.model
	nan := math.NaN()
	if detected && t.excess > 0 {
		// No less than the strongest line found in it says.
		lo := max(t.excess-half, min(t.surest, t.excess))
		return Level{
			Detected: true, Power: t.excess, Limit: nan,
			Lo: widen(t.excess, lo, totalModelDB), Hi: widen(t.excess, t.excess+half, totalModelDB),
		}
	}
	return Level{Power: nan, Lo: nan, Hi: nan, Limit: max(t.excess, 0) + half}
}

func anyDetected(lines []Line, leftOut []int) bool {
	for _, line := range lines {
		if line.Detected && !slices.Contains(leftOut, line.Harmonic) {
			return true
		}
	}
	return false
}

// surest is the largest lower end of a line that is found and not left out.
func surest(lines []Line, leftOut []int) (lo float64) {
	for _, line := range lines {
		if line.Detected && !slices.Contains(leftOut, line.Harmonic) {
			lo = max(lo, line.Lo)
		}
	}
	return lo
}

// leftOut lists the harmonics that are not added up.
func leftOut(lines []Line, without []int) (out []int) {
	for _, line := range lines {
		if line.Hidden || slices.Contains(without, line.Harmonic) {
			out = append(out, line.Harmonic)
		}
	}
	return out
}
