package mains

import "math"

// A line whose level moves from block to block while those beside it stand still has
// something else within its main lobe that beats with it: a motor whose slip swings, too
// restless to be told apart (apart.go). A line that itself turns against the mains keeps
// its level.

const (
	// aloneStands is how far above its noise a line stands for its moving to be seen.
	aloneStands = 10.0
	// aloneSurprise is how far beyond chance, as −ln P.
	aloneSurprise = 14.0
	// aloneShare is the least of a line's power that something else is, to be told, and
	// aloneReach among how many lines to either side it has to move alone.
	aloneShare, aloneReach = 1e-3, 6
	// onLineShare is how much of its amplitude may lie on the line: it moves, and so has
	// sidebands.
	onLineShare = 0.3
)

// aloneDB is by how many dB harmonic h may be off because something else, in its blocks
// too, beats with it.
func (m *meter) aloneDB(h int, noise float64) float64 {
	moves := m.lines[h-1].moving(noise)
	if moves < 2*aloneShare {
		return 0
	}
	var beside []float64
	for other := max(1, h-aloneReach); other <= min(len(m.lines), h+aloneReach); other++ {
		n := m.blockNoise(float64(other) * m.found.hz)
		if line := &m.lines[other-1]; other != h && line.blockPower.mean > aloneStands*n {
			beside = append(beside, line.moving(n))
		}
	}
	if len(beside) > 0 && moves < 2*medianOf(beside) { // all hum does
		return 0
	}
	return 10*math.Log10(1+moves/2) + 20*math.Log10(1+onLineShare*math.Sqrt(moves/2))
}

// moving is by how much a line's power differs from block to block, beyond noise, as a
// variance over its mean's square. Of something else beside it that is twice its share.
func (line *lineSums) moving(noise float64) float64 {
	a, n := line.blockPower.mean-noise, float64(line.moves.n)
	if a < aloneStands*noise || n == 0 {
		return 0
	}
	chance := noise * (2*a + noise) / (a * a)
	moves := line.moves.mean / (2 * a * a)
	// Steps that share a block say less: three tell as much as two apart.
	if gammaSurprise(n/3, moves/chance) < aloneSurprise {
		return 0
	}
	return moves - chance
}
