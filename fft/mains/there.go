package mains

import (
	"math"
	"slices"

	"humdiff/fft/note"
)

const (
	// leastAway is the least share of the time that hum has to be away to be said to come
	// and go.
	leastAway = 0.01
	// mostPresent is how many stretches are listed.
	mostPresent = 200
	// swingDoubt is what a level corrected for its swing may be off by: so much, and so
	// much of the correction.
	swingDoubtDB, swingDoubtShare = 0.03, 0.15
	// changeSeconds is how much of the time lies beyond the envelope's band, each time hum
	// comes or goes: half of what a sharp edge has there, 1/(2π² · 11 Hz).
	changeSeconds = 0.002
	// fastStretch is how long hum stays on or off, on average, where it is too fast.
	fastStretch = 3.0 // s
	// gridWalk is how strongly a grid's rate walks, rad²/s³, that strays by 0.02 Hz within 20 s.
	gridWalk = 1.6e-3
	// edgeSeconds is how well it is known when hum comes or goes.
	edgeSeconds = 0.05
)

// there gathers when hum is there, segment by segment.
type there struct {
	now     presence
	part    []bool           // blocks of the segment in which hum comes, goes or breaks; nil: none
	shift   []float64        // see follower
	apart   bool             // the track is of the times in which hum is there
	beating map[int]envelope // lines that beat with something in the segment
	first   int              // number of the segment's first block

	unknown  bool // in a segment nothing could be seen
	swings   bool
	bursts   bool    // some were left out: what the envelope has beside them isn't the line's alone
	envelope float64 // power of a line by its envelope, and by its blocks, summed over segments
	blocks   float64
	unseen   float64 // of the envelope's power, by how much it may be off
	scatters sums
	on       []onPower
	seconds  float64
	breaks   []Jump
	broken   []bool // blocks of the capture that a break spoils
}

// onPower is a stretch with the power that the line had.
type onPower struct {
	Span
	power float64
}

// look finds out when hum is there in a segment, and tells the follower.
func (t *there) look(m *meter, blocks []block, first int, f *follower) {
	var ok bool
	t.beating = map[int]envelope{}
	t.part, t.shift, t.apart, t.first = nil, nil, false, first
	if t.now, ok = m.presence(blocks); !ok {
		t.unknown, t.now.harmonic = true, 0
		return
	}
	out, apart := t.now.blocksPart(m.l, len(blocks))
	some := trueShare(out) > 0
	for b := range out {
		out[b] = out[b] || f.skips(b)
	}
	if some && float64(len(out))*(1-trueShare(out)) >= leastFollowed-0.5 {
		t.part, t.shift = out, t.now.shifts(m.l, len(blocks))
		t.apart = apart && slices.Contains(t.now.on, false)
		f.out, f.shift = out, t.shift
	}
	t.swings, t.bursts = t.swings || t.now.swings, t.bursts || m.burst != nil
	if !math.IsNaN(t.now.scatter) {
		t.scatters.add(t.now.scatter)
	}
	t.list(m, len(blocks))
	t.addBreaks(m, len(blocks))
}

// keyedTrack is the frequency of hum that comes and goes too fast to be followed from
// block to block (see presence.frequency).
func (t *there) keyedTrack(walk float64) (hz, variance, seconds float64) {
	if t.now.harmonic == 0 || !t.fast() {
		return 0, 0, 0
	}
	hz, variance, seconds = t.now.frequency()
	return hz, variance + t.unseenTurns(seconds, trueShare(t.now.on), walk), seconds
}

// fast says whether stretches are shorter than a few blocks.
func (t *there) fast() bool {
	changes := 0
	for i := 1; i < len(t.now.on); i++ {
		if t.now.on[i] != t.now.on[i-1] {
			changes++
		}
	}
	return float64(changes)*fastStretch > float64(len(t.now.on))*t.now.step
}

// unseenTurns is the variance, cycles², of the advance in so many seconds as that of a time
// in which hum is there for a share only: the mains goes at another rate in between. Its
// rate walks as strongly at the most; each of n stretches tells of its own n-th of the time.
func (t *there) unseenTurns(seconds, share, walk float64) float64 {
	n, length := 0.0, float64(len(t.now.on))*t.now.step
	for from := range runs(t.now.on) {
		if t.now.on[from] {
			n++
		}
	}
	off := (1 - share) * seconds / (2 * math.Pi)
	return off * off * min(walk, gridWalk) * length / (3 * n * n)
}

// beyond is for how long hum is there before block from and after block to, as far as
// their lengths reach.
func (t *there) beyond(l layout, from, to int) (before, after float64) {
	p, half := &t.now, 0.5/l.binHz()
	at := func(b, way int) float64 {
		centre := float64(b) * l.hopSeconds()
		i := min(p.at(centre), len(p.a)-1)
		for i > 0 && i < len(p.a)-1 && p.on[i+way] && math.Abs(p.time(i)-centre) < half {
			i += way
		}
		return math.Abs(p.time(i) - centre)
	}
	return at(from, -1), at(to, 1)
}

