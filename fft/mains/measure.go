package mains

import (
	"context"
	"math"
	"slices"

	"humdiff/fft/capture"
	"humdiff/fft/note"
)

// Measure measures every channel of a capture. The error is the source's, ctx's,
// or says that the capture is too short.
func Measure(ctx context.Context, src capture.Source, opt Options) ([]Measurement, error) {
	opt = opt.filled()
	l, err := newLayout(src.Rate(), src.Frames(), opt)
	if err != nil {
		return nil, err
	}
	obs, mains, err := gather(ctx, src, l, nil, opt)
	if err != nil {
		return nil, err
	}
	found := make([]bursts, len(obs))
	for c := range obs {
		found[c] = obs[c].bursts(l)
		found[c].leaveBreaks(mains[c].meter, l)
	}
	if without := leaveOut(found, l); without != nil {
		opt.Progress, opt.Frames = func(int64, int64) {}, func([][]float64) {} // once was all the way
		if obs, mains, err = gather(ctx, src, l, without, opt); err != nil {
			return nil, err
		}
	}
	result := make([]Measurement, len(obs))
	for c := range obs {
		result[c] = finish(&obs[c], l, opt, mains[c], found[c])
	}
	return result, nil
}

// gather reads the capture and follows each channel's mains. without: see observe.
func gather(ctx context.Context, src capture.Source, l layout, without []leftOut, opt Options) ([]observation, []contest, error) {
	obs, err := observe(ctx, src, l, without, opt)
	if err != nil {
		return nil, nil, err
	}
	mains := make([]contest, len(obs))
	for c := range obs {
		if !obs[c].health.Silent {
			mains[c] = newContest(l, &obs[c], opt)
		}
	}
	err = eachSegment(ctx, src, l, obs, func(c int, blocks []block) {
		mains[c].add(blocks)
		if without == nil {
			obs[c].swells = append(obs[c].swells, swells(blocks, l, mains[c].meter, obs[c].least)...)
		}
	})
	return obs, mains, err
}

// finish turns what was gathered of a channel into its measurement.
func finish(o *observation, l layout, opt Options, mains contest, found bursts) Measurement {
	m := mains.meter // nil where no mains was found
	r := Measurement{
		Rate: l.rate, Seconds: l.seconds, UpTo: l.upTo, out: o.out,
		Mains: sought(opt, m), Spectrum: o.full, Health: o.health,
		Hum: unknownLevel(), HumOn: unknownLevel(), HumWith: unknownLevel(), Above: unknownLevel(), OnShare: math.NaN(),
	}
	if !o.health.Silent {
		r.Health.Floors, r.Health.Cut = floorsOf(o.full), cutAt(o.full)
		if m != nil {
			r.Health.Jumps, r.Health.Buzz = m.there.breaks, m.buzz.depth()
		}
		r.Health.Timeline = o.timeline(l, m, found)
	}
	r.Warnings = healthWarnings(r, o, l)
	if o.health.Silent {
		return r
	}
	if r.Finest = o.codePower(l); r.Finest > 0 {
		r.Warnings = append(r.Warnings, coarseWarning(r.Finest))
	}
	wander := 0.0
	if m != nil {
		wander = m.wander
	}
	floor := localFloor(o.full, l.window.MainLobe())
	peaks := peaksAbove(o.full, floor, l.window, r.Mains.Hz, wander)
	harmonics := 0
	switch {
	case m != nil:
		harmonics = len(m.lines)
	case r.Mains.Hz > 0:
		harmonics = l.harmonics(r.Mains.Nominal, r.Mains.Hz)
	}
	var other []peak
	r.Tones, other = splitPeaks(peaks, r.Mains, harmonics, o.full.BinHz())
	if m != nil {
		r.Tones, other = m.there.withoutSwing(r.Tones, other, r.Mains)
		r.Tones, other = m.withApart(r.Tones, other, lobeHalf(o.full, l.window))
	}
	r.Tones, r.Above = above(o.full, floor, l.window, r.Mains, r.Tones)
	if harmonics > 0 {
		other = r.addLines(newJudge(o, l, opt, m, r.Mains, harmonics, other), m, other)
	}
	if m != nil {
		mains.judge(&r)
		m.there.say(&r)
	}
	r.Occupied = append(occupied(r, l, other, skirts{wander, m.swingBand(), m != nil && m.wow.swings > 0, m.switched()}), standing(o.full, floor)...)
	if bus := busTones(r); len(bus) > 0 {
		r.Warnings = append(r.Warnings, note.New("bus_tones", "tones_hz", bus))
	}
	r.Warnings = withoutRivals(append(r.Warnings, o.rounding(l)...), r)
	return r
}

