package mains

import (
	"math"
	"math/cmplx"
	"slices"
)

const (
	// strongSNR is the ratio of a line to its noise in a block from which its
	// block powers say all there is: coherent spans would better the scatter by
	// at most 7 %, and could lose a line that doesn't hold its phase.
	strongSNR = 5.0
	// trackLossDB is what the track's own noise may cost a line in spans.
	trackLossDB = 0.05
	// wanderDoubt is the share of that loss by which ten seconds may differ from
	// what their track makes likely (at 95 %).
	wanderDoubt = 0.6
	// mostGivenBack is the most of that loss, dB, that is given back.
	mostGivenBack = 0.5
)

// meter gathers the lines of one channel, segment by segment.
type meter struct {
	*observation
	found found
	lines []lineSums

	segments, tracked int
	seen              int     // blocks
	seconds           float64 // tracked
	turns             float64 // of the fundamental in that time
	turnsVariance     float64
	min, max          float64
	wander            float64 // strength of the walk, largest of a segment
	mostWander        float64 // that at the most
	meanWander        sums
	hum               []float64 // all lines' power by block
	buzz              buzz
	there             there
	wow               wow
	bus               []int             // harmonics that a tone by a bus's clock may make
	beside            map[int]besideSum // tones taken off lines, by harmonic
	codeDB            float64           // see observation
	known             struct {          // the answer of mains, of so many segments
		mains    Mains
		segments int
	}
}

// lineSums is what has been gathered of one line.
type lineSums struct {
	blockPower  sums    // power of each block
	apart       sums    // power of blocks that don't overlap
	latest      float64 // of these, the last one's
	moves       sums    // squares of the steps from one to the next
	first, last float64 // power of the capture's first and last block
	spanBlocks  sums    // mean block power of each span
	spanPower   sums    // power of each span's mean phasor
	spanNoise   sums    // a span's noise over a block's
	spanSize    sums    // what a span's mean phasor would have, were its phase steady
	cycle       complex128
	trackNoise  float64 // largest h²σφ² of a segment
	clocked     []clocked
}

// sums is a running mean and sum of squares.
type sums struct {
	n    int
	mean float64
	m2   float64 // Σ (x − mean)²
}

func (s *sums) add(x float64) {
	s.n++
	d := x - s.mean
	s.mean += d / float64(s.n)
	s.m2 += d * (x - s.mean)
}

func newMeter(o *observation, f found) *meter {
	l := o.l
	m := &meter{observation: o, found: f, min: math.Inf(1), max: math.Inf(-1)}
	m.lines = make([]lineSums, l.harmonics(f.nominal, f.hz))
	for h := range m.lines {
		m.lines[h].clocked = clockedNear(float64(h+1) * f.hz)
	}
	m.bus = busLines(&m.scan, m.blockNoise, f.hz, len(m.lines))
	m.found.aside = slices.Clone(m.found.aside)
	for _, h := range m.bus { // a track would follow it
		m.found.aside = append(m.found.aside, float64(h)*f.hz)
	}
	return m
}

// leaves says whether averages leave out block b.
func (m *meter) leaves(b int) bool { return m.out != nil && m.out[b] }

