package mains

import (
	"math"

	"humdiff/fft"
)

const (
	// How far from their place lines are sought: from the capture's own f0 where
	// it was found but too weak to follow, from another capture's, and from the
	// nominal frequency where nothing is known.
	ownShare     = 0.0008
	aroundShare  = 0.004
	nominalShare = 0.005
	// looksPerBandwidth is how many independent looks the largest of noise
	// powers over a range takes per noise bandwidth of the taper; by simulation
	// of noise (the cases "noise alone" of fixtures/proof).
	looksPerBandwidth = 2.4
	// usualWander is how far the mains wanders in a capture (one standard deviation
	// over minutes on real grids: the recordings of TestRealRecordings). Where
	// that, h times, leaves a line's bandwidth, the power of a band is read
	// instead of that of one frequency.
	usualWander = 0.02 // Hz
	// foundShare is the share of their sum that lines found by themselves have, where the
	// rest is surely hum: noise that swings in step with the mains is the same in all lines.
	foundShare = 0.5
)

// seeker measures lines without a track: the largest mean block power over a
// range around each multiple.
type seeker struct {
	l     layout
	o     *observation
	f0    float64
	share float64
}

// reading is the largest power near harmonic h, and where. Half bins round the
// range up, and a peak is looked for between them: a tone beside it may leak in
// from a bin nearer than the range's end.
func (s seeker) reading(h int, floor floorEstimate) (r reading, hz float64) {
	centre := float64(h) * s.f0
	width := s.band(h)
	mean, hz := s.largest(centre, s.reach(h), width)
	return reading{
		mean: mean, floor: floor.density * width, noise: floor.density*width + floor.intoBlock(s.l, s.reach(h)+s.l.binHz()), floorDOF: floor.dof,
		central: s.o.power * s.o.even.share(centre) * width / s.l.lineENBW, coherent: s.o.phasor * width / s.l.lineENBW,
		looks: 1 + looksPerBandwidth*2*s.reach(h)/width,
	}, hz
}

// reach is how far harmonic h is sought to either side of its place.
func (s seeker) reach(h int) float64 { return s.share * float64(h) * s.f0 }

// band is the bandwidth in which harmonic h is read: the taper's, or twice two
// standard deviations of its wander where that is more.
func (s seeker) band(h int) float64 {
	return max(s.l.lineENBW, 4*usualWander*float64(h))
}

// largest is the largest power in a band of the given width whose centre lies
// within reach of hz, and where. A steady line fills the taper's bandwidth; the
// sum over a wider band, over that bandwidth, is its power wherever it strayed.
func (s seeker) largest(centre, reach, width float64) (power, hz float64) {
	if width <= s.l.lineENBW {
		i := peakNear(&s.o.scan, centre, fft.Whole(math.Ceil(2*reach/s.l.binHz()), 0, len(s.o.scan.mean)))
		hz, height := interpolatedPeak(&s.o.scan, i)
		return height, hz
	}
	scan, step := &s.o.scan, s.l.binHz()/2
	half := fft.Whole(math.Round(width/2/step), 0, len(scan.mean))
	for i := scan.at(centre - reach); i <= scan.at(centre+reach); i++ {
		sum := 0.0
		for j := max(i-half, 0); j <= min(i+half, len(scan.mean)-1); j++ {
			sum += scan.mean[j]
		}
		// 2·half+1 half bins stand for the band's exact width.
		if p := sum / float64(2*half+1) * width / s.l.lineENBW; p > power {
			power, hz = p, scan.hz(i)
		}
	}
	return power, hz
}

// measure judges harmonic h.
func (s seeker) measure(h int, floor floorEstimate, falseAlarm float64, judge func(reading, float64) Level) (Line, reading) {
	r, hz := s.reading(h, floor)
	line := Line{
		Harmonic: h, Hz: float64(h) * s.f0, Hidden: r.noise > hiddenBy*r.floor, Floor: floor.density, FloorDOF: floor.dof, Level: judge(r, falseAlarm),
		Steadiness: math.NaN(), Rho: math.NaN(), Method: MethodSearch,
	}
	if line.Detected {
		line.Hz = hz
		// Where the mains is known, a strong peak away from its place is a tone's.
		off := math.Abs(hz - float64(h)*s.f0)
		line.Hidden = line.Hidden || s.share < aroundShare && r.excess() > strongSNR*r.noise && off > 0.1*s.l.binHz()+float64(h)*(usualWander+s.share*s.f0/2)
		line.Rho = line.Power / floor.density * s.l.seconds
	}
	return line, r
}

// hum bounds the sum of all lines over every f0 in the range: lines keep to
// multiples of one f0, so the largest sum over f0 bounds it far closer than
// the sum of the largest. Lines' shares are then those at that f0.
func (s seeker) hum(lines []Line) Level {
	step := s.l.binHz() / 2 / float64(len(lines))
	best, most := s.f0, math.Inf(-1)
	for f0 := s.f0 * (1 - s.share); f0 <= s.f0*(1+s.share); f0 += step {
		excess := 0.0
		for _, line := range lines {
			if line.counts() {
				excess += s.at(f0, line).excess()
			}
		}
		if excess > most {
			best, most = f0, excess
		}
	}
	var t total
	for i := range lines {
		lines[i].Share = s.at(best, lines[i]).share()
		if lines[i].counts() {
			t.add(lines[i], 1)
		}
	}
	if t.lines == 0 {
		return unknownLevel()
	}
	level := t.level()
	if found := t.found; level.Detected && found < foundShare*level.Power {
		level.Lo = min(level.Lo, t.surest)
	}
	return level
}

// at reads a line's place by a given f0.
func (s seeker) at(f0 float64, line Line) reading {
	return reading{
		mean: s.o.scan.near(float64(line.Harmonic) * f0), noise: line.Floor * s.l.lineENBW,
		central: s.o.power * s.o.even.share(line.Hz), coherent: s.o.phasor, floorDOF: math.Inf(1), looks: 1,
	}
}