// addLines measures the lines and their sum, and returns the peaks with the tones that
// were found on lines. m is nil where no mains was found.
func (r *Measurement) addLines(j *judge, m *meter, other []peak) []peak {
	if m != nil {
		m.codeDB = j.o.codeDB(j.l, m.strongestPower())
	}
	r.Lines, r.Hum = j.lines(r.Finest)
	r.LeftOut = leftOutOf(r.Lines)
	r.HumWith = r.Hum
	if m != nil {
		r.Suspects, r.HumWith = m.withSuspects(*r)
		r.Cycle = m.cycle()
		warnings, tones := m.clockWarnings(r.Lines, j.floor)
		r.Warnings = append(append(r.Warnings, m.trackWarnings(*r)...), warnings...)
		bin := j.o.full.BinHz()
		for _, t := range tones {
			if slices.ContainsFunc(r.Tones, func(x Tone) bool { return math.Abs(x.Hz-t.Hz) < 2*bin }) {
				continue
			}
			r.Tones = append([]Tone{t}, r.Tones...)
			other = append(other, peak{hz: t.Hz, power: t.Power, halfWidth: (float64(j.l.window.MainLobe()) + 0.5) * bin})
		}
	}
	return other
}

// sought is the mains found, or what lines are sought around instead.
func sought(opt Options, m *meter) Mains {
	if m != nil {
		return m.mains()
	}
	nan := math.NaN()
	s := Mains{Nominal: opt.Nominal, Hz: opt.Nominal, U95: nan, Min: nan, Max: nan, Evidence: Evidence{nan, nan, nan, nan, nan, nan}}
	if opt.Around > 0 {
		s.Hz = opt.Around
		s.Nominal = nearestNominal(opt.Around)
	}
	return s
}

func nearestNominal(hz float64) float64 {
	if math.Abs(hz-50) < math.Abs(hz-60) {
		return 50
	}
	return 60
}

// lineMeter measures harmonic h against a floor.
type lineMeter interface {
	// reach is how far, in Hz, from its place harmonic h is sought.
	reach(h int) float64
	// measure judges harmonic h by reading.level, or for a start by
	// reading.glance.
	measure(h int, floor floorEstimate, falseAlarm float64, judge func(reading, float64) Level) (Line, reading)
}

// judge measures the lines of one channel against floors that leave out
// everything else that stands in the spectrum.
type judge struct {
	o         *observation
	l         layout
	m         *meter // nil, or without a track: seek measures
	seek      seeker
	f0        Mains
	harmonics int
	tones     []peak
	floors    *floorReader
	known     map[int]floorEstimate // what floors say, by harmonic
}

