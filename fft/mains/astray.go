package mains

import (
	"math"
	"math/cmplx"
)

// A line far above its noise that keeps next to nothing of its phase to the mains is
// mostly something else. Two rivals look so, too: hum that comes and goes, of which a mean
// phasor holds as much as its amplitude says, and a track that is lost, which all lines
// above lose with it. And what it is else is a tone only where it follows a frequency of
// its own.

const (
	// astrayStands is how far above its noise a line stands to be looked at, and astrayShare
	// what it keeps of its power, as its amplitude runs, at the most.
	astrayStands, astrayShare = 100.0, 0.2
	// trackLost is what lines keep of a track that is lost, and toneKeeps what a tone
	// keeps at its own frequency.
	trackLost, toneKeeps = 0.5, 0.5
)

// addOwn looks at a line of a segment that strays by a frequency of its own. z are its
// phasors turned back by the track, the first of block number `first`.
func (m *meter) addOwn(line *lineSums, h int, z []complex128, t track, first int) {
	var by, steady, size, n float64
	mean := complex(0, 0)
	for b, a := range z {
		if !m.leaves(first + b) {
			mean, size, by, n = mean+a, size+cmplx.Abs(a), by+power(a), n+1
		}
	}
	steady, size = power(mean/complex(n, 0)), power(complex(size/n, 0))
	if by/n < astrayStands*m.blockNoise(float64(h)*m.found.hz) || steady > astrayShare*size {
		return
	}
	own := make([]complex128, len(z)) // turned back by its place, then by its own frequency
	for b, a := range z {
		if !m.leaves(first + b) {
			own[b] = a * cmplx.Rect(1, float64(h)*(t.phase[b]-2*math.Pi*fraction(m.found.hz*float64(b)*m.l.hopSeconds())))
		}
	}
	rate := 0.0
	for lag := 1; lag < len(z)/2; lag *= 4 {
		turn := complex(0, 0)
		for b := lag; b < len(own); b++ {
			turn += own[b] * cmplx.Conj(own[b-lag])
		}
		step := cmplx.Phase(turn) / float64(lag)
		rate += step
		for b := range own {
			own[b] *= cmplx.Rect(1, -step*float64(b))
		}
	}
	line.ownHz.add(float64(h)*m.found.hz + rate/(2*math.Pi*m.l.hopSeconds()))
	for from, to := range m.l.spans(len(z), 1) {
		sum, n := complex(0, 0), 0.0
		for b := from; b < to; b++ {
			if !m.leaves(first + b) {
				sum, n = sum+own[b], n+1
			}
		}
		if n > 0 {
			line.ownPower.add(power(sum / complex(n, 0)))
		}
	}
}

// kept is the share of its power, as its amplitude runs, that a line keeps in spans; NaN
// where it doesn't stand high enough to tell.
func (m *meter) kept(h int) float64 {
	line := &m.lines[h-1]
	if line.blockPower.mean < astrayStands*m.blockNoise(float64(h)*m.found.hz) {
		return math.NaN()
	}
	return line.spanPower.mean / line.spanSize.mean
}

// astray says whether harmonic h is mostly something that doesn't follow the mains.
func (m *meter) astray(h int) bool {
	if !(m.kept(h) < astrayShare) {
		return false
	}
	var above, below []float64
	for other := (h + 1) / 2; other <= len(m.lines); other++ {
		if k := m.kept(other); !math.IsNaN(k) && other < h {
			below = append(below, k)
		} else if !math.IsNaN(k) && other > h {
			above = append(above, k)
		}
	}
	if len(above) == 0 {
		above = below
	}
	return len(above) == 0 || medianOf(above) > trackLost
}

// ownTone is the frequency of the tone that harmonic h mostly is; ok is false where it is
// none.
func (m *meter) ownTone(h int) (hz float64, ok bool) {
	line := &m.lines[h-1]
	return line.ownHz.mean, line.ownPower.n > 0 && line.ownPower.mean > toneKeeps*line.blockPower.mean
}

// lobeHz is how far to either side of a line a tone lies on it.
func (m *meter) lobeHz() float64 { return float64(m.l.window.MainLobe()) * m.l.binHz() }
