package mains

import (
	"iter"
	"math"
	"math/cmplx"
	"slices"

	"humdiff/fft"
)

// When hum is there: from the envelope of its strongest line.

const (
	// presenceSNR is how far above its noise the envelope has to stand to be looked at.
	presenceSNR = 20.0
	// presenceTries is how many lines are tried: one that beats with a tone beside it
	// says nothing.
	presenceTries = 4
	// offShare is the share of its usual power below which hum is off.
	offShare = 0.1
	// weakShare is what may be left of it then, in weakSeconds; in ten times as long, a
	// tenth of that.
	weakShare, weakSeconds = 0.02, 0.5
	// shortestOn is how long it is on or off at the least: shorter ones are glitches.
	shortestOn = 0.12 // s
	// stillSeconds is within what time a line's own frequency is read. Tones 0.25 Hz apart
	// beat once in it.
	stillSeconds = 4.0
	// swingShare is how much of the line's power has to lie in its swing to be told.
	swingShare = 0.002
	// breakFrom is the least step of the mains' phase that parts a track: 15 samples
	// at 48 kHz. breakSide is how much of the envelope on either side shows it.
	breakFrom, breakSide = 0.1, 0.6 // rad, s
	breakSigmas          = 10.0
	// openSigmas is how far beyond its scatter a step lies that may be a break: none of 500
	// sound captures had one.
	openSigmas = 5.0
	// breakStays is by how much the step may change within a second.
	breakStays = 0.3
	// mayReturn is by how much one may change that only may be a break: noise is in it.
	mayReturn = 0.7
	// burstDrift is by how much the fundamental's phase may stray while a burst lasts, of
	// longestBurst at the most: the mains wanders.
	burstDrift, longestBurst = 0.2, 6.0 // rad, s
	// breakDip is for how long the amplitude dips at a break.
	breakDip = 0.3 // s
	// wholeBlock is how much of a block's length, about its centre, hum has to be on
	// or off throughout.
	wholeBlock = 0.8
)

// presence is when hum is there in a segment, and how it swings.
type presence struct {
	envelope
	harmonic int
	out      []bool    // values that a burst spoils; nil: none
	power    []float64 // noise taken off, smoothed
	on       []bool
	level    float64 // power that it usually has while it is on
	swings   bool    // beyond noise, in amplitude rather than in phase
	scatter  float64 // of the amplitude while it is on, over its mean
	breaks   []phaseBreak
	open     float64 // rad of the fundamental, by which its phase may have stepped besides
}

// phaseBreak is a step of the mains' phase: samples were lost, or came twice.
type phaseBreak struct {
	at    float64 // s from the centre of the segment's first block
	turns float64 // rad, of the fundamental
}

// presence looks at the strongest lines of a segment. ok is false where none stands
// high enough.
func (m *meter) presence(blocks []block) (p presence, ok bool) {
	all, open := m.strongest(), 0.0
	for i, h := range all {
		p = m.presenceOf(h, blocks)
		p.breaks = p.findBreaks()
		p.ask(m, blocks, all)
		p.open = p.mayStep()
		if p.look() && !m.alone(p, blocks, all) {
			return p, true
		}
		if i == 0 {
			open = p.open
		}
		m.there.beating[h] = p.envelope
	}
	return presence{open: open}, false
}

// alone says that a line swings, without going, and no other strong one does: it beats with a
// tone that lies so near that its slow phase follows their beat.
func (m *meter) alone(p presence, blocks []block, all []int) bool {
	if !p.swings || slices.Contains(p.on, false) {
		return false
	}
	along, _ := p.swing()
	for _, h := range all {
		if h != p.harmonic {
			other := m.presenceOf(h, blocks)
			if with, _ := other.swing(); with > along/4 {
				return false
			}
		}
	}
	return len(all) > 1
}

// presenceOf is when harmonic h is there.
func (m *meter) presenceOf(h int, blocks []block) presence {
	hz := float64(h) * m.found.hz
	density := m.blockNoise(hz) / m.l.lineENBW
	p := presence{envelope: newEnvelope(m.l, blocks, hz, density, m.scan.near(hz)), harmonic: h}
	p.leaveOut(m, len(blocks))
	p.calmEnds(float64(len(blocks)-1) * m.l.hopSeconds())
	p.usual()
	return p
}

