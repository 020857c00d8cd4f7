package likeness

import (
	"math"
	"math/cmplx"
	"slices"
)

const (
	pieceSeconds = 2.0
	// pieceLag is how far a piece's lag may lie from the sketches', seconds.
	pieceLag = 0.025
	// clearPiece is the correlation at which a piece's lag is no chance.
	clearPiece = 0.05
)

// alike is how much of two stretches' noise is the same.
type alike struct {
	correlation float64 // median over bands, −1 … 1
	lagS        float64 // the first has at t + lagS what the second has at t, at midS of the second
	midS        float64
	ppm         float64 // by which the second runs faster
	uneven      float64 // share of cells of time and frequency that are not as much alike as the rest
	gainDB      float64 // of the second against the first
}

// cell is a piece's cross-spectrum in one band.
type cell struct {
	cross  complex128
	aa, bb float64
}

// piece is the correlation of two seconds.
type piece struct {
	atS   float64 // middle, in the second stretch
	lag   float64 // seconds, on top of the difference of starts
	peak  float64 // correlation's magnitude at that lag
	cells [bands]cell
}

// compareNoise correlates two stretches that begin at about the same moment. They
// have the same band.
func compareNoise(a, b *stretch) alike {
	x, y, rate := atOneRate(a, b)
	flatten(x)
	flatten(y)
	pieces := correlatePieces(x, y, rate, a.low, a.high)
	for i := range pieces {
		pieces[i].atS += b.startS
	}
	k := alike{}
	if len(pieces) == 0 {
		return k
	}
	k.midS = (pieces[0].atS + pieces[len(pieces)-1].atS) / 2
	lag, slope := fitLag(pieces, k.midS)
	centres := bandCentres(a.low, a.high)
	lag += refine(pieces, centres, k.midS, lag, slope)
	k.lagS, k.ppm = lag+a.startS-b.startS, 1e6*slope
	turnBack(pieces, centres, k.midS, lag, slope)
	k.correlation, k.gainDB = sum(pieces, a, b)
	k.uneven = unevenness(pieces)
	return k
}

// atOneRate brings the faster of two stretches to the other's rate.
func atOneRate(a, b *stretch) (x, y []complex128, rate float64) {
	switch {
	case a.rate > b.rate:
		return part(a.x, a.rate, 0, 0, b.rate), b.x, b.rate
	case b.rate > a.rate:
		return a.x, part(b.x, b.rate, 0, 0, a.rate), a.rate
	}
	return a.x, b.x, a.rate
}

// flatten holds down what stands still over the whole stretch.
func flatten(x []complex128) {
	t := newTransform(powerOfTwo(len(x)))
	bins := make([]complex128, t.n)
	copy(bins, x)
	t.forward(bins)
	holdDown(bins)
	t.inverse(bins)
	copy(x, bins)
}

func bandCentres(low, high float64) (hz [bands]float64) {
	for i := range hz {
		hz[i] = low + (float64(i)+0.5)*(high-low)/bands
	}
	return hz
}

func correlatePieces(x, y []complex128, rate, low, high float64) []piece {
	n, reach := int(pieceSeconds*rate), int(math.Ceil(pieceLag*rate))
	t := newTransform(powerOfTwo(n + reach + 1))
	p, q := make([]complex128, t.n), make([]complex128, t.n)
	var pieces []piece
	for from := 0; from+n <= min(len(x), len(y)); from += n {
		clear(p[copy(p, x[from:from+n]):])
		clear(q[copy(q, y[from:from+n]):])
		t.forward(p)
		t.forward(q)
		got := piece{atS: (float64(from) + float64(n)/2) / rate}
		total := fillCells(&got.cells, p, q, rate, low, high)
		if total == 0 {
			continue
		}
		for j := range p {
			p[j] *= cmplx.Conj(q[j])
		}
		t.inverse(p)
		lag, peak := peakNear(p, reach)
		got.lag, got.peak = lag/rate, peak*float64(t.n)/total
		pieces = append(pieces, got)
	}
	return pieces
}

// fillCells adds up spectra in each band, and returns the geometric mean of their
// whole powers.
func fillCells(cells *[bands]cell, p, q []complex128, rate, low, high float64) float64 {
	aa, bb := 0.0, 0.0
	binHz := rate / float64(len(p))
	first, last := int(low/binHz), min(int(high/binHz), len(p)-1)
	for j := first; j < last; j++ {
		c := &cells[(j-first)*bands/(last-first)]
		c.cross += p[j] * cmplx.Conj(q[j])
		u, v := real(p[j])*real(p[j])+imag(p[j])*imag(p[j]), real(q[j])*real(q[j])+imag(q[j])*imag(q[j])
		c.aa, c.bb = c.aa+u, c.bb+v
		aa, bb = aa+u, bb+v
	}
	return math.Sqrt(aa * bb)
}

