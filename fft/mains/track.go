package mains

import (
	"math"
	"math/cmplx"
	"slices"
)

// trackSNR is how far above its noise a line must stand in a block to be
// followed; below it, phases slip by whole cycles.
const trackSNR = 10.0

// leastFollowed is how many blocks of a segment a track takes.
const leastFollowed = 4

// anyPhase is the scatter, rad², from which a line's phase may be anything: that of such a
// one is π²/3.
const anyPhase = 2.0

// faintShare is the share of its noise below which a line isn't there in a block.
const faintShare = 0.1

// lowest are the harmonics by which a track begins, where any of them stands.
const lowest = 8

// mostFollowed is how many lines are followed at the most.
const mostFollowed = 12

// track is the fundamental's phase from block to block of a segment.
type track struct {
	phase    []float64 // rad, at block centres, unwrapped
	hz       []float64 // at block centres
	variance float64   // of phase, rad², mean: the track's own noise
	wander   float64   // strength of the frequency's random walk, rad²/s³
	most     float64   // that strength, as large as the phases leave it open
	slips    float64   // variance of its advance, cycles², because of gaps
	states   []walkState
	shift    []float64 // see follower: with the steps found at gaps
	out      []bool    // see follower: with the blocks in which no line followed is there; nil: it is in all
}

// advance is the phase's advance, in cycles, from before the first block centre
// to after the last, with its variance.
func (t track) advance(before, after float64) (cycles, variance float64) {
	cycles, variance = t.between(0, len(t.phase)-1, before, after)
	return cycles, variance + t.slips
}

// between is the phase's advance, in cycles, from before one block's centre to after a
// later one's, with its variance: the walk carried on at both ends.
func (t track) between(from, to int, before, after float64) (cycles, variance float64) {
	first, last := t.states[from].step(-before, 0), t.states[to].step(after, t.wander)
	// Backwards, a walk strays as it does forwards.
	first.pp += t.wander * before * before * before / 3
	const turn = 2 * math.Pi
	// No phase is known better than it can be written down.
	rounding := 2e-16 * t.phase[to]
	variance = max(first.pp, 0) + max(last.pp, 0) + rounding*rounding
	return (t.phase[to] + after*t.states[to].rate - t.phase[from] + before*t.states[from].rate) / turn, variance / (turn * turn)
}