// leaveOut marks the values nearest to the blocks in which a burst is: of n blocks, the
// last that were seen.
func (p *presence) leaveOut(m *meter, n int) {
	if m.burst == nil {
		return
	}
	p.out = make([]bool, len(p.a))
	for i := range p.out {
		b := fft.Whole(math.Round(p.time(i)/m.l.hopSeconds()), 0, n-1)
		p.out[i] = m.burst[m.seen-n+b]
	}
}

// calmEnds lowers what comes before the first block's centre, and after the last's, to the
// most there is between them: what windows hardly see of the ends is a thump as likely as hum.
func (p *presence) calmEnds(last float64) {
	most, from, to := 0.0, p.at(0), p.at(last)
	for i := from; i < to; i++ {
		if !p.leaves(i) {
			most = max(most, cmplx.Abs(p.a[i]))
		}
	}
	for i, a := range p.a {
		if size := cmplx.Abs(a); most > 0 && size > most && (i < from || i >= to) {
			p.a[i] *= complex(most/size, 0)
		}
	}
}

// leaves says whether value i is left out.
func (p *presence) leaves(i int) bool { return p.out != nil && p.out[i] }

// strongest are the harmonics whose envelopes stand above their noise, the strongest
// first.
func (m *meter) strongest() (all []int) {
	power := map[int]float64{}
	for h := 1; h <= len(m.lines) && float64(h)*m.found.hz < combEnd; h++ {
		hz := float64(h) * m.found.hz
		if m.besideAside(hz) {
			continue
		}
		noise := m.blockNoise(hz)
		power[h] = m.scan.near(hz) - noise
		if power[h] > presenceSNR*noise/m.l.lineENBW*m.l.binHz()*(2*envelopeBins+1) {
			all = append(all, h)
		}
	}
	slices.SortFunc(all, func(a, b int) int {
		if power[a] > power[b] {
			return -1
		}
		return 1
	})
	return all[:min(len(all), presenceTries)]
}

// besideAside says whether a tone that was set aside lies within the envelope's band.
func (m *meter) besideAside(hz float64) bool {
	return slices.ContainsFunc(m.found.aside, func(tone float64) bool { return math.Abs(tone-hz) < envelopeBins*m.l.binHz() })
}

// look works out all else from the envelope, with its steps taken out; false where it beats.
func (p *presence) look() bool {
	if len(p.breaks) > 0 {
		p.mend()
		p.usual()
	}
	along, across := p.swing()
	if across > swingShare && across > along/3 {
		return false
	}
	p.swings = along > swingShare
	p.scatter = p.amplitudeScatter()
	return true
}

// usual works out the power against time, what it usually is, and when hum is on.
func (p *presence) usual() {
	reach := p.values(0.1)
	smooth := p.smoothed(reach, p.still())
	p.power = make([]float64, len(p.a))
	for i, a := range smooth {
		p.power[i] = power(a)
	}
	p.level = energyMedian(p.kept())
	p.on = make([]bool, len(p.a))
	for i := range p.on {
		p.on[i] = p.power[i] > offShare*p.level || p.leaves(i)
	}
	dropShort(p.on, p.values(shortestOn))
	p.keepWeak(float64(2*reach + 1))
	p.dropBursts()
}

// dropBursts takes out what nothing but a burst shows to be hum.
func (p *presence) dropBursts() {
	for from, to := range runs(p.on) {
		hum := false
		for i := from; i < to; i++ {
			hum = hum || !p.leaves(i)
		}
		if !hum {
			clear(p.on[from:to])
		}
	}
}

// kept are the powers that are not left out; all, where none would be kept.
func (p *presence) kept() (all []float64) {
	for i, x := range p.power {
		if !p.leaves(i) {
			all = append(all, x)
		}
	}
	if len(all) == 0 {
		return p.power
	}
	return all
}

// keepWeak takes back that hum is off where it is only weaker: what is left of hum that
// is off is noise, of which each value has so much less, and what the envelope's narrow
// band makes of its coming and going, which dies away.
func (p *presence) keepWeak(averaged float64) {
	for from, to := range runs(p.on) {
		if p.on[from] {
			continue
		}
		rest := weakShare * max(0.1, min(1, weakSeconds/(float64(to-from)*p.step)))
		if medianOf(p.power[from:to]) > max(rest*p.level, presenceSNR*p.noise/averaged) {
			for i := from; i < to; i++ {
				p.on[i] = true
			}
		}
	}
}