// add measures every line in a segment.
func (m *meter) add(blocks []block) {
	first := m.seen
	m.seen += len(blocks)
	follow := follower{l: m.l, k: m.kernel, blocks: blocks, noise: m.blockNoise, aside: m.found.aside}
	if m.out != nil {
		follow.out = m.out[first:m.seen]
	}
	m.there.look(m, blocks, first, &follow)
	if follow.kept() == 0 { // a segment that is left out
		m.hum = append(m.hum, make([]float64, len(blocks))...)
		return
	}
	m.segments++
	follow.breaks = m.out != nil && !m.there.apart
	t, ok := follow.follow(m.found.hz)
	if ok {
		m.there.shift, follow.shift = t.shift, t.shift
		if t.out != nil {
			m.there.part, follow.out = t.out, t.out
		}
		m.wow.look(m, t, len(blocks))
	} else {
		t = m.flat(len(blocks))
	}
	seg := segment{blocks: blocks, first: first, track: t, follow: follow, followed: ok, hum: make([]float64, len(blocks))}
	turned, harmonics := make([][]complex128, len(m.lines)), make([]int, len(m.lines))
	for i := range harmonics {
		harmonics[i] = i + 1
	}
	once, back := make([]complex128, len(blocks)), make([]complex128, len(blocks))
	for b, phase := range t.phase {
		once[b], back[b] = cmplx.Rect(1, -phase), 1
	}
	for i, line := range follow.at(t, harmonics) {
		for b := range back {
			back[b] *= once[b]
		}
		m.addLine(seg, i+1, line.phasors, back)
		turned[i] = line.phasors
	}
	hum := seg.hum
	m.hum = append(m.hum, hum...)
	if ok {
		m.addTrack(t, follow)
		m.addCycle(turned, first)
		m.addBuzz(blocks, t.phase)
	}
}

// segment is what a segment's lines are measured by.
type segment struct {
	blocks   []block
	first    int // number of the first block
	track    track
	follow   follower
	followed bool
	hum      []float64 // all lines' power by block
}

// addLine measures harmonic h in a segment, and turns its phasors z back by h times the
// track: back does that.
func (m *meter) addLine(s segment, h int, z, back []complex128) {
	line := &m.lines[h-1]
	// A generator's tone beats with it: that is not how hum runs.
	beats := len(line.clocked) > 0
	if tone, beside := m.takeApart(s.blocks, s.track, s.follow, h, z); beside && s.followed {
		m.addBeside(h, tone, len(s.blocks))
		if h == m.there.now.harmonic { // it was the beat
			m.there.swings = false
		}
	}
	for b, a := range z {
		z[b] = a * back[b]
		p := power(a)
		if !beats {
			s.hum[b] += p
		}
		if m.leaves(s.first + b) {
			continue
		}
		if line.blockPower.n == 0 {
			line.first = p
		}
		line.last = p
		line.blockPower.add(p)
		if b%m.l.apart() == 0 {
			if line.apart.n > 0 {
				line.moves.add((p - line.latest) * (p - line.latest))
			}
			line.latest = p
			line.apart.add(p)
		}
	}
	if h == m.there.now.harmonic {
		m.there.compare(m, z, s.first)
	}
	line.trackNoise = max(line.trackNoise, float64(h*h)*s.track.variance)
	m.addSpans(line, z, s.first)
	m.addClocked(line, s, back)
}

// addTrack takes in a segment's track. f0 is the sum of the segments' advances:
// their phases could be joined, but over minutes lines don't keep their phase to
// each other, and one line alone says less than all do within a segment.
// Where hum comes and goes, f0 is that of the times when it is there.
func (m *meter) addTrack(t track, f follower) {
	m.tracked++
	hop := m.l.hopSeconds()
	m.wander = max(m.wander, t.wander)
	m.mostWander = max(m.mostWander, t.most)
	m.meanWander.add(t.wander)
	for b, hz := range t.hz {
		if !m.there.apart || !f.skips(b) {
			m.min, m.max = min(m.min, hz-m.wow.hz()), max(m.max, hz+m.wow.hz())
		}
	}
	if hz, variance, seconds := m.there.keyedTrack(t.most); seconds > 0 {
		m.turns, m.turnsVariance, m.seconds = m.turns+hz*seconds, m.turnsVariance+variance, m.seconds+seconds
		return
	}
	if m.there.apart {
		seen := m.seconds
		for from := 0; from < len(t.phase); from++ {
			to := from
			for to+1 < len(t.phase) && !f.skips(from) && !f.skips(to+1) {
				to++
			}
			if to > from {
				before, after := m.there.beyond(m.l, from, to)
				turns, variance := t.between(from, to, before, after)
				m.turns, m.turnsVariance = m.turns+turns, m.turnsVariance+variance
				m.seconds += before + hop*float64(to-from) + after
			}
			from = to
		}
		followed := m.seconds - seen
		m.turnsVariance += m.there.unseenTurns(followed, min(1, followed/(float64(len(t.phase))*hop)), t.most)
		return
	}
	// Segments meet half-way between blocks; the first and the last reach to
	// the capture's ends.
	edge := m.l.blockCentre(0)
	before, after := hop/2, hop/2
	if m.seen == len(t.phase) {
		before = edge
	}
	if m.seen == m.l.blocks {
		after = edge
	}
	turns, variance := t.advance(before, after)
	swing, unseen := m.wow.advance(-before, hop*float64(len(t.phase)-1)+after)
	m.turns += turns + swing
	open := m.there.now.open / (2 * math.Pi * 1.96)
	m.turnsVariance += variance + unseen + open*open
	m.seconds += hop*float64(len(t.phase)-1) + before + after
}

