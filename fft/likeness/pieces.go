package likeness

import (
	"math"
	"math/cmplx"

	"humdiff/fft"
)

const (
	pieceSeconds = 2.0
	// pieceLag is how far a piece's lag may lie from the sketches', seconds.
	pieceLag = 0.025
)

// cell is a piece's cross-spectrum in one band.
type cell struct {
	cross  complex128
	aa, bb float64
}

// pieceAt is where a piece of two seconds is most alike.
type pieceAt struct {
	atS  float64 // middle, from the stretches' starts
	lag  float64 // seconds, on top of the difference of starts
	peak float64 // correlation's magnitude at that lag
}

// pieces cuts two sequences at one rate into pieces and transforms them.
type pieces struct {
	rate        float64
	n, reach    int // samples of a piece, and how far its lag may lie
	first, last int // bins of the noise
	t           *fft.Transform
	p, q        []complex128
}

func newPieces(rate, low, high float64) *pieces {
	c := &pieces{rate: rate, n: int(pieceSeconds * rate), reach: int(math.Ceil(pieceLag * rate))}
	c.t = fft.NewTransform(fft.PowerOfTwo(c.n + c.reach + 1))
	c.p, c.q = make([]complex128, c.t.N), make([]complex128, c.t.N)
	c.first = int(low / c.binHz())
	c.last = min(int(high/c.binHz()), c.t.N-1)
	return c
}

func (c *pieces) binHz() float64 { return c.rate / float64(c.t.N) }

// each leaves the spectra of every piece of x and y in p and q, and hands out the time of
// its middle, in seconds from the start.
func (c *pieces) each(x, y []complex128, take func(atS float64)) {
	for from := 0; from+c.n <= min(len(x), len(y)); from += c.n {
		clear(c.p[copy(c.p, x[from:from+c.n]):])
		clear(c.q[copy(c.q, y[from:from+c.n]):])
		c.t.Forward(c.p)
		c.t.Forward(c.q)
		take((float64(from) + float64(c.n)/2) / c.rate)
	}
}

// lags are those at which the pieces are most alike.
func (c *pieces) lags(x, y []complex128) (found []pieceAt) {
	c.each(x, y, func(atS float64) {
		pp, qq := 0.0, 0.0
		for j := range c.p {
			pp, qq = pp+square(c.p[j]), qq+square(c.q[j])
			c.p[j] *= cmplx.Conj(c.q[j])
		}
		if pp == 0 || qq == 0 {
			return
		}
		c.t.Inverse(c.p)
		lag, peak := peakNear(c.p, c.reach)
		found = append(found, pieceAt{atS, lag / c.rate, peak * float64(c.t.N) / math.Sqrt(pp*qq)})
	})
	return found
}

// cells are the pieces' spectra in each band, the lags of a line taken back.
func (c *pieces) cells(x, y []complex128, l line) (rows [][bands]cell) {
	c.each(x, y, func(atS float64) {
		var row [bands]cell
		lag := l.lag + l.slope*(atS-l.midS)
		turn, step := turned(float64(c.first)*c.binHz(), lag), turned(c.binHz(), lag)
		for j := c.first; j < c.last; j++ {
			cell := &row[(j-c.first)*bands/(c.last-c.first)]
			cell.cross += c.p[j] * cmplx.Conj(c.q[j]) * turn
			cell.aa, cell.bb = cell.aa+square(c.p[j]), cell.bb+square(c.q[j])
			turn *= step
		}
		rows = append(rows, row)
	})
	return rows
}

// square is |z|²; its products are rounded, so that it is the same on every processor.
func square(z complex128) float64 { return float64(real(z)*real(z)) + float64(imag(z)*imag(z)) }

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

// turned takes back what a lag does to a cross-spectrum.
func turned(hz, lag float64) complex128 { return cmplx.Rect(1, 2*math.Pi*hz*lag) }
