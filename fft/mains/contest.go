package mains

import (
	"math"
	"slices"

	"humdiff/fft/note"
)

const (
	// publicGrid is the share of nominal within which a public grid stays (EN 50160,
	// from memory: ±1 % during 99.5 % of a year), and a fifth more for what a
	// capture's frequency is off by.
	publicGrid = 0.012
	// usualOffset is how far from nominal a public grid is as a rule.
	usualOffset = 0.2 // Hz
	// rivalClock and rivalDB are from what share of one clock, and within how much of
	// the mains, another comb makes the mains doubtful.
	rivalClock, rivalDB = 0.3, 15.0
	// steadyWalk is below what strength of its walk, rad²/s³, a comb is no grid's, but a
	// display's, an inverter's, a generator's by a crystal. In all 123 half minutes of a
	// real grid as much as 1e-4 was left open, and 1e-5 in 126 pieces of 8 s.
	steadyWalk = 3e-8
	// mostOfTone is what share of what follows the clock one higher line may hold with its
	// multiples: of a mains, others are within 13 dB of them.
	mostOfTone = 0.95
	// leastLooks is for how many blocks hum has to be there to show a clock.
	leastLooks = 2.0
	// clockSlackHz is by how much f0 may differ from that of the line others follow.
	clockSlackHz = 0.002
	// breathSeconds is in what time it is said to move by so much.
	breathSeconds = 10.0
)

// contest is the combs of one channel that may be its mains: the likeliest is measured,
// the other watched.
type contest struct {
	l        layout
	o        *observation
	all      []candidate // the mains first
	evidence []*evidence // of each
	meter    *meter      // of the mains; nil where there is none, or no segment was seen
}

func newContest(l layout, o *observation, opt Options) contest {
	return contest{l: l, o: o, all: candidates(o, l, opt)}
}

// add takes in a segment. The first one decides which comb is the mains.
func (c *contest) add(blocks []block) {
	if len(c.all) == 0 {
		return
	}
	gathered := c.meter == nil && c.begin(blocks)
	first := c.meter.seen
	c.meter.add(blocks)
	there := &c.meter.there
	if gathered && there.shift == nil && there.part == nil {
		return
	}
	for i, e := range c.evidence {
		if gathered { // as if nothing had stepped, and hum were in all blocks
			e = c.newEvidence(i)
			c.evidence[i] = e
		}
		var shift []float64
		if i == 0 {
			shift = there.shift
		}
		c.gather(e, blocks, first, shift)
	}
}

// begin chooses the mains: the comb that holds more power by one clock. It says whether
// that took evidence of each.
func (c *contest) begin(blocks []block) (gathered bool) {
	for i := range c.all {
		c.evidence = append(c.evidence, c.newEvidence(i))
	}
	gathered = len(c.all) == 2 && c.all[0].clear > 0 && c.all[0].lone() == c.all[1].lone()
	if gathered {
		var clocked [2]float64
		for i, e := range c.evidence {
			c.gather(e, blocks, 0, nil)
			if k := e.measured(none).Clock; !math.IsNaN(k) { // no line shows a clock
				clocked[i] = c.all[i].own * k
			}
		}
		if clocked[1] > clocked[0] {
			slices.Reverse(c.all)
			slices.Reverse(c.evidence)
		}
	}
	c.meter = newMeter(c.o, c.all[0].found)
	return gathered
}

func (c *contest) newEvidence(i int) *evidence {
	lobe := float64(c.l.window.MainLobe()) * c.l.binHz()
	foreign := func(hz float64) bool {
		aside := slices.ContainsFunc(c.all[i].aside, func(tone float64) bool { return math.Abs(tone-hz) < lobe })
		return aside || len(c.all) == 2 && shares(hz, c.all[1-i].hz, c.l)
	}
	return newEvidence(c.l, c.o.kernel, c.all[i].found, c.o.blockNoise, foreign)
}

// gather takes in a segment whose first block has that number.
func (c *contest) gather(e *evidence, blocks []block, first int, shift []float64) {
	e.add(blocks, func(b int) bool {
		return (c.o.out == nil || !c.o.out[first+b]) && (c.meter == nil || c.meter.there.part == nil || !c.meter.there.part[b])
	}, shift)
}

func none(int) bool { return false }

// hiddenIn says of harmonics whether a tone hides their line.
func hiddenIn(lines []Line) func(h int) bool {
	return func(h int) bool { return h <= len(lines) && lines[h-1].Hidden }
}

// judge says in r what was found besides the mains, and what speaks against it.
func (c *contest) judge(r *Measurement) {
	r.Mains.Evidence = c.evidence[0].measured(hiddenIn(r.Lines))
	if c.meter.there.comesAndGoes() {
		r.Mains.Scatter = c.meter.there.scatter()
		r.Mains.ScatterLeast = r.Mains.Scatter
		if c.meter.there.onShare()*r.Seconds < leastLooks/c.l.binHz() { // all blocks see the same of it
			r.Mains.Clock, r.Mains.ClockMost = math.NaN(), math.NaN()
		}
	}
	for i, other := range c.all[1:] {
		if other.clear > 0 {
			r.AlsoFound = append(r.AlsoFound, Comb{Nominal: other.nominal, Hz: other.hz, Lines: other.clear, Total: combLevel(other.own), Evidence: c.evidence[i+1].measured(none)})
		}
	}
	r.Mains.Doubt = c.doubts(*r)
	r.Warnings = append(r.Warnings, doubtWarnings(*r, c.meter.mostWander)...)
}

