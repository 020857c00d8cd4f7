package mains

import (
	"math"
	"math/cmplx"
)

// trackSNR is how far above its noise a line must stand in a block to be
// followed; below it, phases slip by whole cycles.
const trackSNR = 10.0

// mostFollowed is how many lines are followed at the most.
const mostFollowed = 12

// track is the fundamental's phase from block to block of a segment.
type track struct {
	phase    []float64 // rad, at block centres, unwrapped
	hz       []float64 // at block centres
	variance float64   // of phase, rad², mean: the track's own noise
	wander   float64   // strength of the frequency's random walk, rad²/s³
	ends     [2]walkState
}

// advance is the phase's advance, in cycles, from before the first block centre
// to after the last, with its variance: the walk carried on at both ends.
func (t track) advance(before, after float64) (cycles, variance float64) {
	n := len(t.phase) - 1
	first, last := t.ends[0].step(-before, 0), t.ends[1].step(after, t.wander)
	// Backwards, a walk strays as it does forwards.
	first.pp += t.wander * before * before * before / 3
	const turn = 2 * math.Pi
	// No phase is known better than it can be written down.
	rounding := 2e-16 * t.phase[n]
	variance = max(first.pp, 0) + max(last.pp, 0) + rounding*rounding
	return (t.phase[n] + after*t.ends[1].rate - t.phase[0] + before*t.ends[0].rate) / turn, variance / (turn * turn)
}

// follower follows the mains through one segment.
type follower struct {
	l      layout
	k      kernel
	blocks []block
	out    []bool                   // blocks that say nothing of the mains' phase; nil: none
	noise  func(hz float64) float64 // in a block's line estimate
	aside  []float64                // Hz; tones in whose main lobe no line can be followed
}

// skips says whether block b is left out.
func (f follower) skips(b int) bool { return f.out != nil && f.out[b] }

// kept is how many blocks are not left out.
func (f follower) kept() (n int) {
	for b := range f.blocks {
		if !f.skips(b) {
			n++
		}
	}
	return n
}

// follow tracks the mains from a first guess of its frequency. ok is false
// where no line stands high enough, or the segment is too short.
func (f follower) follow(f0 float64) (t track, ok bool) {
	n := len(f.blocks)
	if f.kept() < 4 {
		return track{}, false
	}
	hop := f.l.hopSeconds()
	t = track{phase: make([]float64, n), hz: make([]float64, n)}
	for b := range t.phase {
		t.phase[b], t.hz[b] = 2*math.Pi*f0*hop*float64(b), f0
	}
	all := f.candidates(f0)
	lines := f.strong(t, all)
	if len(lines) == 0 {
		return track{}, false
	}
	f.unroll(&t, f0, lines)
	for range 4 {
		if lines = f.strong(t, all); len(lines) == 0 {
			return track{}, false
		}
		if len(lines) == mostFollowed { // a better track would choose no better ones
			all = all[:0]
			for _, line := range lines {
				all = append(all, int(line.h))
			}
		}
		f.correct(&t, lines)
	}
	return t, true
}

// candidates are the harmonics that may be followed.
func (f follower) candidates(f0 float64) (all []int) {
	for h := 1; h <= min(60, f.l.harmonics(nearestNominal(f0), f0)); h++ {
		if !f.besideTone(float64(h) * f0) {
			all = append(all, h)
		}
	}
	return all
}

// followed is a line's phasors at its multiple of the track.
type followed struct {
	h       float64
	phasors []complex128
	snr     float64 // in a block, mean
}

// at gives a line's phasors at its multiple of the track.
func (f follower) at(t track, h int) followed {
	line := followed{h: float64(h), phasors: make([]complex128, len(f.blocks))}
	sum, hz, n := 0.0, 0.0, 0.0
	for b, bins := range f.blocks {
		line.phasors[b] = f.k.phasor(bins, line.h*t.hz[b])
		if f.skips(b) {
			continue
		}
		sum += power(line.phasors[b])
		hz += t.hz[b]
		n++
	}
	line.snr = sum/n/f.noise(line.h*hz/n) - 1
	return line
}

// strong lists those of the given harmonics to follow: those high enough above
// their noise in a block, at most mostFollowed, those that fix the phase best.
func (f follower) strong(t track, harmonics []int) []followed {
	var lines []followed
	for _, h := range harmonics {
		if line := f.at(t, h); line.snr >= trackSNR {
			lines = append(lines, line)
		}
	}
	for len(lines) > mostFollowed {
		worst := 0
		for i, line := range lines {
			if line.h*line.h*line.snr < lines[worst].h*lines[worst].h*lines[worst].snr {
				worst = i
			}
		}
		lines = append(lines[:worst], lines[worst+1:]...)
	}
	return lines
}