func newJudge(o *observation, l layout, opt Options, m *meter, f0 Mains, harmonics int, tones []peak) *judge {
	j := &judge{o: o, l: l, f0: f0, harmonics: harmonics, tones: tones, floors: newFloorReader(o.low, &o.even), known: map[int]floorEstimate{}}
	if m != nil && m.tracked > 0 {
		j.m = m
	}
	j.seek = seeker{l: l, o: o, f0: f0.Hz, share: nominalShare}
	switch {
	case f0.Detected:
		j.seek.share = max(ownShare, 2*f0.U95/f0.Hz)
	case opt.Around > 0:
		j.seek.share = aroundShare
	}
	for _, p := range tones {
		j.floors.occupy(p.hz, p.halfWidth)
	}
	lobe := (float64(l.window.MainLobe()) + 0.5) * l.binHz()
	if f0.Detected {
		for h := 1; h <= harmonics+1; h++ {
			j.floors.occupy(float64(h)*f0.Hz, lobe+smear(f0, h))
		}
	}
	if !f0.Detected {
		// What is there of a line lies near its place: no floor is read there, as
		// long as that leaves bins.
		for h := 1; h <= harmonics; h++ {
			if half := lobe + j.seek.reach(h); half < floorReach/2 {
				j.floors.occupy(float64(h)*f0.Hz, half)
			}
		}
	}
	// A constant is a line at 0 Hz, whose two halves coincide.
	j.floors.spill(l.window, skirt{power: 4 * o.health.DC * o.health.DC})
	return j
}

// meter is who measures lines here.
func (j *judge) meter() lineMeter {
	if j.m != nil {
		return j.m
	}
	return j.seek
}

// floor is the floor under harmonic h, with the tones beside it.
func (j *judge) floor(h int) floorEstimate {
	if f, ok := j.known[h]; ok {
		return f
	}
	f := j.readFloor(h)
	j.known[h] = f
	return f
}

func (j *judge) readFloor(h int) floorEstimate {
	hz := float64(h) * j.f0.Hz
	f := j.floors.at(hz)
	f.beside = j.l.neighbours(hz, j.meter().reach(h), j.tones)
	return f
}

// lines measures all lines twice: first against floors read beside their main
// lobes, then against floors that leave out what the lines found then leak. It
// returns them with their sum. Nothing below finest is claimed.
func (j *judge) lines(finest float64) (lines []Line, hum Level) {
	falseAlarm := linesFalseAlarm / float64(j.harmonics)
	for h := 1; h <= j.harmonics; h++ {
		line, _ := j.meter().measure(h, j.readFloor(h), falseAlarm, reading.glance)
		if line.Detected && line.Power > 100*line.Floor {
			wander := j.wander(h)
			if line.Hidden { // a tone by a clock of its own doesn't walk with the mains
				wander = 0
			}
			j.floors.spill(j.l.window, skirt{line.Hz, line.Power, wander})
		}
	}
	clear(j.known)
	// Lines that stand so high would have been found to be a mains, were they one's.
	sure, refused := j.f0.Detected, false
	if share, _ := j.o.even.worst(); share < unevenShare { // in noise of all levels anything stands out
		refused = !sure
	}
	for h := 1; h <= j.harmonics; h++ {
		line, r := j.meter().measure(h, j.floor(h), falseAlarm, reading.level)
		sure = sure || line.Detected && r.falseAlarm() < aloneFalseAlarm/float64(j.harmonics)
		refused = refused || !j.f0.Detected && line.Detected && r.excess() > trackSNR*r.noise
		if line.Share = r.share(); j.m != nil {
			line.Share.Variance *= j.m.buzz.together(j.harmonics)
		}
		lines = append(lines, line)
	}
	for i := range lines {
		if !sure || refused {
			lines[i].Hz, lines[i].Level = float64(lines[i].Harmonic)*j.f0.Hz, limited(lines[i].upper())
		}
		if lines[i].Level = noFiner(lines[i].Level, finest); !lines[i].Detected {
			lines[i].Rho, lines[i].Steadiness, lines[i].Unsteady = math.NaN(), math.NaN(), false
		}
	}
	if j.m == nil {
		hum = noFiner(j.seek.hum(lines), finest)
	} else {
		hum = Total(lines, Level{}, finest, Set{})
	}
	return lines, hum
}

// wander is the strength of harmonic h's phase walk.
func (j *judge) wander(h int) float64 {
	if j.m == nil {
		return 0
	}
	return j.m.wander * float64(h*h)
}

// smear is how far harmonic h strays to either side of its mean.
func smear(m Mains, h int) float64 {
	if !m.Tracked {
		return 0
	}
	return float64(h) * max(m.Max-m.Hz, m.Hz-m.Min)
}