// combModelDB is what a comb's total may be off by that is read from the averaged
// spectrum, without a track, at the nearest half bins.
const combModelDB = 0.3

func combLevel(power float64) Level {
	return Level{Detected: true, Power: power, Lo: power * math.Pow(10, -combModelDB/10), Hi: power * math.Pow(10, combModelDB/10), Limit: math.NaN()}
}

func (c *contest) doubts(r Measurement) (why []string) {
	add := func(code string, is bool) {
		if is {
			why = append(why, code)
		}
	}
	m := r.Mains
	off := math.Abs(m.Hz - m.Nominal)
	if !math.IsNaN(m.U95) {
		off = max(0, off-m.U95)
	}
	add(DoubtEither, c.all[0].ambiguous)
	add(DoubtFarOff, off > publicGrid*m.Nominal)
	add(DoubtLone, off > usualOffset && detectedLines(r.Lines) < gridLines)
	there := &c.meter.there
	brief := there.comesAndGoes() && there.onShare()*r.Seconds < spanSeconds/2
	share, _ := c.o.even.worst()
	// Where no grid usually is, for a moment, in noise of all levels, as music and speech
	// are, in what bursts leave, or where no line was found, it has to be shown.
	scarce := c.o.out != nil && math.IsNaN(m.Clock)
	nothing := !r.Hum.Detected && detectedLines(r.Lines) == 0
	unseen := (off > usualOffset || brief || scarce || nothing || share < unevenShare) && !(m.Clock > surelyClocked) || off > usualOffset && brief
	add(DoubtTone, m.OneTone > mostOfTone && !(m.Clock < clockShare))
	moves := m.Tracked && m.U95 > usualOffset || !m.Tracked && c.scattered(r.Lines)
	add(DoubtMoves, unseen || moves || c.ledAway(m) || m.ClockMost < clockShare || m.ScatterLeast > mostScatter && !(m.Clock > surelyClocked))
	add(DoubtSteady, m.Tracked && c.meter.mostWander < steadyWalk)
	own := slices.DeleteFunc(slices.Clone(r.Lines), func(l Line) bool { return clockedNear(l.Hz) != nil })
	add(DoubtBus, detectedLines(own) == 0 && detectedLines(r.Lines)+len(r.Suspects) > 0)
	for _, other := range r.AlsoFound {
		add(DoubtTwo, other.Clock > rivalClock && other.Total.Power > c.all[0].own*math.Pow(10, -rivalDB/10))
	}
	return why
}

// ledAway says whether the track follows something else than the line that others follow.
func (c *contest) ledAway(m Mains) bool {
	e := c.evidence[0]
	open := clockSlackHz + m.U95 + evidenceSigmas*e.clockNoise
	return m.Tracked && e.spans > 0 && e.clockHz.n == e.spans && !c.meter.there.comesAndGoes() && math.Abs(m.Hz-e.clockHz.mean) > open
}

// scattered says whether most of the lines that were sought, and found, lie on no multiples
// of one frequency: what is played has peaks everywhere.
func (c *contest) scattered(lines []Line) bool {
	lines = slices.DeleteFunc(slices.Clone(lines), func(l Line) bool { return !l.Detected || l.Hidden })
	most := 0
	for _, of := range lines {
		n, f0 := 0, of.Hz/float64(of.Harmonic)
		for _, l := range lines {
			if math.Abs(l.Hz-float64(l.Harmonic)*f0) < c.l.binHz()+float64(l.Harmonic)*usualWander {
				n++
			}
		}
		most = max(most, n)
	}
	return 2*most < len(lines)
}

func detectedLines(lines []Line) (n int) {
	for _, line := range lines {
		if line.Detected && !line.Hidden {
			n++
		}
	}
	return n
}

// doubtWarnings says what speaks against the mains, whose frequency walks that strongly
// at the most.
func doubtWarnings(r Measurement, walk float64) (w []note.Note) {
	m := r.Mains
	var why []string
	for _, doubt := range m.Doubt {
		switch doubt {
		case DoubtEither:
			w = append(w, note.New("mains_ambiguous", "taken_hz", m.Nominal))
		case DoubtFarOff:
			w = append(w, note.New("mains_far_off", "mains_hz", m.Hz, "off_share", math.Abs(m.Hz/m.Nominal-1)))
		case DoubtSteady:
			w = append(w, note.New("mains_steady", "mains_hz", m.Hz, "moves_hz", max(1e-6, math.Sqrt(walk*breathSeconds)/(2*math.Pi)), "seconds", breathSeconds))
		case DoubtTwo:
			other := r.AlsoFound[0]
			w = append(w, note.New("two_combs", "mains_hz", m.Hz, "other_hz", other.Hz, "other_dbfs", 10*math.Log10(other.Total.Power)))
		default:
			why = append(why, doubt)
		}
	}
	if len(why) > 0 {
		w = append(w, note.New("mains_doubtful", "mains_hz", m.Hz, "why", why, "off_hz", math.Abs(m.Hz-m.Nominal), "clock_share", m.Clock))
	}
	return w
}