func (f follower) besideTone(hz float64) bool {
	for _, tone := range f.aside {
		if math.Abs(tone-hz) < float64(f.l.window.MainLobe())*f.l.binHz() {
			return true
		}
	}
	return false
}

// unroll finds the phase's advance from each block to the next from the low
// lines, whose phase cannot have turned more than half a cycle away from the
// guess, before the higher ones.
func (f follower) unroll(t *track, f0 float64, lines []followed) {
	hop := f.l.hopSeconds()
	offset, last := 0.0, -1 // the last block that says something
	for b := range t.phase {
		if last < 0 || f.skips(b) {
			t.phase[b] += offset
			if !f.skips(b) {
				last = b
			}
			continue
		}
		advance, weight := 0.0, 0.0
		if b > last+1 && last > 0 { // a gap: on as it went so far
			advance = offset / float64(last) * float64(b-last)
		}
		for _, line := range lines {
			if line.h > 8 && weight > 0 {
				break
			}
			turn := cmplx.Phase(line.phasors[b]*cmplx.Conj(line.phasors[last])) - line.h*2*math.Pi*f0*hop*float64(b-last)
			residual := math.Remainder(turn-line.h*advance, 2*math.Pi)
			w := line.h * line.h * line.snr
			advance = (advance*weight + (advance+residual/line.h)*w) / (weight + w)
			weight += w
		}
		offset, last = offset+advance, b
		t.phase[b] += offset
	}
	f.smooth(t, nil)
}

// correct improves the track by what the lines' phases say against it.
func (f follower) correct(t *track, lines []followed) {
	n, kept := len(t.phase), float64(f.kept())
	sum, weight := make([]float64, n), 0.0
	for _, line := range lines {
		mean := complex(0, 0)
		turned := make([]complex128, n)
		for b, a := range line.phasors {
			if f.skips(b) {
				continue
			}
			turned[b] = a * cmplx.Rect(1, -line.h*t.phase[b])
			mean += turned[b]
		}
		residual, scatter := make([]float64, n), 0.0
		for b := range turned {
			residual[b] = cmplx.Phase(turned[b] * cmplx.Conj(mean)) // 0 where nothing is said
			scatter += residual[b] * residual[b] / kept
		}
		// A line that doesn't hold its phase to the others counts for less.
		variance := max(scatter, 1/(2*line.snr))
		w := line.h * line.h / variance
		for b := range sum {
			sum[b] += w * residual[b] / line.h
		}
		weight += w
	}
	for b := range sum {
		t.phase[b] += sum[b] / weight
	}
	variance := 1 / weight
	f.smooth(t, &variance)
}

// smooth fits a frequency that walks at random through the phases. Without a
// known variance it takes the phases' own roughness for it.
func (f follower) smooth(t *track, variance *float64) {
	hop := f.l.hopSeconds()
	v := f.roughness(t.phase)
	if variance != nil {
		v = *variance
	}
	thin := max(1, f.l.apart()/2) // blocks half a length apart share next to no noise
	if len(t.phase) < 12 {
		thin = 1
	}
	var apart phases
	for b := 0; b < len(t.phase); b += thin {
		apart.add(t.phase[b], f.skips(b))
	}
	// Overlapping blocks share noise: as many as they are, they tell less.
	shared := float64(len(t.phase)) / f.l.phasorAverages(len(t.phase))
	var states []walkState
	states, t.wander = averageWalks(phases{t.phase, f.out}, hop, v*shared, walkStrengths(apart, hop*float64(thin), v))
	t.variance = 0
	for b, s := range states {
		t.phase[b], t.hz[b] = s.phase, s.rate/(2*math.Pi)
		if !f.skips(b) {
			t.variance += s.pp / float64(f.kept())
		}
	}
	t.ends = [2]walkState{states[0], states[len(states)-1]}
}

// roughness is the variance of phases about their neighbours' line.
func (f follower) roughness(phase []float64) float64 {
	sum, n := 0.0, 0.0
	for b := 2; b < len(phase); b++ {
		if f.skips(b) || f.skips(b-1) || f.skips(b-2) {
			continue
		}
		d := phase[b] - 2*phase[b-1] + phase[b-2]
		sum, n = sum+d*d/6, n+1
	}
	if n == 0 {
		return 1 // no three blocks in a row: nothing is known
	}
	return max(sum/n, 1e-12)
}