// flat is the track of a mains that stays where the search found it.
func (m *meter) flat(n int) track {
	t := track{phase: make([]float64, n), hz: make([]float64, n)}
	for b := range t.hz {
		t.hz[b] = m.found.hz
		t.phase[b] = 2 * math.Pi * m.found.hz * m.l.hopSeconds() * float64(b)
	}
	return t
}

// addSpans takes in a segment's phasors span by span. The segment's blocks begin
// at number `first`.
func (m *meter) addSpans(line *lineSums, z []complex128, first int) {
	for from, to := range m.l.spans(len(z), 1) {
		mean, size, blocks, n := complex(0, 0), 0.0, 0.0, 0.0
		for b, a := range z[from:to] {
			if m.leaves(first + from + b) {
				continue
			}
			mean += a
			size += cmplx.Abs(a)
			blocks += power(a)
			n++
		}
		if n == 0 {
			continue
		}
		line.spanPower.add(power(mean / complex(n, 0)))
		line.spanSize.add(power(complex(size/n, 0)))
		line.spanBlocks.add(blocks / n)
		line.spanNoise.add(1 / m.spanAverages(first+from, to-from))
	}
}

// spanAverages is the effective number of n blocks' phasors, from block `first` on.
func (m *meter) spanAverages(first, n int) float64 {
	if m.out == nil {
		return m.l.phasorAverages(n)
	}
	_, phasor := m.l.averages(n, m.out[first:first+n])
	return phasor
}

// likeSpans is how many spans of equal noise a line's spans are worth: where blocks
// are left out, some hold fewer than others.
func (m *meter) likeSpans(line *lineSums) float64 {
	n := float64(line.spanNoise.n)
	if m.out == nil {
		return n
	}
	square := line.spanNoise.mean * line.spanNoise.mean
	return n * square / (square + line.spanNoise.m2/n)
}

// addClocked looks at a line near a bus's clock by that clock.
func (m *meter) addClocked(line *lineSums, s segment, back []complex128) {
	for i := range line.clocked {
		for from, to := range m.l.spans(len(s.blocks), 1) {
			line.clocked[i].add(m, s.blocks[from:to], back[from:to], from, s.first)
		}
	}
}

// addCycle adds the lines' phasors, turned so that the strongest line's cycle
// starts at an upward zero crossing: the fundamental's where it leads.
func (m *meter) addCycle(turned [][]complex128, first int) {
	means := make([]complex128, len(turned))
	top := 0
	for h, z := range turned {
		n := 0.0
		for b, a := range z {
			if !m.leaves(first + b) {
				means[h] += a
				n++
			}
		}
		means[h] /= complex(n, 0)
		if cmplx.Abs(means[h]) > cmplx.Abs(means[top]) {
			top = h
		}
	}
	// The fundamental is the better reference wherever it can be seen at all.
	if power(means[0]) > m.blockNoise(m.found.hz) {
		top = 0
	}
	start := (cmplx.Phase(means[top]) + math.Pi/2) / float64(top+1)
	for h := range means {
		m.lines[h].cycle += means[h] * cmplx.Rect(1, -float64(h+1)*start)
	}
}