// mend takes the steps out of the envelope, and what the band's narrowness makes of
// each.
func (p *presence) mend() {
	const reach = 3
	shift, next := 0.0, 0
	for i := range p.a {
		for next < len(p.breaks) && p.time(i) >= p.breaks[next].at {
			shift += p.breaks[next].turns * float64(p.harmonic)
			next++
		}
		p.a[i] *= cmplx.Rect(1, -shift)
	}
	for _, x := range p.breaks {
		i := p.at(x.at)
		lo, hi := max(0, i-reach), min(len(p.a)-1, i+reach)
		for k := lo + 1; k < hi; k++ {
			t := complex(float64(k-lo)/float64(hi-lo), 0)
			p.a[k] = p.a[lo]*(1-t) + p.a[hi]*t
		}
	}
}

// values is how many values so many seconds have.
func (p *presence) values(seconds float64) int {
	return fft.Whole(math.Round(seconds/p.step), 1, 1<<20)
}

// still is the envelope turned back by its own frequency within stillSeconds: a high
// line of a mains that slopes strays by some hertz, in which means would lose it.
func (p *presence) still() []complex128 {
	turns := make([]complex128, len(p.a))
	for i := 1; i < len(p.a); i++ {
		if !p.leaves(i) {
			turns[i] = p.a[i] * cmplx.Conj(p.a[i-1])
		}
	}
	out, phase := p.smoothed(p.values(stillSeconds/2), turns), 0.0
	for i, turn := range out {
		phase += cmplx.Phase(turn)
		out[i] = p.a[i] * cmplx.Rect(1, -phase)
	}
	return out
}

// smoothed is the mean over reach values to either side, fewer at the ends.
func (p *presence) smoothed(reach int, a []complex128) []complex128 {
	sum := make([]complex128, len(a)+1)
	for i, x := range a {
		sum[i+1] = sum[i] + x
	}
	out := make([]complex128, len(a))
	for i := range a {
		lo, hi := max(0, i-reach), min(len(a), i+reach+1)
		out[i] = (sum[hi] - sum[lo]) / complex(float64(hi-lo), 0)
	}
	return out
}

// energyMedian is the power above which half of the energy lies.
func energyMedian(power []float64) float64 {
	sorted := slices.Sorted(slices.Values(power))
	sum, total := 0.0, 0.0
	for _, x := range sorted {
		total += x
	}
	for _, x := range sorted {
		if sum += x; sum >= total/2 {
			return x
		}
	}
	return 0
}

// runs are the stretches of one value, each from one place to before another. What is
// changed of a stretch changes none of the later ones.
func runs(on []bool) iter.Seq2[int, int] {
	return func(yield func(from, to int) bool) {
		for from, to := 0, 0; from < len(on); from = to {
			for value := on[from]; to < len(on) && on[to] == value; to++ {
			}
			if !yield(from, to) {
				return
			}
		}
	}
}

// dropShort takes out stretches of fewer than n values, but at the ends.
func dropShort(on []bool, n int) {
	for _, value := range []bool{false, true} {
		for from, to := range runs(on) {
			if on[from] == value && to-from < n && from > 0 && to < len(on) {
				for i := from; i < to; i++ {
					on[i] = !value
				}
			}
		}
	}
}

// swing is the variance of the line along and across its own slow phase, beyond noise,
// as a share of its mean power. Two lines that beat have as much of either.
func (p *presence) swing() (along, across float64) {
	still := p.still()
	phase := p.smoothed(p.values(1), still)
	var x, y, mean float64
	n := float64(len(p.kept()))
	for i, a := range still {
		if phase[i] == 0 || p.leaves(i) {
			continue
		}
		u := a * cmplx.Conj(phase[i]) / complex(cmplx.Abs(phase[i]), 0)
		x, y, mean = x+real(u)*real(u)/n, y+imag(u)*imag(u)/n, mean+real(u)/n
	}
	half := p.noise / 8 // of the noise in one component of a half-amplitude
	total := max(x, 1e-300)
	return max(0, x-mean*mean-half) / total, max(0, y-half) / total
}

