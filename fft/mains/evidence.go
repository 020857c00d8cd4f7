package mains

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"humdiff/fft"
)

// Evidence that a comb is a mains: its lines follow one clock. In spans of ten
// seconds the phase of a line, turned back by h times that of another one, stands
// still; that of music, speech and motors doesn't. What follows the clock is held
// against all that stands beyond noise in the windows where lines of that nominal
// frequency may be. (Thresholds: real mains gave 0.898 and more in 99 of 100 windows
// of 30 s, music and speech 0.447 at the most. The amplitude of the strongest line
// scattered by 0.004 at the most, and by 0.31 at the least.)

const (
	evidenceShare = 0.02 // of a line's frequency, to either side: its window
	evidenceReach = 12.0 // Hz, the widest
	clockShare    = 0.5  // K below which a comb is doubtful
	mostScatter   = 0.3  // cv above which it is, unless K is above surelyClocked: a lead may be moved
	surelyClocked = 0.9
	// clockTries is how many lines are tried as a clock.
	clockTries = 4
	// leastClock is how many blocks of a span show whether lines follow a clock: a
	// cubic passes through four.
	leastClock = 10
	// toneLine is the lowest line that, with its multiples alone, is a tone with overtones and
	// no mains: a rectifier leaves every other line, three phases every third.
	toneLine = 4
	// Only what noise can't explain speaks against a comb: so many standard errors, with
	// the floor known to a share of itself.
	evidenceSigmas, evidenceFloor = 3.0, 0.05
)

// evidence gathers what speaks for one comb.
type evidence struct {
	l       layout
	k       kernel
	noise   func(hz float64) float64 // of a block's line estimate
	f0      float64
	nominal float64
	foreign []bool // bins of what is known to be no line of this comb

	lines       []clockedLine
	breath      []float64
	breathNoise float64
	spans       int
	clockHz     sums    // of the fundamental, by each span's clock
	clockNoise  float64 // standard error of that in a span, the largest
	shift       []float64
}

// clockedLine is what one line brings to evidence.
type clockedLine struct {
	clocked, window float64
	power           float64   // of the line's place
	scatter         []float64 // variance of the amplitude over its mean's square, of each span
	scatterNoise    float64   // its standard error in a span, the largest
	noise           float64   // taken off the window
	variance        float64   // of what is clocked less clockShare of its window
	slipped         float64   // what may follow the clock besides, for its own noise
	told            bool      // it was held against a clock
}

// join adds what another line brings to one clock.
func (l *clockedLine) join(x clockedLine) {
	l.clocked, l.window, l.slipped = l.clocked+x.clocked, l.window+x.window, l.slipped+x.slipped
	l.variance += x.variance
	l.told = l.told || x.told
}

func newEvidence(l layout, k kernel, c found, noise func(hz float64) float64, foreign func(hz float64) bool) *evidence {
	e := &evidence{l: l, k: k, f0: c.hz, nominal: c.nominal, noise: noise, foreign: make([]bool, l.kept)}
	for j := range e.foreign {
		hz := float64(j) * l.binHz()
		e.foreign[j] = hz < combEnd+2*evidenceReach && foreign(hz)
	}
	for h := 1; float64(h)*c.nominal < min(combEnd, l.upTo); h++ {
		e.lines = append(e.lines, clockedLine{})
	}
	return e
}

// add takes in blocks that follow each other, span by span. use says which count, and
// shift by how much the fundamental's phase has stepped before each; nil: by nothing.
func (e *evidence) add(blocks []block, use func(b int) bool, shift []float64) {
	e.shift = shift
	n := fft.Whole(math.Round(float64(len(blocks))*e.l.hopSeconds()/spanSeconds), 1, max(1, len(blocks)))
	var at []int
	for b, s := 0, 0; b < len(blocks); b++ {
		// A span begins anew with its first block that counts.
		if len(at) > 0 && b-at[0] >= (s+1)*len(blocks)/n-s*len(blocks)/n {
			e.addSpan(blocks, at)
			at, s = nil, s+1
		}
		if use(b) {
			at = append(at, b)
		}
	}
	e.addSpan(blocks, at)
}

// bin is the nearest to hz.
func (e *evidence) bin(hz float64) int {
	return fft.Whole(math.Round(hz/e.l.binHz()), 0, len(e.foreign)-1)
}