// skirts is what stands beside every line besides the window's sidelobes.
type skirts struct {
	wander   float64 // strength of the fundamental's phase walk, rad²/s³
	swing    float64 // Hz; how far the sidebands of hum that swings reach
	sways    bool    // the mains' frequency swings within blocks
	switched float64 // density at 1 Hz off, as a share of the line's power, of hum that comes and goes; it falls by the square
}

// at is their density so far from harmonic h, as a share of its power.
func (s skirts) at(d, h float64) float64 {
	square := 4 * math.Pi * math.Pi * d * d
	return h * h * s.wander / (square * square)
}

// gapShare is how much of the floor lines' skirts may be where noise is read: those of
// all add up, and floors beside them are skirts themselves.
const gapShare = 0.05

// mostFilled is the share of the gaps beyond which no noise is read at all.
const mostFilled = 0.125

// between are the gaps between lines that skirts fill: of hum that comes and goes, or that
// stands far out of the noise and walks. All there is, where they are many.
func (s skirts) between(r Measurement) (bands []Band) {
	if s.switched+s.wander == 0 {
		return nil
	}
	floor := math.Inf(1)
	for _, line := range r.Lines {
		if line.Floor < floor { // some lines have none
			floor = line.Floor
		}
	}
	for low := 0.0; low < r.Rate/2; low += r.Mains.Hz {
		sum := 0.0
		for _, line := range r.Lines {
			if d := low + r.Mains.Hz/2 - line.Hz; line.Detected {
				sum += line.Power * (s.switched/(d*d) + s.at(d, float64(line.Harmonic)))
			}
		}
		if sum > gapShare*floor {
			bands = append(bands, Band{low, low + r.Mains.Hz})
		}
	}
	if float64(len(bands)) > mostFilled*r.Rate/2/r.Mains.Hz {
		return []Band{{0, r.Rate / 2}}
	}
	return bands
}

// occupied lists the bands that hold lines or tones: main lobes, and skirts as
// far as they rise above half the floor; of lines not measured their main lobes. Where all
// lines sway, what is between them is theirs.
func occupied(r Measurement, l layout, other []peak, beside skirts) []Band {
	if beside.sways {
		return []Band{{0, r.Rate / 2}}
	}
	var bands []Band
	bin := r.Spectrum.BinHz()
	lobe := (float64(l.window.MainLobe()) + 0.5) * bin
	occupy := func(hz, half, power, floor, h float64) {
		for d := half; d < hz; d += bin {
			side := l.window.SidelobeBound(d / bin)
			half = d
			if power*(side*side/r.Spectrum.ENBWHz()+beside.at(d, h)) < 0.5*floor {
				break
			}
		}
		bands = append(bands, Band{hz - half, hz + half})
	}
	for _, line := range r.Lines {
		if line.Detected {
			occupy(line.Hz, max(lobe, beside.swing)+smear(r.Mains, line.Harmonic), line.Power, line.Floor, float64(line.Harmonic))
		}
	}
	floor := medianOf(r.Spectrum.Density)
	for _, p := range other {
		occupy(p.hz, p.halfWidth, p.power, floor, 0)
	}
	return slices.Concat(bands, beyond(r, lobe), beside.between(r))
}

// beyond lists where the mains' lines lie above the highest one measured. They
// are hum, not noise, found or not: strong hum goes on far above 5 kHz. It stops
// where they smear over half the room between them.
func beyond(r Measurement, lobe float64) []Band {
	if !r.Mains.Tracked {
		return nil
	}
	var bands []Band
	for h := len(r.Lines) + 1; float64(h)*r.Mains.Hz < r.Rate/2; h++ {
		half := lobe + smear(r.Mains, h)
		if half > r.Mains.Hz/4 {
			break
		}
		hz := float64(h) * r.Mains.Hz
		bands = append(bands, Band{hz - half, hz + half})
	}
	return bands
}
