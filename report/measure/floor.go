package measure

import (
	"iter"
	"math"
	"slices"

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
	f := floor{binHz: s.BinHz(), density: slices.Clone(s.Density), occupied: occupiedBins(s, bands)}
	if !slices.Contains(f.occupied, false) {
		return floor{}, false
	}
	for from, to := range runs(f.occupied) {
		if f.occupied[from] {
			f.fill(from, to)
		}
	}
	return f, true
}

// occupiedBins marks the bins whose cell an occupied band touches, and the
// bins of 0 Hz and of half the rate, which have no one-sided density.
func occupiedBins(s fft.Spectrum, bands []mains.Band) []bool {
	occupied := make([]bool, len(s.Density))
	last := len(occupied) - 1
	occupied[0], occupied[last] = true, true
	nearest := func(hz float64) int {
		if place := hz / s.BinHz(); place > 0 {
			return int(math.Round(min(place, float64(last))))
		}
		return 0
	}
	for _, b := range bands {
		for j := nearest(b.Lo); j <= nearest(b.Hi); j++ {
			occupied[j] = true
		}
	}
	for from, to := range runs(occupied) {
		for j := from; j < to && to-from < flank/2; j++ {
			occupied[j] = true
		}
	}
	return occupied
}

// runs are the runs of equal marks, each from one to before another.
func runs(marks []bool) iter.Seq2[int, int] {
	return func(yield func(from, to int) bool) {
		for from, to := 0, 0; from < len(marks); from = to {
			for to = from + 1; to < len(marks) && marks[to] == marks[from]; to++ {
			}
			if !yield(from, to) {
				return
			}
		}
	}
}

// fill draws a line in log power over log frequency through the gap from ≤ j < to, between
// the levels on both sides, or level with the one side that has free bins. Digital
// silence has no log power: a side that reads zero makes the gap zero.
func (f floor) fill(from, to int) {
	below, logBelow := f.side(from-1, -1)
	above, logAbove := f.side(to, +1)
	level, slope := below, 0.0
	switch {
	case math.IsNaN(below):
		level = above
	case math.IsNaN(above):
	case !(below > 0 && above > 0):
		level = 0
	default:
		slope = math.Log(above/below) / (logAbove - logBelow)
	}
	for j := from; j < to; j++ {
		f.density[j] = level
		if slope != 0 { // and so j > 0
			f.density[j] *= math.Exp(slope * (math.Log(float64(j)*f.binHz) - logBelow))
		}
	}
}

// side averages density and log frequency of up to flank free bins from bin j on, in
// steps of step; NaN: there is none.
func (f floor) side(j, step int) (density, logHz float64) {
	n := 0.0
	for ; n < flank && j > 0 && j < len(f.density) && !f.occupied[j]; j += step {
		logHz += math.Log(float64(j) * f.binHz)
		density += f.density[j]
		n++
	}
	return density / n, logHz / n
}