// list adds the segment's stretches.
func (t *there) list(m *meter, n int) {
	p, l := &t.now, m.l
	zero := l.blockCentre(t.first)
	start, end := -l.hopSeconds()/2, (float64(n)-0.5)*l.hopSeconds()
	if t.first == 0 {
		start = -zero
	}
	if t.first+n == l.blocks {
		end = l.seconds - zero
	}
	t.seconds += end - start
	lo, hi := p.at(start), p.at(end)
	for from, to := range runs(p.on[lo:hi]) {
		if from, to = lo+from, lo+to; !p.on[from] {
			continue
		}
		sum := 0.0
		for _, x := range p.power[from:to] {
			sum += x
		}
		s := Span{p.edge(from, to, 1), p.edge(to-1, from-1, -1)}
		if from == lo {
			s.Start = start
		}
		if to == hi {
			s.End = end
		}
		s.Start, s.End = s.Start+zero, s.End+zero
		t.append(onPower{s, sum / float64(to-from)})
	}
}

// edge is when hum reaches half of its usual amplitude, looking from a value on.
func (p *presence) edge(from, to, way int) float64 {
	for i := from; i != to; i += way {
		if p.power[i] > p.level/4 {
			return p.time(i) - float64(way)*p.step/2
		}
	}
	return p.time(from)
}

// append adds a stretch, or goes on with the last one where that ends a segment.
func (t *there) append(s onPower) {
	if n := len(t.on); n > 0 && s.Start-t.on[n-1].End < 1e-6 {
		last := &t.on[n-1]
		a, b := last.End-last.Start, s.End-s.Start
		last.power = (last.power*a + s.power*b) / (a + b)
		last.End = s.End
		return
	}
	t.on = append(t.on, s)
}

// compare holds the line's power by its envelope against that by its blocks; z are its
// phasors.
func (t *there) compare(m *meter, z []complex128, first int) {
	p := &t.now
	noise := m.blockNoise(p.hz)
	sum, n := 0.0, 0.0
	half := m.l.hopSeconds() / 2
	by, values := 0.0, 0.0
	for b, a := range z {
		if m.leaves(first + b) {
			continue
		}
		sum, n = sum+power(a)-noise, n+1
		lo, hi := float64(b)*m.l.hopSeconds()-half, float64(b)*m.l.hopSeconds()+half
		if first+b == 0 {
			lo = p.start
		}
		if first+b == m.l.blocks-1 {
			hi = p.time(len(p.a))
		}
		for i := p.at(lo); i < p.at(hi); i++ {
			w := 1.0
			if first+b == 0 && i == 0 { // it goes on as it begins, and as it ends
				w += (p.time(0) + m.l.blockCentre(0)) / p.step
			}
			if first+b == m.l.blocks-1 && i == len(p.a)-1 {
				w += (m.l.seconds - m.l.blockCentre(first) - p.time(i)) / p.step
			}
			by, values = by+w*(power(p.a[i])-p.noise), values+w
		}
	}
	if n > 0 && values > 0 {
		t.envelope += by / values * n
		t.blocks += sum
		t.edges(m)
	}
}

// edges takes in what isn't seen of hum that comes and goes: what of it lies beyond the
// envelope's band, and whether it does within the capture's first and last moments.
func (t *there) edges(m *meter) {
	p := &t.now
	changes := 0.0
	for i := 1; i < len(p.on); i++ {
		if p.on[i] != p.on[i-1] {
			changes++
		}
	}
	length := float64(len(p.on)) * p.step
	beyond := p.time(0) + m.l.blockCentre(0)
	unseen := 1.96 * math.Sqrt2 * beyond * math.Sqrt(min(1, beyond*changes/length)) * p.level
	t.unseen += (changes*changeSeconds*p.level + unseen) / length * t.blocksSeen(m)
	t.envelope += changes * changeSeconds * p.level / length * t.blocksSeen(m)
}

// blocksSeen is how many blocks of the segment averages have.
func (t *there) blocksSeen(m *meter) (n float64) {
	for b := t.first; b < m.seen; b++ {
		if !m.leaves(b) {
			n++
		}
	}
	return n
}

// swing is by how much more power lines have than their blocks say, because they swing
// within blocks, and by how many dB that may be off. ok is false where they don't.
func (t *there) swing() (ratio, doubt float64, ok bool) {
	if t.unknown || !(t.swings || t.comesAndGoes()) || !(t.envelope > 0) || !(t.blocks > 0) {
		return 1, 0, false
	}
	ratio = t.envelope / t.blocks
	if t.bursts && !t.comesAndGoes() {
		return 1, swingDoubtDB + math.Abs(10*math.Log10(ratio)), true
	}
	return ratio, swingDoubtDB + swingDoubtShare*math.Abs(10*math.Log10(ratio)) + 10*math.Log10(1+t.unseen/t.envelope), true
}

