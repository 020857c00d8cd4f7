// Package noise turns a measurement into noise totals: the power between
// 20 Hz and 20 kHz without hum lines and other found tones, flat, A-weighted
// and weighted by ITU-R BS.468-4. It assumes that the measurement's Occupied
// bands cover every bin in which a line or a tone stands out of the floor.
package noise

import (
	"math"

	"humdiff/fft"
	"humdiff/fft/lend"
	"humdiff/fft/mains"
	"humdiff/report/weighting"
)

// The band of the totals, in hertz.
const (
	Low  = 20.0
	High = 20000.0
)

// usable is the share of the sample rate up to which a converter's filter
// leaves the noise alone.
const usable = 0.49

// Detector names the detector that reads the weighted noise: the mean square.
// It isn't the quasi-peak detector of BS.468-4, which reads noise higher.
const Detector = "rms"

// Totals are noise powers relative to the mean square of a full-scale sine.
// NaN where the band holds no bin free of lines.
type Totals struct {
	Lo, Hi float64 // the band integrated, Hz
	Flat   float64
	A      float64 // A-weighted, IEC 61672-1
	W468   float64 // by the curve of ITU-R BS.468-4, rms detector
	Filled float64 // share of the band that was occupied and is interpolated, 0 to 1
}

// Top is where the band of the totals ends at a sample rate: at High, or at
// 0.49 of the rate where that is less.
func Top(rate float64) float64 { return math.Min(High, usable*rate) }

// Of integrates the measurement's density from Low to hi hertz, at most Top of
// its rate. Two captures are compared over the band both have: hi is then the
// lower of their tops. Each bin stands for the band of one bin width around
// it, of which the part inside the limits counts. Bins inside Occupied
// bands are replaced by a line, in log power over log frequency, between the
// means of the free bins on both sides; at the ends of the spectrum by the
// mean on the one side there is.
func Of(m mains.Measurement, hi float64) Totals {
	t := Totals{Lo: Low, Hi: math.Min(hi, Top(m.Spectrum.Rate)), Flat: math.NaN(), A: math.NaN(), W468: math.NaN()}
	floor, ok := floorOf(m.Spectrum, m.Occupied)
	if !ok || !(t.Hi > t.Lo) {
		return t
	}
	t.Flat, t.A, t.W468 = 0, 0, 0
	var filled float64
	for _, c := range cellsOf(grid{floor.binHz, len(floor.density), t.Lo, t.Hi}) {
		density := floor.density[c.bin]
		t.Flat += density * c.width
		t.A += density * c.a
		t.W468 += density * c.w468
		if floor.occupied[c.bin] {
			filled += c.width
		}
	}
	t.Filled = filled / (t.Hi - t.Lo)
	return t
}

// grid is where the bins of a spectrum lie, and the band that counts.
type grid struct {
	binHz  float64
	bins   int
	lo, hi float64
}

// cell is the part of the band that a bin stands for: its width, and the
// weightings' integrals over it.
type cell struct {
	bin            int
	width, a, w468 float64
}

// cellsOf is every cell of a grid that is in the band. Captures of a bench share
// one grid, and the weightings cost more than all the rest.
func cellsOf(g grid) []cell {
	return grids.Of(g, func() (cells []cell) {
		for j := range g.bins {
			if lo, hi := g.cell(j); hi > lo {
				cells = append(cells, cell{j, hi - lo, integral(weighting.APower, lo, hi), integral(weighting.ITU468Power, lo, hi)})
			}
		}
		return cells
	})
}

// grids are a megabyte each.
var grids = lend.Memo[grid, []cell]{Most: 4}

// cell is the band that bin j stands for, limited to the band that counts.
func (g grid) cell(j int) (lo, hi float64) {
	return math.Max(g.lo, (float64(j)-0.5)*g.binHz), math.Min(g.hi, (float64(j)+0.5)*g.binHz)
}

// integral is a weighting's integral over a cell by the two-point
// Gauss-Legendre rule, exact for cubics: a cell is narrow, but at 20 Hz the
// A-weighting is steep.
func integral(weight func(hz float64) float64, lo, hi float64) float64 {
	mid, half := (lo+hi)/2, (hi-lo)/2
	return half * (weight(mid-half/math.Sqrt(3)) + weight(mid+half/math.Sqrt(3)))
}

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
		from := max(0, int(math.Round(b.Lo/s.BinHz())))
		to := min(last, int(math.Round(b.Hi/s.BinHz())))
		for j := from; j <= to; j++ {
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
