package measure

import (
	"math"

	"humdiff/fft"
	"humdiff/fft/mains"
)

// floor is a spectrum whose occupied bins have been filled in.
type floor struct {
	binHz    float64
	density  []float64
	occupied []bool
}

// flank is how many free bins beside a gap give the level there. Fewer than
// half of that between two gaps say too little: they join the gaps.
const flank = 8

// floorOf fills the occupied bins of a spectrum. It reports false where no
// bin is free.
func floorOf(s fft.Spectrum, bands []mains.Band) (floor, bool) {
	if len(s.Density) < 2 {
		return floor{}, false
	}
	f := floor{binHz: s.BinHz(), density: append([]float64(nil), s.Density...), occupied: occupiedBins(s, bands)}
	bins := len(f.density)
	for from := 0; from < bins; {
		if !f.occupied[from] {
			from++
			continue
		}
		to := run(f.occupied, from)
		if !f.fill(from, to) {
			return floor{}, false
		}
		from = to
	}
	return f, true
}

// occupiedBins marks the bins whose cell an occupied band touches, and the
// bins of 0 Hz and of half the rate, which have no one-sided density.
func occupiedBins(s fft.Spectrum, bands []mains.Band) []bool {
	occupied := make([]bool, len(s.Density))
	last := len(occupied) - 1
	occupied[0], occupied[last] = true, true
	for _, b := range bands {
		for j := binAt(b.Lo/s.BinHz(), last); j <= binAt(b.Hi/s.BinHz(), last); j++ {
			occupied[j] = true
		}
	}
	for from := 0; from <= last; {
		to := run(occupied, from)
		if !occupied[from] && to-from < flank/2 {
			for j := from; j < to; j++ {
				occupied[j] = true
			}
		}
		from = to
	}
	return occupied
}

// binAt is the bin nearest to a place, between 0 and last.
func binAt(place float64, last int) int {
	if !(place > 0) {
		return 0
	}
	return int(math.Round(math.Min(place, float64(last))))
}

// run is the end of the run of equal marks that starts at from.
func run(marks []bool, from int) int {
	to := from + 1
	for to < len(marks) && marks[to] == marks[from] {
		to++
	}
	return to
}

// point is a level of the floor at a frequency.
type point struct{ logHz, density float64 }

// fill replaces the densities of the gap from ≤ j < to. It reports false
// where neither side has a free bin.
func (f floor) fill(from, to int) bool {
	below, okBelow := f.side(from-1, -1)
	above, okAbove := f.side(to, +1)
	switch {
	case !okBelow && !okAbove:
		return false
	case !okBelow:
		below = above
	case !okAbove:
		above = below
	}
	f.join(from, to, below, above)
	return true
}

// side averages up to flank free bins from bin j on, in steps of step.
func (f floor) side(j, step int) (point, bool) {
	var p point
	n := 0.0
	for ; n < flank && j > 0 && j < len(f.density) && !f.occupied[j]; j += step {
		p.logHz += math.Log(float64(j) * f.binHz)
		p.density += f.density[j]
		n++
	}
	return point{p.logHz / n, p.density / n}, n > 0
}

// join draws a line in log power over log frequency from a to b through a gap.
// Digital silence has no log power: a side that reads zero makes the gap zero.
func (f floor) join(from, to int, a, b point) {
	level, slope := a.density, 0.0
	switch {
	case a.logHz == b.logHz:
	case !(a.density > 0 && b.density > 0):
		level = 0
	default:
		slope = math.Log(b.density/a.density) / (b.logHz - a.logHz)
	}
	for j := from; j < to; j++ {
		f.density[j] = level
		if slope != 0 { // and so j > 0
			f.density[j] *= math.Exp(slope * (math.Log(float64(j)*f.binHz) - a.logHz))
		}
	}
}