// amplitudeScatter is that of the amplitude where hum is on, away from where it comes
// and goes, within ten seconds.
func (p *presence) amplitudeScatter() float64 {
	const away = 4
	span := p.values(spanSeconds)
	sum, n := 0.0, 0.0
	for from := 0; from < len(p.a); from += span {
		var s sums
		for i := from; i < min(from+span, len(p.a)); i++ {
			lo, hi := max(0, i-away), min(len(p.a), i+away+1)
			if !slices.Contains(p.on[lo:hi], false) && !p.leaves(i) {
				s.add(math.Sqrt(p.power[i]))
			}
		}
		if s.n > 1 {
			sum, n = sum+s.m2/(s.mean*s.mean), n+float64(s.n)
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return math.Sqrt(sum / n)
}

// findBreaks looks for steps of the phase while hum is on.
func (p *presence) findBreaks() (found []phaseBreak) {
	side := p.values(breakSide)
	steps, limit := p.phaseSteps(side)
	at := []int{0}
	for i, s := range steps {
		if math.Abs(s) > limit && math.Abs(s) >= biggest(steps, i-side, i+side) {
			at = append(at, i)
		}
	}
	at = append(at, len(p.a))
	for k := 1; k < len(at)-1; k++ {
		if i := at[k]; min(i-at[k-1], at[k+1]-i) > side+side/2 && p.stays(i, side, steps[i], at[k-1], at[k+1], breakStays) && p.outlasts(i, side, steps[i]) {
			found = append(found, phaseBreak{at: p.time(i), turns: steps[i] / float64(p.harmonic)})
		}
	}
	return found
}

// mayStep is by how much the phase steps where no other line tells that samples are lost:
// f0 is no better known than that.
func (p *presence) mayStep() (sum float64) {
	side := p.values(breakSide)
	steps, limit := p.phaseSteps(side)
	limit = max(breakFrom*float64(p.harmonic), limit*openSigmas/breakSigmas)
	for i, s := range steps {
		told := slices.ContainsFunc(p.breaks, func(x phaseBreak) bool { return math.Abs(x.at-p.time(i)) < breakSide })
		if math.Abs(s) > limit && math.Abs(s) >= biggest(steps, i-side, i+side) && !told && p.stays(i, side, s, 0, len(p.a), mayReturn) {
			sum += math.Abs(s) / float64(p.harmonic)
		}
	}
	return sum
}

// phaseSteps is by how much the phase steps at each value while hum is on, and what noise
// and wander don't reach; nil where hum is on for too short.
func (p *presence) phaseSteps(side int) (steps []float64, limit float64) {
	on := slices.Clone(p.on)
	dropShort(on, p.values(breakDip)) // where the phase steps, the amplitude dips
	steps = make([]float64, len(p.a))
	var sizes []float64
	for i := side + 2; i+side+2 < len(p.a); i++ {
		if slices.Contains(on[i-side-2:i+side+2], false) {
			continue
		}
		steps[i] = phaseStep(p.a[i-side-1:i-1], p.a[i+1:i+side+1], 3)
		sizes = append(sizes, math.Abs(steps[i]))
	}
	if len(sizes) < 4*side {
		return nil, 0
	}
	return steps, max(breakFrom*float64(p.harmonic), breakSigmas*medianOf(sizes)/0.6745)
}

// stays says whether the phase has still stepped a side's length away, on the one side
// and on the other: a thump's effect is gone there. As far as it goes, that is, between the
// steps, or ends, before and behind it.
func (p *presence) stays(i, side int, step float64, from, to int, most float64) bool {
	before, behind := max(0, min(2*side+2, i-from-side-1)), max(0, min(2*side+2, to-i-side-1))
	for _, off := range [][2]int{{before, 0}, {0, behind}} {
		later := phaseStep(p.a[i-off[0]-side-1:i-off[0]-1], p.a[i+off[1]+1:i+off[1]+side+1], float64(off[0]+off[1])+3)
		if math.Abs(math.Remainder(later-step, 2*math.Pi)) > most*math.Abs(step) {
			return false
		}
	}
	return true
}

// outlasts says whether the phase has still stepped when the burst at the step, if there
// is one, is over: its own phase is anything.
func (p *presence) outlasts(i, side int, step float64) bool {
	lo, hi := i, i
	for lo > 0 && p.leaves(lo-1) {
		lo--
	}
	for hi < len(p.a) && p.leaves(hi) {
		hi++
	}
	if lo == hi {
		return true
	}
	if lo < side || hi+side > len(p.a) || hi-lo > p.values(longestBurst) {
		return false
	}
	over := phaseStep(p.a[lo-side:lo], p.a[hi:hi+side], float64(hi-lo)+1)
	return math.Abs(math.Remainder(over-step, 2*math.Pi)) < burstDrift*float64(p.harmonic)
}

// phaseStep is by how much the phase of the values after a place lies off where those
// before it lead to: both go on at their own common rate. So many values lie between.
func phaseStep(before, after []complex128, between float64) float64 {
	turn := complex(0, 0)
	const lag = 4
	for _, side := range [][]complex128{before, after} {
		for i := range side[:max(0, len(side)-lag)] {
			turn += side[i+lag] * cmplx.Conj(side[i])
		}
	}
	rate := cmplx.Phase(turn) / lag
	var left, right complex128
	for i := range before { // turned to the middle between
		left += before[len(before)-1-i] * cmplx.Rect(1, rate*(float64(i)+between/2))
		right += after[i] * cmplx.Rect(1, -rate*(float64(i)+between/2))
	}
	return cmplx.Phase(right * cmplx.Conj(left))
}

// blocksPart says of each block whether hum comes, goes or breaks in it: it says little
// of the mains' phase. Where next to none is whole, not apart, only those are out in
// which hum is hardly there.
func (p *presence) blocksPart(l layout, n int) (out []bool, apart bool) {
	out = make([]bool, n)
	half := wholeBlock / 2 / l.binHz()
	share := make([]float64, n)
	whole := 0
	for b := range out {
		centre := float64(b) * l.hopSeconds()
		lo, hi := p.at(centre-half), p.at(centre+half)
		on := p.on[lo:hi]
		share[b] = trueShare(on)
		if out[b] = slices.Contains(on, false); !out[b] {
			whole++
		}
	}
	apart = whole >= max(leastFollowed, n/8)
	if !apart {
		for b := range out {
			out[b] = share[b] < 0.25
		}
	}
	for b := range out {
		for _, x := range p.breaks {
			out[b] = out[b] || math.Abs(x.at-float64(b)*l.hopSeconds()) < half
		}
	}
	return out, apart
}

// shifts is by how much the phase of the fundamental has stepped before each block.
func (p *presence) shifts(l layout, n int) []float64 {
	if len(p.breaks) == 0 {
		return nil
	}
	shift := make([]float64, n)
	for b := range shift {
		for _, x := range p.breaks {
			if x.at < float64(b)*l.hopSeconds() {
				shift[b] += x.turns
			}
		}
	}
	return shift
}

// frequency is the mains' mean frequency and the variance of its advance, cycles², from
// the phase of the envelope in each stretch in which hum is on: a line's phase goes on
// while it is off. seconds is the time from the first to the last; 0 where there are too
// few.
func (p *presence) frequency() (hz, variance, seconds float64) {
	var at, phase []float64
	turn := complex(0, 0)
	const lag = 4
	for from := 0; from < len(p.on); from++ {
		to, sum, when, weight := from, complex(0, 0), 0.0, 0.0
		for ; to < len(p.on) && p.on[to]; to++ {
			w := cmplx.Abs(p.a[to])
			sum, when, weight = sum+p.a[to], when+w*p.time(to), weight+w
			if to-lag >= from {
				turn += p.a[to] * cmplx.Conj(p.a[to-lag])
			}
		}
		if weight > 0 {
			at, phase = append(at, when/weight), append(phase, cmplx.Phase(sum))
		}
		from = to
	}
	if len(at) < 4 {
		return 0, 0, 0
	}
	rate := cmplx.Phase(turn) / lag / p.step
	for k := 1; k < len(at); k++ {
		guess := rate * (at[k] - at[k-1])
		phase[k] = phase[k-1] + guess + math.Remainder(phase[k]-phase[k-1]-guess, 2*math.Pi)
		rate += (phase[k] - phase[k-1] - guess) / (at[k] - at[k-1]) / float64(k+1)
	}
	n := len(at) - 1
	var rough []float64 // of a phase against the line through its neighbours
	for k := 1; k < n; k++ {
		x := (at[k] - at[k-1]) / (at[k+1] - at[k-1])
		rough = append(rough, math.Abs(phase[k]-phase[k-1]-x*(phase[k+1]-phase[k-1])))
	}
	sd := medianOf(rough) / 0.6745 / math.Sqrt(1.5) / float64(p.harmonic) / (2 * math.Pi)
	seconds = at[n] - at[0]
	return (p.hz + (phase[n]-phase[0])/(2*math.Pi*seconds)) / float64(p.harmonic), 2 * sd * sd, seconds
}
