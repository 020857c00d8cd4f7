package mains

import (
	"math"
	"math/cmplx"

	"humdiff/fft"
)

// A block says what a line does on average over two seconds. Its bins around the line
// say more: transformed back they are the line's amplitude and phase against time,
// under the block's window. Overlapping blocks added up are the line's envelope.

const (
	envelopeBins = 16 // to either side of a line: 11 Hz of it
	// The envelope is known at times at which the windows' sum of squares is this share
	// of its usual one: noise is by its inverse stronger there. Of a line far above its
	// noise less does.
	mostEdge, leastEdge = 0.02, 0.0005
)

// envelope is a line's half-amplitude against time, turned back by a frequency near the
// line's.
type envelope struct {
	hz    float64 // of the line
	start float64 // s, of the first value, from the centre of the first block
	step  float64 // s
	a     []complex128
	noise float64 // power expected in each value
}

// band is how far it reaches to either side of the line, Hz.
func (e envelope) band() float64 { return 0.5 / e.step }

// time is when value i is, in seconds from the centre of the first block.
func (e envelope) time(i int) float64 { return e.start + float64(i)*e.step }

// at is the value nearest to a time from the first block's centre, from 0 to len(a).
func (e envelope) at(t float64) int {
	return fft.Whole(math.Ceil((t-e.start)/e.step), 0, len(e.a))
}

// newEnvelope is the envelope of what lies within envelopeBins of hz. density is the
// noise's there, usual about the line's power.
func newEnvelope(l layout, blocks []block, hz, density, usual float64) envelope {
	bin := l.binHz()
	width := float64(2*envelopeBins + 1)
	length := 1 / bin
	e := envelope{hz: hz, step: length / (2 * envelopeBins), start: -length / 2}
	n := fft.Whole((float64(len(blocks)-1)*l.hopSeconds()+length)/e.step, 0, 2*envelopeBins*(len(blocks)+1)) + 1
	e.a = make([]complex128, n)
	weight := make([]float64, n)
	middle := fft.Whole(math.Round(hz/bin), 0, l.lowN)
	for b, x := range blocks {
		centre := float64(b) * l.hopSeconds()
		turn := cmplx.Rect(1, -2*math.Pi*fraction(hz*centre))
		for i := max(0, e.at(centre-length/2)); i < min(n, e.at(centre+length/2)); i++ {
			t := e.time(i) - centre
			w := windowAt(l, t/length)
			e.a[i] += complex(w, 0) * turn * backwards(x, middle, t*bin) * cmplx.Rect(1, -2*math.Pi*(hz-float64(middle)*bin)*t)
			weight[i] += w * w
		}
	}
	e.noise = density * width * bin
	least := medianOf(weight) * min(max(e.noise/usual, leastEdge), mostEdge)
	from, to := 0, n
	for from < n && weight[from] < least {
		from++
	}
	for to > from && weight[to-1] < least {
		to--
	}
	for i := from; i < to; i++ {
		e.a[i] /= complex(weight[i]*float64(l.lowN), 0)
	}
	e.start += float64(from) * e.step
	e.a = e.a[from:to]
	return e
}

// windowAt is the window at a time from its centre, as a share of its length.
func windowAt(l layout, t float64) (w float64) {
	for k, a := range l.window.Coeff {
		w += a * math.Cos(2*math.Pi*float64(k)*t)
	}
	return w
}

// backwards transforms the bins about the middle one back, at a time from the block's
// centre that is so many of the block's lengths.
func backwards(x block, middle int, t float64) complex128 {
	bin := func(j int) complex128 {
		if j > 0 && j < len(x) {
			return complex128(x[j])
		}
		return 0
	}
	step := cmplx.Rect(1, 2*math.Pi*t)
	sum, turn := bin(middle), step
	for k := 1; k <= envelopeBins; k++ {
		sum += bin(middle+k)*turn + bin(middle-k)*cmplx.Conj(turn)
		turn *= step
	}
	return sum
}