// follower follows the mains through one segment.
type follower struct {
	l      layout
	k      kernel
	blocks []block
	out    []bool                   // blocks that say nothing of the mains' phase; nil: none
	noise  func(hz float64) float64 // in a block's line estimate
	aside  []float64                // Hz; tones in whose main lobe no line can be followed
	again  bool                     // a track led away
	faint  bool                     // out has blocks in which no line is there
	breaks bool                     // samples may be lost in gaps
	shift  []float64                // rad by which the fundamental's phase has stepped before each block; nil: by nothing
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
	if f.kept() < leastFollowed {
		return track{}, false
	}
	hop := f.l.hopSeconds()
	t = track{phase: make([]float64, n), hz: make([]float64, n)}
	for b := range t.phase {
		t.phase[b], t.hz[b] = 2*math.Pi*f0*hop*float64(b), f0
	}
	all := f.candidates(f0)
	low := 0
	for low < len(all) && all[low] <= lowest {
		low++
	}
	lines := f.strong(t, all[:low], mostFollowed)
	if len(lines) == 0 {
		lines = f.strong(t, all[low:], mostFollowed)
	}
	if len(lines) == 0 || !f.leaveFaint(lines) {
		return track{}, false
	}
	if f.faint {
		t.out = f.out
	}
	if steps := f.unroll(&t, f0, lines); steps != nil {
		f.shift = steps
	}
	t.shift = f.shift
	first := lines[0].h
	for range 4 {
		if lines = f.strong(t, all, mostFollowed); len(lines) == 0 {
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
	t.slips = f.slips(t, first)
	if other, ok := f.elsewhere(t, f0, lines); ok {
		return other, true
	}
	return t, true
}

// leaveFaint leaves out the blocks in which none of the lines is there: hum that goes
// below a converter's step leaves nothing but what transforms round to, whose phase is
// anything. Of lines that are there, one block in 10⁵ reads as little. False where too few
// are left.
func (f *follower) leaveFaint(lines []followed) bool {
	out := make([]bool, len(f.blocks))
	for b := range out {
		there := slices.ContainsFunc(lines, func(line followed) bool { return power(line.phasors[b]) > faintShare*line.noise })
		out[b] = f.skips(b) || !there
		f.faint = f.faint || !there
	}
	if f.faint {
		f.out = out
	}
	return f.kept() >= leastFollowed
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
	noise   float64 // in a block
	snr     float64 // in a block, mean
}

// at gives lines' phasors at their multiples of the track. All lines of a block are read
// at once: a segment's blocks are more than a cache holds.
func (f follower) at(t track, harmonics []int) []followed {
	lines := make([]followed, len(harmonics))
	for i, h := range harmonics {
		lines[i] = followed{h: float64(h), phasors: make([]complex128, len(f.blocks))}
	}
	hz, n := 0.0, 0.0
	for b, bins := range f.blocks {
		for i := range lines {
			line := &lines[i]
			a := f.k.phasor(bins, line.h*t.hz[b])
			if f.shift != nil {
				a *= cmplx.Rect(1, -line.h*f.shift[b])
			}
			if line.phasors[b] = a; !f.skips(b) {
				line.snr += power(a)
			}
		}
		if !f.skips(b) {
			hz += t.hz[b]
			n++
		}
	}
	for i, line := range lines {
		lines[i].noise = f.noise(line.h * hz / n)
		lines[i].snr = line.snr/n/lines[i].noise - 1
	}
	return lines
}

// strong lists those of the given harmonics to follow: those high enough above
// their noise in a block, at most so many, those that fix the phase best.
func (f follower) strong(t track, harmonics []int, most int) []followed {
	lines := slices.DeleteFunc(f.at(t, harmonics), func(line followed) bool { return !(line.snr >= trackSNR) })
	for len(lines) > most {
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
// guess, before the higher ones. Over a gap the guess is how fast the mains went
// right before and behind it; where samples may be lost in gaps, what the phase is off
// that counts as a step, and the shifts with all steps are returned.
func (f follower) unroll(t *track, f0 float64, lines []followed) (shift []float64) {
	advances := make([]float64, len(t.phase)) // beyond f0's, from the block kept before
	for b := 1; b < len(advances); b++ {
		if !f.skips(b) && !f.skips(b-1) {
			advances[b] = f.advance(f0, lines, b-1, b, 0)
		}
	}
	for _, g := range f.gaps() {
		before, after := f.rate(advances, g.from-g.beside(), g.from), f.rate(advances, g.to, g.to+g.beside())
		guess := float64(g.to-g.from) * (before + after) / 2
		advances[g.to] = f.advance(f0, lines, g.from, g.to, guess)
		if !f.breaks {
			continue
		}
		if shift == nil {
			shift = make([]float64, len(f.blocks))
			copy(shift, f.shift)
		}
		for b := g.to; b < len(shift); b++ {
			shift[b] += advances[g.to] - guess
		}
		advances[g.to] = guess
	}
	offset := 0.0
	for b, a := range advances {
		offset += a
		t.phase[b] += offset
	}
	f.smooth(t, nil)
	return shift
}

// advance is by how much the phase advances from one block to a later one, beyond
// f0's, as the lines have it that fits a guess best.
func (f follower) advance(f0 float64, lines []followed, from, to int, guess float64) float64 {
	weight := 0.0
	for _, line := range lines {
		if line.h > lowest && weight > 0 {
			break
		}
		turn := cmplx.Phase(line.phasors[to]*cmplx.Conj(line.phasors[from])) - line.h*2*math.Pi*f0*f.l.hopSeconds()*float64(to-from)
		residual := math.Remainder(turn-line.h*guess, 2*math.Pi)
		w := line.h * line.h * line.snr
		guess += residual / line.h * w / (weight + w)
		weight += w
	}
	return guess
}

// gap is what lies between two blocks that are kept, numbers from and to, and has
// none.
type gap struct{ from, to int }

func (f follower) gaps() (all []gap) {
	last := -1
	for b := range f.blocks {
		if f.skips(b) {
			continue
		}
		if last >= 0 && b > last+1 {
			all = append(all, gap{last, b})
		}
		last = b
	}
	return all
}

// beside is on how many blocks on either side the guess over a gap rests: few, for
// the mains wanders, and not so few that their noise counts.
func (g gap) beside() int { return max(8, (g.to-g.from)/2) }

// rate is the mean advance of a block between two, of those that follow each other;
// of all there are where those are none.
func (f follower) rate(advances []float64, from, to int) float64 {
	sum, n := 0.0, 0.0
	for b := max(from, 0) + 1; b <= min(to, len(advances)-1); b++ {
		if !f.skips(b) && !f.skips(b-1) {
			sum, n = sum+advances[b], n+1
		}
	}
	if n == 0 && (from > 0 || to < len(advances)-1) {
		return f.rate(advances, 0, len(advances)-1)
	}
	return sum / math.Max(n, 1)
}

// slips is the variance, in square cycles, that the phase's advance has because the
// mains may have gone on by whole cycles of the lowest line followed, more or less, in a
// gap, wandering as much as it may elsewhere: 1.96 standard deviations are as many cycles as
// are likely, at 99 %. Where samples may be lost, all that it strays by in a gap is open.
func (f follower) slips(t track, lowest float64) (variance float64) {
	for _, g := range f.gaps() {
		gap, beside := float64(g.to-g.from)*f.l.hopSeconds(), float64(g.beside())*f.l.hopSeconds()
		// A walk's integral, its ends' rates known to the means over what lies beside them.
		sd := math.Sqrt(t.most*gap*gap*(gap/12+beside/6)) / (2 * math.Pi)
		if f.breaks {
			variance += sd * sd
			continue
		}
		cycles := math.Round(2.58*sd*lowest) / lowest
		variance += cycles * cycles / (1.96 * 1.96)
	}
	return variance
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
		// A line that doesn't hold its phase to the others counts for less, and one whose
		// phase is anything not at all: a resampler's images run against the mains.
		if scatter > anyPhase {
			continue
		}
		variance := max(scatter, 1/(2*line.snr))
		w := line.h * line.h / variance
		for b := range sum {
			sum[b] += w * residual[b] / line.h
		}
		weight += w
	}
	if weight == 0 {
		f.smooth(t, nil)
		return
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
	if f.kept() < 12 {
		thin = 1
	}
	var apart phases
	for b := 0; b < len(t.phase); b += thin {
		apart.add(t.phase[b], f.skips(b))
	}
	// Overlapping blocks share noise: as many as they are, they tell less.
	shared := float64(len(t.phase)) / f.l.phasorAverages(len(t.phase))
	var states []walkState
	strengths := walkStrengths(apart, hop*float64(thin), v)
	t.most = strengths[len(strengths)-1].q
	states, t.wander = averageWalks(phases{t.phase, f.out}, hop, v*shared, strengths)
	t.variance = 0
	kept := float64(f.kept())
	for b, s := range states {
		t.phase[b], t.hz[b] = s.phase, s.rate/(2*math.Pi)
		if !f.skips(b) {
			t.variance += s.pp / kept
		}
	}
	t.states = states
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