// mains is the frequency as tracked, or as searched.
func (m *meter) mains() Mains {
	if m.known.segments == m.segments {
		return m.known.mains
	}
	nan := math.NaN()
	r := Mains{Detected: true, Nominal: m.found.nominal, Hz: m.found.hz, U95: m.found.u95, Min: nan, Max: nan}
	if m.tracked > 0 && m.tracked == m.segments {
		r.Tracked = true
		r.Hz, r.U95 = m.turns/m.seconds, 1.96*math.Sqrt(m.turnsVariance*m.buzz.together(mostFollowed))/m.seconds
		r.Min, r.Max = m.min, m.max
	}
	m.known.mains, m.known.segments = r, m.segments
	return r
}

// strongestPower is about that of the strongest line.
func (m *meter) strongestPower() (most float64) {
	for _, line := range m.lines {
		most = max(most, line.blockPower.mean)
	}
	return most
}

// readings are both ways to read a line against a floor.
func (m *meter) readings(h int, floor floorEstimate) (spans, blocks reading) {
	line, hz := &m.lines[h-1], float64(h)*m.found.hz
	noise := floor.density * m.l.lineENBW
	blocks = reading{
		mean: line.blockPower.mean, noise: noise, floorDOF: floor.dof, looks: 1,
		central: m.power * m.even.share(hz), coherent: m.phasor,
	}
	n := float64(line.spanPower.n)
	like := m.likeSpans(line)
	lost := min(m.wanderLoss(h), mostGivenBack)
	restore := math.Pow(10, lost/10)
	spans = reading{
		mean: line.spanPower.mean, noise: noise * line.spanNoise.mean, floorDOF: floor.dof, looks: 1,
		central: like * m.even.spanShare(hz, max(1, line.blockPower.n/line.spanPower.n)), coherent: like,
	}
	blocks.floor, spans.floor = blocks.noise, spans.noise
	_, apart := m.beside[h]
	if apart {
		floor.beside = nil // it was taken off
	}
	blocks.noise += floor.intoBlock(m.l, 0)
	spans.noise += floor.intoSpan(m.l, float64(line.blockPower.n)/n)
	edge, doubt := m.edges(h, line, blocks)
	if swing, off, ok := m.there.swing(); ok {
		edge, doubt = swing-1, off
	} else if !apart {
		doubt += m.aloneDB(h, noise)
	}
	if swing := m.wow.lossDB(h); swing > 0 {
		lost, restore, doubt = 0, math.Pow(10, swing/10), doubt+wowDoubtDB+wowDoubtShare*swing
	}
	for _, r := range []*reading{&spans, &blocks} {
		r.mean += (restore - 1 + edge) * max(r.excess(), 0)
		r.model = m.codeDB + wanderDoubt*lost*math.Sqrt(spanSeconds/m.l.seconds) + doubt
		if r.excess() > 0 {
			r.model += m.restDB(h, r.excess())
		}
	}
	return spans, blocks
}

// edges is what to add to a line whose level changes because the capture's
// first and last half block weigh less than the rest in a mean over blocks, as a
// share of its power, and by how many dB that may be off. A steady line needs
// nothing.
func (m *meter) edges(h int, line *lineSums, blocks reading) (share, doubt float64) {
	if !m.unsteady(h, blocks) {
		return 0, 0
	}
	edge := (float64(m.l.lowN) - float64(m.l.lowHop)) / 2 / m.l.lowRate / m.l.seconds
	mean := line.blockPower.mean
	first, last := edge*(line.first/mean-1), edge*(line.last/mean-1)
	// By how far the level within an edge may differ from its block's.
	return first + last, 0.3 * 10 / math.Ln10 * (math.Abs(first) + math.Abs(last))
}

// wanderLoss is what wander within blocks took off harmonic h, dB.
func (m *meter) wanderLoss(h int) float64 {
	if m.tracked < m.segments {
		return 0 // what hum that comes and goes leaves of a track says nothing of wander
	}
	return m.l.wanderLoss * float64(h*h) * m.meanWander.mean
}

