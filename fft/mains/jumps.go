package mains

import (
	"math"
	"math/cmplx"
	"slices"

	"humdiff/fft/note"
)

const (
	// jumpSigmas is how far a step of the phase must lie beyond the scatter of
	// all others, by their median magnitude; that scatter has the wander in it.
	jumpSigmas = 8.0
	// noiseSigmas is the same for what noise alone makes of a step: the scatter of some
	// dozens, which overlap, may look smaller.
	noiseSigmas = 5.0
	leastJump   = 0.02 // rad of the fundamental; the phase of a line 44 dB above its noise scatters by half of it
	// jumpBlocks is the fewest other steps that show their scatter.
	jumpBlocks = 16
)

// Jump is a step of the mains' phase that its wander doesn't explain: samples
// were lost, or came twice.
type Jump struct {
	Seconds float64 // where, within a block
	Samples float64 // that are missing, but for whole mains cycles; below zero: too many
}

// addJumps looks for steps in the phase of the low line that stands highest. z
// are the lines' phasors turned back by the track t; the blocks of a segment
// begin at number `first`.
func (m *meter) addJumps(t track, z [][]complex128, first int) {
	apart, n := m.l.apart(), len(t.phase)
	h, snr := m.highestLow(z)
	if h == 0 || n-8*apart < jumpBlocks {
		return
	}
	phase := m.turned(t, z[h-1], h, first)
	// By how much the advance over a block's length exceeds that before and after.
	// In the middle of a long gap nobody saw how it went.
	steps := make([]float64, n)
	known, seen := m.seenAround(first, n, apart), m.seenAround(first, n, 0)
	all := func(of []bool, b int) bool { return of[b-apart] && of[b] && of[b+apart] && of[b+2*apart] }
	top := 0
	for b := apart; b+2*apart < n; b++ {
		if !all(known, b) {
			continue
		}
		steps[b] = 1.5*(phase[b+apart]-phase[b]) - 0.5*(phase[b+2*apart]-phase[b-apart])
		if math.Abs(steps[b]) > math.Abs(steps[top]) {
			top = b
		}
	}
	// A jump shows in all steps that reach over it. Where blocks are left out, the
	// track's own smooth run shows no scatter.
	var sizes []float64
	for b := apart; b+2*apart < n; b++ {
		if all(seen, b) && (b < top-2*apart || b > top+2*apart) {
			sizes = append(sizes, math.Abs(steps[b]))
		}
	}
	if len(sizes) < jumpBlocks {
		return
	}
	slices.Sort(sizes)
	noise := math.Sqrt(5/(2*max(snr-1, 1))) / float64(h) // of a step: 2·1.5² + 2·0.5² = 5
	limit := max(leastJump, jumpSigmas*sizes[len(sizes)/2]/0.6745, noiseSigmas*noise)
	for b := apart; b+2*apart < n; b++ {
		size := math.Abs(steps[b])
		if size <= limit || size < biggest(steps, b-2*apart, b+2*apart) {
			continue
		}
		m.jumps = append(m.jumps, Jump{
			Seconds: m.l.blockCentre(first+b) + float64(apart)/2*m.l.hopSeconds(),
			Samples: steps[b] / (2 * math.Pi * m.found.hz) * m.l.rate,
		})
		// What the phase jumped by is in f0's advance: in its interval, then, too.
		cycles := steps[b] / (2 * math.Pi)
		m.turnsVariance += cycles * cycles
	}
}

// highestLow is that of the first three harmonics that stands highest above its noise, and
// how far in a block; 0: none stands at all.
func (m *meter) highestLow(z [][]complex128) (h int, best float64) {
	for i := range min(3, len(z)) {
		sum := 0.0
		for _, a := range z[i] {
			sum += power(a)
		}
		if snr := sum / float64(len(z[i])) / m.blockNoise(float64(i+1)*m.found.hz); snr > best {
			best, h = snr, i+1
		}
	}
	return h, best
}

// partly says whether block b of the segment that begins at block `first` says nothing
// of the mains' phase.
func (m *meter) partly(first, b int) bool {
	return m.leaves(first+b) || m.there.part != nil && m.there.part[b]
}

// turned is the phase that z, harmonic h turned back by the track, says the mains
// has, block by block; in blocks left out, that of the nearest kept one.
func (m *meter) turned(t track, z []complex128, h, first int) []float64 {
	phase := make([]float64, len(z))
	turn, last := 0.0, -1
	for b, a := range z {
		if m.partly(first, b) {
			continue
		}
		before := turn
		if last >= 0 {
			turn += cmplx.Phase(a*cmplx.Conj(z[last])) / float64(h)
		}
		for gap := last + 1; gap < b; gap++ {
			phase[gap] = t.phase[gap] + before
			if last < 0 || gap-last > b-gap {
				phase[gap] = t.phase[gap] + turn
			}
		}
		phase[b], last = t.phase[b]+turn, b
	}
	for gap := last + 1; gap < len(z); gap++ {
		phase[gap] = t.phase[gap] + turn
	}
	return phase
}

// seenAround says of n blocks from a first one whether one that isn't left out lies
// within reach.
func (m *meter) seenAround(first, n, reach int) []bool {
	near := make([]bool, n)
	for b := range near {
		if !m.partly(first, b) {
			for i := max(b-reach, 0); i <= min(b+reach, n-1); i++ {
				near[i] = true
			}
		}
	}
	return near
}

// biggest is the largest magnitude of steps from one to another.
func biggest(steps []float64, from, to int) (most float64) {
	for b := max(from, 0); b <= min(to, len(steps)-1); b++ {
		most = max(most, math.Abs(steps[b]))
	}
	return most
}

func jumpWarnings(jumps []Jump) []note.Note {
	if len(jumps) == 0 {
		return nil
	}
	return []note.Note{note.New("phase_jumps", "jumps", len(jumps), "first_s", jumps[0].Seconds, "missing_samples", jumps[0].Samples)}
}