// spanLine is a line's phasors in a span, turned back by its multiple of f0.
type spanLine struct {
	h   int
	z   []complex128
	snr float64 // in a block
}

func (e *evidence) addSpan(blocks []block, at []int) {
	if len(at) < leastClock {
		return
	}
	var all []spanLine
	for h := range e.lines {
		if !e.foreign[e.bin(float64(h+1)*e.f0)] {
			all = append(all, e.line(blocks, at, h+1))
		}
	}
	if len(all) == 0 {
		return
	}
	e.spans++
	strongest := slices.MaxFunc(all, func(a, b spanLine) int { return cmp.Compare(e.stands(a), e.stands(b)) })
	e.addStrongest(strongest, at)
	phases := map[int][]float64{}
	phase := func(line spanLine) []float64 {
		if phases[line.h] == nil {
			phases[line.h] = smoothPhase(line.z, at)
		}
		return phases[line.h]
	}
	clocks := e.clocks(all, phase)
	if clock := clocks[0]; clock.snr >= trackSNR {
		p, turns := phase(clock), 2*math.Pi*float64(clock.h)*e.l.hopSeconds()*float64(at[len(at)-1]-at[0])
		e.clockHz.add(e.f0 + (p[len(p)-1]-p[0])/turns)
		e.clockNoise = max(e.clockNoise, math.Sqrt(1/clock.snr)/turns)
	}
	for _, line := range all {
		clock, ok := bestClock(clocks, line.h)
		switch {
		case !ok: // it may follow one or not
			e.lines[line.h-1].slipped += e.stands(line)
			continue
		case clock.h != line.h && line.steadies() > clock.steadies() && line.steadies() <= clocks[0].steadies():
			e.addClocked(line, e.bestFollower(all, line, phase(line)), line, phase(line))
		default:
			e.addClocked(line, line, clock, phase(clock))
		}
		e.addScatter(line)
	}
	for h := range e.lines {
		e.addWindow(blocks, at, h+1)
	}
}

// clocks are the lines whose phase others may be held against, those first that fix it
// best: not those that no other follows, where one is followed. A tone near a line is none.
func (e *evidence) clocks(all []spanLine, phase func(line spanLine) []float64) []spanLine {
	sorted := slices.SortedFunc(slices.Values(all), func(a, b spanLine) int { return cmp.Compare(b.steadies(), a.steadies()) })
	for i, line := range sorted[:min(clockTries, len(sorted))] {
		best := e.bestFollower(sorted[i:], line, phase(line))
		if best.h == 0 {
			break
		}
		if clocked, _ := e.follows(best, line, phase(line)); clocked > clockShare*e.stands(best) {
			return sorted[i:]
		}
	}
	return sorted
}

// steadies is how well a line fixes the phase of the fundamental.
func (s spanLine) steadies() float64 { return float64(s.h*s.h) * s.snr }

// stands is the power of a line's place beyond noise.
func (e *evidence) stands(line spanLine) float64 {
	return max(0, line.snr) * e.noise(float64(line.h)*e.f0)
}

// follows is how much of a line's power follows the phase of its clock, and the noise in
// that. Lines of one mains also come and go together: each block counts as much as the
// clock's line has of it.
func (e *evidence) follows(line, clock spanLine, phase []float64) (clocked, noise float64) {
	mean, square, ratio := complex(0, 0), 0.0, float64(line.h)/float64(clock.h)
	for i, a := range line.z {
		w := 1.0
		if clock.h != line.h {
			w = cmplx.Abs(clock.z[i])
		}
		mean += a * cmplx.Rect(w, -ratio*phase[i])
		square += w * w
	}
	noise = e.noise(float64(line.h)*e.f0) / e.l.phasorAverages(len(phase))
	return power(mean/complex(math.Sqrt(square*float64(len(phase))), 0)) - noise, noise
}

// addClocked takes in what of a line follows its clock, and how well noise lets that be
// known. The line that fixes the phase best follows another one as much as that follows it,
// which less noise disturbs: then that one is the follower.
func (e *evidence) addClocked(line, follower, clock spanLine, phase []float64) {
	clocked, noise := e.follows(follower, clock, phase)
	to, stands, share := &e.lines[line.h-1], e.stands(follower), 1.0
	if follower.h != line.h {
		share = e.stands(line) / stands
	}
	to.clocked += share * clocked
	to.variance += share * share * noise * (2*stands + noise)
	to.told = true
	if clock.h != line.h {
		ratio := float64(line.h) / float64(clock.h)
		fitted := min(1, 4/e.l.phasorAverages(len(phase))) // of the phase's noise, a cubic leaves four values' worth
		to.slipped += stands * (1 - math.Exp(-ratio*ratio*fitted/clock.snr))
	}
}

