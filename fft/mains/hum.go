package mains

import (
	"math"
	"slices"
)

// floorModel is the share by which floors may be off together: their bias is
// within 0.1 dB (measured: fixtures/proof), and a sum of many lines sees it.
const floorModel = 0.02

// totalModelDB is modelDB for a sum: what lines that stray from the mains lose
// within blocks all goes one way.
const totalModelDB = 0.007

// hiddenBy is how far above its floor the noise of a line has to be, because of
// tones on it or beside it, for it to be left out of the total: its own share of
// hum can't be told there, and its uncertainty would swamp all others'.
const hiddenBy = 4

// Share is what a line brings to a sum of lines: powers, relative to that of a
// full-scale sine.
type Share struct {
	Excess   float64 // mean power less noise; of a line that noise hides it may be below zero
	Noise    float64 // expected in that mean
	Variance float64 // of Excess
	Model    float64 // by which Excess may be off for other reasons than noise
}

// share is a reading's.
func (r reading) share() Share {
	a := max(r.excess(), 0)
	return Share{
		Excess: r.excess(), Noise: r.noise,
		Variance: r.noise * (2*a + r.noise) / r.averages(a),
		Model:    a * r.model * math.Ln10 / 10,
	}
}

// times is the share of a line whose power counts w times.
func (s Share) times(w float64) Share {
	return Share{w * s.Excess, w * s.Noise, w * w * s.Variance, w * s.Model}
}

func (s Share) plus(o Share) Share {
	return Share{s.Excess + o.Excess, s.Noise + o.Noise, s.Variance + o.Variance, s.Model + o.Model}
}

// Set is which lines a total is over, and how much each counts.
type Set struct {
	Lines   int                      // harmonics 1 … Lines; 0: all that were measured
	Without []int                    // harmonics left out
	Weight  func(hz float64) float64 // a factor on power; nil: 1
}

// Total is the sum over a set of the lines of a capture whose hum total is hum,
// noise taken off each, with its 95 % interval, or the limit below which it lies
// where none of them was found. Hidden lines are left out, whatever the set
// says. It is a pure function of what was measured. NaN where the set holds no
// line.
//
// Lines that were sought without a track were summed at the one f0 in the range
// where hum is largest. Another set may have its largest sum elsewhere: where
// nothing of it is found it is bounded by hum's own upper end, weighed by the
// largest weight, since a part is no more than the whole.
func Total(lines []Line, hum Level, finest float64, set Set) Level {
	t := total{}
	searched, most := false, 0.0
	for _, line := range lines {
		if !set.holds(line) {
			continue
		}
		w := set.weight(line.Hz)
		t.add(line, w)
		searched = searched || line.Method == MethodSearch
		most = max(most, w)
	}
	if t.lines == 0 {
		return unknownLevel()
	}
	level := t.level()
	if searched && !level.Detected {
		level.Limit = most * hum.upper()
	}
	return noFiner(level, most*finest)
}

// Total is the sum over a set of the measurement's lines.
func (m Measurement) Total(set Set) Level { return Total(m.Lines, m.Hum, m.Finest, set) }

func (s Set) holds(line Line) bool {
	return line.counts() && (s.Lines == 0 || line.Harmonic <= s.Lines) && !slices.Contains(s.Without, line.Harmonic)
}

func (s Set) weight(hz float64) float64 {
	if s.Weight == nil {
		return 1
	}
	return s.Weight(hz)
}

// unknownLevel is the level of what wasn't measured.
func unknownLevel() Level {
	nan := math.NaN()
	return Level{Power: nan, Lo: nan, Hi: nan, Limit: nan}
}

// limited is that of what lies below a limit.
func limited(limit float64) Level {
	l := unknownLevel()
	l.Limit = limit
	return l
}

// upper is what a level lies below.
func (l Level) upper() float64 {
	if l.Detected {
		return l.Hi
	}
	return l.Limit
}

// total adds lines up.
type total struct {
	Share
	lines    int
	detected bool    // any of its lines is
	surest   float64 // largest lower end of a line that is found
	found    float64 // power of the lines that are found
}

func (t *total) add(line Line, weight float64) {
	share := line.Share
	if !line.Detected { // it may be nothing: what is left of a knock outweighs all hum
		share.Variance = max(share.Variance, share.Excess*share.Excess/(1.96*1.96))
	}
	t.Share = t.plus(share.times(weight))
	t.lines++
	if line.Detected {
		t.detected = true
		t.found += weight * line.Power
		t.surest = max(t.surest, weight*line.Lo)
	}
}

// level is the sum's; it counts as detected where any of its lines is.
func (t total) level() Level {
	half := 1.96*math.Sqrt(t.Variance) + floorModel*t.Noise + t.Model
	if t.detected && t.Excess > 0 {
		// No less than the strongest line found in it says.
		lo := max(t.Excess-half, min(t.surest, t.Excess))
		return Level{
			Detected: true, Power: t.Excess, Limit: math.NaN(),
			Lo: widen(t.Excess, lo, -totalModelDB), Hi: widen(t.Excess, t.Excess+half, totalModelDB),
		}
	}
	return limited(max(t.Excess, 0) + half)
}

// counts says whether a line can be added up: one that a tone hides can't, nor one
// beside which no floor could be read.
func (l Line) counts() bool {
	return !l.Hidden && !math.IsNaN(l.Share.Excess+l.Share.Variance)
}

// leftOutOf lists the harmonics that are not added up.
func leftOutOf(lines []Line) (out []int) {
	for _, line := range lines {
		if !line.counts() {
			out = append(out, line.Harmonic)
		}
	}
	return out
}

// withSuspects lists the harmonics left out as a bus's tones, and sums them up with the
// others.
func (m *meter) withSuspects(r Measurement) (suspects []int, hum Level) {
	lines := slices.Clone(r.Lines)
	for i := range lines {
		if h := lines[i].Harmonic; m.likelyBus(h) && lines[i].Hidden {
			suspects = append(suspects, h)
			lines[i].Hidden = false
		}
	}
	if len(suspects) == 0 {
		return nil, r.Hum
	}
	return suspects, Total(lines, r.Hum, r.Finest, Set{})
}
