package measure

import (
	"math"

	"humdiff/fft"
	"humdiff/fft/lend"
	"humdiff/fft/mains"
	"humdiff/report/model"
	"humdiff/report/weighting"
)

// The band of the noise totals, in hertz.
const (
	lowHz  = 20.0
	highHz = 20000.0
)

// usable is the share of the sample rate up to which a converter's filter
// leaves the noise alone.
const usable = 0.49

// noiseTop is where the band ends at a sample rate.
func noiseTop(rate float64) float64 { return math.Min(highHz, usable*rate) }

// noiseTotals are noise powers without hum lines and other found tones, relative
// to the mean square of a full-scale sine. NaN where the band holds no bin free of
// lines.
type noiseTotals struct {
	lo, hi float64 // the band integrated, Hz
	flat   float64
	a      float64 // A-weighted, IEC 61672-1
	filled float64 // share of the band that was occupied and is interpolated, 0 to 1
}

func (t noiseTotals) noise() model.Noise {
	return model.Noise{BandHz: [2]float64{t.lo, t.hi}, DBFS: model.DB(t.flat), ADBFS: model.DB(t.a)}
}

// noNoise is what is known where nothing was asked for.
var noNoise = model.Noise{DBFS: model.None, ADBFS: model.None}

// noiseIn integrates a density from lowHz to hi hertz, at most to the top of its
// rate. Two captures are compared over the band both have: hi is then the lower of
// their tops. Each bin stands for the band of one bin width around it, of which
// the part inside the limits counts. Bins inside the occupied bands, in which a
// line or a tone stands out of the floor, are replaced by a line, in log power
// over log frequency, between the means of the free bins on both sides; at the
// ends of the spectrum by the mean on the one side there is.
func noiseIn(s fft.Spectrum, occupied []mains.Band, hi float64) noiseTotals {
	t := noiseTotals{lo: lowHz, hi: math.Min(hi, noiseTop(s.Rate)), flat: math.NaN(), a: math.NaN()}
	f, ok := floorOf(s, occupied)
	if !ok || !(t.hi > t.lo) {
		return t
	}
	t.flat, t.a = 0, 0
	var filled float64
	for _, c := range cellsOf(grid{f.binHz, len(f.density), t.lo, t.hi}) {
		density := f.density[c.bin]
		t.flat += density * c.width
		t.a += density * c.a
		if f.occupied[c.bin] {
			filled += c.width
		}
	}
	t.filled = filled / (t.hi - t.lo)
	return t
}

// grid is where the bins of a spectrum lie, and the band that counts.
type grid struct {
	binHz  float64
	bins   int
	lo, hi float64
}

// cell is the part of the band that a bin stands for: its width, and the
// A-weighting's integral over it.
type cell struct {
	bin      int
	width, a float64
}

// cellsOf is every cell of a grid that is in the band. Captures of a bench share
// one grid, and the weighting costs more than all the rest.
func cellsOf(g grid) []cell {
	return grids.Of(g, func() []cell {
		cells := make([]cell, 0, g.bins)
		for j := range g.bins {
			if lo, hi := g.cell(j); hi > lo {
				cells = append(cells, cell{j, hi - lo, integral(weighting.APower, lo, hi)})
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