// withoutSwing takes out of the tones, and the peaks, what the swing of the lines leaves
// beside them, within the envelope's band: it is in the lines' power.
func (t *there) withoutSwing(tones []Tone, peaks []peak, m Mains) ([]Tone, []peak) {
	if _, _, ok := t.swing(); !ok {
		return tones, peaks
	}
	reach := t.now.band()
	beside := func(hz float64) bool { return math.Abs(math.Remainder(hz, m.Hz)) < reach && hz > m.Hz/2 }
	tones = slices.DeleteFunc(tones, func(x Tone) bool { return x.Harmonic == 0 && beside(x.Hz) })
	return tones, slices.DeleteFunc(peaks, func(p peak) bool { return beside(p.hz) })
}

// swingBand is how far to either side of a line its sidebands reach, where it swings.
func (m *meter) swingBand() float64 {
	if m == nil {
		return 0
	}
	if _, _, ok := m.there.swing(); !ok {
		return 0
	}
	return m.there.now.band()
}

// switched is the density that hum which comes and goes leaves 1 Hz beside a line, as a
// share of the line's mean power. A sharp step of amplitude a has a/(2πd) of a spectrum d
// beside it, and there are so many in the capture.
func (m *meter) switched() float64 {
	if m == nil || !m.there.comesAndGoes() {
		return 0
	}
	changes := 0.0
	for _, s := range m.there.on {
		for _, at := range []float64{s.Start, m.l.seconds - s.End} {
			if at > edgeSeconds {
				changes++
			}
		}
	}
	return changes / (4 * math.Pi * math.Pi * m.there.seconds * m.there.onShare())
}

func (t *there) scatter() float64 {
	if t.scatters.n == 0 {
		return math.NaN()
	}
	return t.scatters.mean
}

// onShare is the share of the time in which hum is there; NaN where that can't be told.
func (t *there) onShare() float64 {
	if t.unknown || t.seconds == 0 {
		return math.NaN()
	}
	sum := 0.0
	for _, s := range t.on {
		sum += s.End - s.Start
	}
	return min(1, sum/t.seconds)
}

func (t *there) comesAndGoes() bool { return t.onShare() < 1-leastAway }

// addBreaks lists where the phase steps, and what blocks that spoils.
func (t *there) addBreaks(m *meter, n int) {
	half := 0.5 / m.l.binHz()
	for _, x := range t.now.breaks {
		if t.broken == nil {
			t.broken = make([]bool, m.l.blocks)
		}
		t.breaks = append(t.breaks, Jump{Seconds: m.l.blockCentre(t.first) + x.at, Samples: x.turns / (2 * math.Pi * m.found.hz) * m.l.rate})
		for b := range n {
			if math.Abs(x.at-float64(b)*m.l.hopSeconds()) < half {
				t.broken[t.first+b] = true
			}
		}
	}
}

// leaveBreaks leaves out the blocks in which samples are lost as those of bursts are.
func (f *bursts) leaveBreaks(m *meter, l layout) {
	if m == nil || m.there.broken == nil {
		return
	}
	if f.out == nil {
		f.out, f.loud = make([]bool, l.blocks), make([]bool, l.blocks)
	}
	f.own = slices.Clone(f.out)
	for b, is := range m.there.broken {
		f.out[b] = f.out[b] || is
	}
}

// say says in r when hum was there.
func (t *there) say(r *Measurement) {
	r.HumOn, r.OnShare = r.Hum, t.onShare()
	if !t.comesAndGoes() {
		return
	}
	mean := 0.0
	for _, s := range t.on {
		mean += s.power * (s.End - s.Start) / t.seconds
	}
	known := edgeSeconds * math.Sqrt(float64(2*len(t.on))) / (r.OnShare * t.seconds)
	r.HumOn = r.Hum.times(1/r.OnShare, 10*math.Log10(1+known))
	for _, s := range t.on[:min(len(t.on), mostPresent)] {
		r.Present = append(r.Present, On{s.Span, r.Hum.times(s.power/mean, 10*math.Log10(1+edgeSeconds/max(s.End-s.Start, edgeSeconds)))})
	}
	if !r.Hum.Detected || len(t.on) == 0 {
		return
	}
	r.Warnings = append(r.Warnings, note.New("hum_comes_and_goes", "stretches", len(t.on), "on_share", r.OnShare, "on_dbfs", 10*math.Log10(r.HumOn.Power),
		"first_start_s", t.on[0].Start, "first_end_s", t.on[0].End))
}

// times is a level a factor higher, known to so many dB.
func (l Level) times(factor, db float64) Level {
	l.Power *= factor
	l.Limit *= factor
	if l.Detected {
		l.Lo, l.Hi = widen(l.Power, l.Lo*factor, -db), widen(l.Power, l.Hi*factor, db)
	}
	return l
}
