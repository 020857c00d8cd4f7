package mains

import "math"

// A line far above its noise that keeps next to nothing of its phase to the mains is
// mostly something else. Two rivals look so, too: hum that comes and goes, of which a mean
// phasor holds as much as its amplitude says, and a track that is lost, which all lines
// above lose with it.

const (
	// astrayStands is how far above its noise a line stands to be looked at, and astrayShare
	// what it keeps of its power, as its amplitude runs, at the most.
	astrayStands, astrayShare = 10.0, 0.35
	// trackLost is what lines keep of a track that is lost.
	trackLost = 0.5
)

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