// peakNear is where a correlation is largest within a reach, between samples by a
// parabola, and how large.
func peakNear(c []complex128, reach int) (lag, peak float64) {
	size := func(l int) float64 { return cmplx.Abs(c[l&(len(c)-1)]) }
	best := 0
	for l := -reach; l <= reach; l++ {
		if size(l) > size(best) {
			best = l
		}
	}
	left, mid, right := size(best-1), size(best), size(best+1)
	lag = float64(best)
	if bend := left - 2*mid + right; bend < 0 {
		lag += 0.5 * (left - right) / bend
	}
	return lag, mid
}

// fitLag is a line through the pieces' lags: its value at a time, and its slope. Medians
// (Theil 1950, Sen 1968), as a piece's lag may be chance.
func fitLag(pieces []piece, midS float64) (lag, slope float64) {
	var sound []piece
	for _, p := range pieces {
		if p.peak >= clearPiece {
			sound = append(sound, p)
		}
	}
	if len(sound) < 3 {
		sound = pieces
	}
	var slopes, lags []float64
	for i, p := range sound {
		for _, q := range sound[:i] {
			slopes = append(slopes, (p.lag-q.lag)/(p.atS-q.atS))
		}
	}
	if slope = medianOf(slopes); math.Abs(slope) > 2*mostPPM*1e-6 {
		slope = 0
	}
	for _, p := range sound {
		lags = append(lags, p.lag-slope*(p.atS-midS))
	}
	return medianOf(lags), slope
}

// refine is what the lag still lacks, by the phases of the bands.
func refine(pieces []piece, hz [bands]float64, midS, lag, slope float64) float64 {
	var cross [bands]complex128
	for _, p := range pieces {
		for i, c := range p.cells {
			cross[i] += c.cross * turned(hz[i], lag+slope*(p.atS-midS))
		}
	}
	best, at := 0.0, 0.0
	const step = 0.5e-6 // s
	for k := -120; k <= 120; k++ {
		sum := 0.0
		for i, c := range cross {
			sum += real(c * turned(hz[i], float64(k)*step))
		}
		if math.Abs(sum) > best {
			best, at = math.Abs(sum), float64(k)*step
		}
	}
	return at
}

// turned takes back what a lag does to a cross-spectrum.
func turned(hz, lag float64) complex128 { return cmplx.Rect(1, 2*math.Pi*hz*lag) }

func turnBack(pieces []piece, hz [bands]float64, midS, lag, slope float64) {
	for k := range pieces {
		p := &pieces[k]
		for i := range p.cells {
			p.cells[i].cross *= turned(hz[i], lag+slope*(p.atS-midS))
		}
	}
}

// sum is the median of the bands' correlations, and of their gains.
func sum(pieces []piece, a, b *stretch) (correlation, gainDB float64) {
	var rho, gain []float64
	densityA, densityB := medians(a.density), medians(b.density)
	for i := range bands {
		var all cell
		for _, p := range pieces {
			all.cross, all.aa, all.bb = all.cross+p.cells[i].cross, all.aa+p.cells[i].aa, all.bb+p.cells[i].bb
		}
		if all.aa == 0 || all.bb == 0 {
			continue
		}
		r := real(all.cross) / math.Sqrt(all.aa*all.bb)
		rho = append(rho, r)
		gain = append(gain, 20*math.Log10(math.Abs(r))+10*math.Log10(densityB[i]/densityA[i]))
	}
	return medianOf(rho), medianOf(gain)
}

// unevenness is the share of cells whose correlation lies 0.15 or more off its median.
func unevenness(pieces []piece) float64 {
	var rho []float64
	for _, p := range pieces {
		for _, c := range p.cells {
			if c.aa > 0 && c.bb > 0 {
				rho = append(rho, real(c.cross)/math.Sqrt(c.aa*c.bb))
			}
		}
	}
	middle, off := medianOf(rho), 0
	for _, r := range rho {
		if math.Abs(r-middle) > 0.15 {
			off++
		}
	}
	return float64(off) / float64(max(len(rho), 1))
}

// medians are the columns' medians.
func medians(rows [][]float64) (out [bands]float64) {
	for i := range out {
		var column []float64
		for _, row := range rows {
			column = append(column, row[i])
		}
		out[i] = medianOf(column)
	}
	return out
}

// medianOf is the median of x, which stays as it is; 0 of none.
func medianOf(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	s := sorted(x)
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

func sorted(x []float64) []float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	return s
}