// bestFollower is the line that follows another most of those that stand high enough: what
// is played beside a mains may hide many of its lines, and hides not all. Of music none
// follows.
func (e *evidence) bestFollower(all []spanLine, leader spanLine, phase []float64) (best spanLine) {
	most := math.Inf(-1)
	for _, line := range all {
		if line.h == leader.h || line.snr < trackSNR {
			continue
		}
		if clocked, _ := e.follows(line, leader, phase); clocked/e.stands(line) > most {
			best, most = line, clocked/e.stands(line)
		}
	}
	return best
}

func (e *evidence) line(blocks []block, at []int, h int) spanLine {
	line := spanLine{h: h, z: make([]complex128, len(at))}
	hz, sum := float64(h)*e.f0, 0.0
	k := e.k.tune(hz)
	for i, b := range at {
		turn := fraction(hz * e.l.hopSeconds() * float64(b))
		a := k.phasor(blocks[b])
		line.z[i] = a * cmplx.Rect(1, -2*math.Pi*turn)
		if e.shift != nil {
			line.z[i] *= cmplx.Rect(1, -float64(h)*e.shift[b])
		}
		sum += power(a)
	}
	line.snr = sum/float64(len(at))/e.noise(hz) - 1
	return line
}

// bestClock is the first line other than h that stands high enough, h itself where no
// other does. ok is false where none does.
func bestClock(sorted []spanLine, h int) (best spanLine, ok bool) {
	for _, line := range sorted {
		if line.snr < trackSNR {
			continue
		}
		if line.h != h {
			return line, true
		}
		best, ok = line, true
	}
	return best, ok
}

// addWindow takes in what stands beyond noise where line h of this nominal frequency may
// be, main lobes of what is foreign left out.
func (e *evidence) addWindow(blocks []block, at []int, h int) {
	bin := e.l.binHz()
	centre := float64(h) * e.nominal
	if math.Abs(e.f0/e.nominal-1) > evidenceShare { // a generator, looked for as such
		centre = float64(h) * e.f0
	}
	// As far as the main lobe of a line at the end reaches.
	reach := min(evidenceShare*centre, evidenceReach) + float64(e.l.window.MainLobe())*bin
	const every = 2 // blocks overlap by three quarters: every other one says nearly all
	scale := 4 * e.k.scale * e.k.scale / e.l.window.ENBW() / float64((len(at)+every-1)/every)
	noise, to := e.noise(centre)/e.l.lineENBW*bin, &e.lines[h-1]
	for j := fft.Whole(math.Ceil((centre-reach)/bin), 1, len(blocks[0])); j <= fft.Whole((centre+reach)/bin, 0, len(blocks[0])-1); j++ {
		if j >= len(blocks[0]) || e.foreign[j] {
			continue
		}
		p := 0.0
		for i := 0; i < len(at); i += every {
			p += binPower(blocks[at[i]][j])
		}
		to.window += scale*p - noise
		to.noise += noise
		to.variance += clockShare * clockShare * neighbours * noise * noise * every / float64(len(at))
	}
}

// addScatter takes in how a line's amplitude scatters.
func (e *evidence) addScatter(line spanLine) {
	if line.snr < trackSNR {
		return
	}
	mean, square, n := 0.0, 0.0, float64(len(line.z))
	for _, a := range line.z {
		mean += cmplx.Abs(a) / n
	}
	for _, a := range line.z {
		square += (cmplx.Abs(a) - mean) * (cmplx.Abs(a) - mean) / n
	}
	to := &e.lines[line.h-1]
	to.power += power(complex(mean, 0))
	// Half of the noise's power lies along the line.
	noise := 1 / (2 * (line.snr + 1))
	to.scatter = append(to.scatter, max(0, square/(mean*mean)-noise))
	to.scatterNoise = max(to.scatterNoise, noise*math.Sqrt(2/e.l.powerAverages(len(line.z))))
}