// reach is nothing: the track says where a line is.
func (m *meter) reach(int) float64 { return 0 }

// measure judges one line. falseAlarm is shared by the ways tried.
func (m *meter) measure(h int, floor floorEstimate, falseAlarm float64, judge func(reading, float64) Level) (Line, reading) {
	spans, blocks := m.readings(h, floor)
	line := Line{Harmonic: h, Hz: float64(h) * m.mains().Hz, Floor: floor.density, FloorDOF: floor.dof, Steadiness: math.NaN(), Rho: math.NaN()}
	chosen := blocks
	line.Method = MethodBlocks
	tone, beside := m.toneOnLine(h, spans, blocks, floor)
	_, _, swings := m.there.swing()
	usable := m.mains().Tracked && !swings && m.wow.swings == 0 && 4.34*m.lines[h-1].trackNoise <= trackLossDB
	if usable && blocks.excess() < strongSNR*blocks.noise {
		falseAlarm /= 2
		if !strays(spans, blocks) && !(blocks.falseAlarm() < falseAlarm && spans.falseAlarm() > falseAlarm) {
			chosen, line.Method = spans, MethodSpans
		}
	}
	if beside {
		chosen, line.Method = spans, MethodSpans
		chosen.noise += tone.leak
	}
	line.Hidden = chosen.noise > hiddenBy*chosen.floor || m.likelyBus(h) && !beside || m.restDB(h, max(chosen.excess(), 1e-300)) > mostRestDB
	line.Level = judge(chosen, falseAlarm)
	if line.Detected {
		line.Rho = line.Power / floor.density * m.l.seconds
		line.Steadiness = steadiness(spans, blocks)
		line.Unsteady = m.unsteady(h, blocks)
	}
	return line, chosen
}

// strays reports whether the blocks show clearly more than the spans: then the
// line doesn't hold its phase, and spans would read it low. While it does, the
// two differ only by the noise that spans average away.
func strays(spans, blocks reading) bool {
	sd := math.Sqrt(max(blocks.noise*blocks.noise/blocks.central-spans.noise*spans.noise/spans.central, 0))
	return blocks.excess()-spans.excess() > 2.5*sd
}

// steadiness is the share of a line's power that keeps its phase within spans.
func steadiness(spans, blocks reading) float64 {
	if blocks.excess() < blocks.noise {
		return math.NaN() // too noisy to say
	}
	return max(0, min(1, spans.excess()/blocks.excess()))
}

// unsteady tests whether a line's power scatters more than noise, wander and steadyDB
// explain, at 1 %, from span to span or, in a capture of few, from block to block. It wants
// a line high enough above its noise for the scatter to be Gaussian. Spans of which
// much is left out scatter more.
func (m *meter) unsteady(h int, blocks reading) bool {
	line := &m.lines[h-1]
	a := blocks.excess()
	if a < 10*blocks.noise {
		return false
	}
	seen, each, like := line.spanBlocks, line.blockPower.n/max(1, line.spanBlocks.n), float64(line.spanBlocks.n)
	worth := 1.0 // of a span's blocks, beside as many in a row
	if m.out != nil {
		like = m.likeSpans(line)
		worth = 1 / (line.spanNoise.mean * m.l.phasorAverages(each))
	}
	if like < 3 {
		seen, each, like, worth = line.apart, 1, float64(line.apart.n), 1
	}
	if like < 3 {
		return false
	}
	r := blocks
	r.central, r.coherent = worth*m.l.powerAverages(each), worth*m.l.phasorAverages(each)
	steady := math.Ln10 / 10 * (steadyDB + m.wanderLoss(h)) * a
	variance := r.noise*(2*a+r.noise)/r.averages(a) + steady*steady
	dof := like - 1
	return gammaSurprise(dof/2, seen.m2/variance/float64(seen.n-1)) > math.Log(100)
}