// addStrongest takes in how much f0 moves from block to block, by the strongest line.
func (e *evidence) addStrongest(line spanLine, at []int) {
	if line.snr < trackSNR {
		return
	}
	apart := e.l.apart()
	rate := func(i int) float64 {
		return cmplx.Phase(line.z[i+apart]*cmplx.Conj(line.z[i])) / (2 * math.Pi * float64(line.h*apart) * e.l.hopSeconds())
	}
	for i := 0; i+2*apart < len(at); i++ {
		if at[i+2*apart] == at[i]+2*apart {
			e.breath = append(e.breath, math.Abs(rate(i+apart)-rate(i)))
		}
	}
	sd := math.Sqrt(1/(2*line.snr)) / (2 * math.Pi * float64(line.h*apart) * e.l.hopSeconds())
	e.breathNoise = max(e.breathNoise, 0.6745*math.Sqrt(6)*sd) // of a second difference
}

// measured is what was gathered, without the lines that something else hides.
func (e *evidence) measured(hidden func(h int) bool) Evidence {
	nan := math.NaN()
	r := Evidence{nan, nan, nan, nan, nan, nan}
	if e.spans == 0 {
		return r
	}
	var all clockedLine
	var clear []clockedLine
	for h, line := range e.lines {
		if hidden(h + 1) {
			continue
		}
		all.join(line)
		floor := clockShare * evidenceFloor * line.noise
		line.variance += floor * floor
		if clockShare*line.window > evidenceSigmas*math.Sqrt(line.variance) {
			clear = append(clear, line)
		}
		if line.power > all.power {
			all.power = line.power
			scatter := medianOf(line.scatter) // the middle one: hum may step once
			r.Scatter = math.Sqrt(scatter)
			r.ScatterLeast = math.Sqrt(max(0, scatter-evidenceSigmas*line.scatterNoise))
		}
	}
	if all.told && all.window > 0 {
		r.Clock = max(0, min(1, all.clocked/all.window))
	}
	if r.ClockMost = mostClocked(clear); r.ClockMost < r.Clock {
		r.Clock = r.ClockMost // windows in which less stands than noise explain none of it
	}
	r.OneTone = e.oneTone(hidden)
	if breath := medianOf(e.breath); breath > 3*e.breathNoise || e.breathNoise < 1e-4 {
		r.BreathHz = breath
	}
	return r
}

// oneTone is the share of what follows the clock that one line holds, of toneLine or more,
// with its multiples.
func (e *evidence) oneTone(hidden func(h int) bool) (most float64) {
	power := func(every int) (sum float64) {
		for h := every; h <= len(e.lines); h += every {
			if !hidden(h) {
				sum += max(0, e.lines[h-1].clocked)
			}
		}
		return sum
	}
	for h := toneLine; h <= len(e.lines); h++ {
		most = max(most, power(h))
	}
	return most / power(1)
}

// mostClocked is the share of the windows' power that follows one clock, at the most. A tone
// beside one line says nothing of the others: where enough of these follow, what stands in the
// window that follows least is left out. Music stands in all.
func mostClocked(lines []clockedLine) float64 {
	var sum clockedLine
	worst, follow := -1, 0
	for i, line := range lines {
		if sum.join(line); line.clocked > clockShare*line.window {
			follow++
		} else if worst < 0 || line.window-line.clocked > lines[worst].window-lines[worst].clocked {
			worst = i
		}
	}
	if worst >= 0 && follow >= gridLines {
		return mostClocked(slices.Delete(slices.Clone(lines), worst, worst+1))
	}
	if !(sum.window > 0) {
		return math.NaN()
	}
	return max(0, min(1, (sum.clocked+sum.slipped+evidenceSigmas*math.Sqrt(sum.variance))/sum.window))
}

// smoothPhase is a cubic through the phases of z, at the given times: by least
// squares, unwrapped from one to the next.
func smoothPhase(z []complex128, at []int) []float64 {
	phase := make([]float64, len(z))
	phase[0] = cmplx.Phase(z[0])
	for i := 1; i < len(z); i++ {
		phase[i] = phase[i-1] + cmplx.Phase(z[i]*cmplx.Conj(z[i-1]))
	}
	times := make([]float64, len(z))
	for i, b := range at {
		times[i] = (2*float64(b) - float64(at[0]+at[len(at)-1])) / float64(at[len(at)-1]-at[0])
	}
	cubic := fitPolynomial(times, phase, 3)
	for i, t := range times {
		phase[i] = cubic(t)
	}
	return phase
}
