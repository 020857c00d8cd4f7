package mains

import (
	"context"
	"math"
	"slices"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fft/note"
)

// Steps is hum against time: levels in steps of 10 cycles of a 50 Hz mains or
// 12 of a 60 Hz one, 200 ms, the window of IEC 61000-4-7. In each step a Hann
// window of its whole length is used, where the standard has none: what other
// lines leak when the mains is off nominal is then nothing.
type Steps struct {
	Mains     Mains
	Seconds   float64 // length of a step
	Start     float64 // s from the capture's start to the first step's
	Harmonics int     // summed up in Hum: 1 … Harmonics, without LeftOut
	LeftOut   []int   // hidden by tones that are no hum
	Hum       []StepLevel
	Lines     map[int][]StepLevel // chosen harmonics
	Health    Health
	Warnings  []note.Note
}

// StepLevel is a level in one step, with what it takes to compare steps.
type StepLevel struct {
	Level
	Read     float64 // power read, noise not taken off
	Noise    float64 // expected in Read
	Variance float64 // of Read, if the level stands still

	central, coherent, dof, model float64 // see reading
}

// MeanOfSteps is the mean level of steps in which the hum stands still, with its
// interval or its limit.
func MeanOfSteps(steps []StepLevel) Level {
	r := reading{looks: 1}
	n := float64(len(steps))
	for _, s := range steps {
		r.mean += s.Read / n
		r.noise += s.Noise / n
		// A step is worth one power at least, and its floor two degrees of freedom.
		r.central += max(s.central, 1)
		r.coherent += max(s.coherent, 1)
		r.floorDOF = max(r.floorDOF, s.dof, 2)
		r.model += s.model / n
	}
	r.floor = r.noise
	return r.level(stepFalseAlarm)
}

const (
	stepCycles50, stepCycles60 = 10, 12
	// stepFalseAlarm is the share of steps without hum in which some is found.
	stepFalseAlarm = 0.001
	// burstRatio is by how much a step's own noise has to exceed that of the
	// whole capture to be taken instead: of noise alone, the mean of eight powers
	// does so once in 10000 steps.
	burstRatio = 2.7
	// stepWander is how far the mains may lie off the capture's mean: twice the
	// usual wander. Off by d of the window's bins, Hann reads 5.7·d² dB low.
	stepWander = 0.04 // Hz
	burstLines = 4    // half-way frequencies to either side of a line that tell
)

// TrendUpTo is the highest line in the sum where nothing else is asked for: in
// 200 ms every further line brings noise to the sum, and hardly any hum.
const TrendUpTo = 1000.0 // Hz

// MeasureSteps measures every channel of a capture step by step. chosen are the
// harmonics wanted each by itself. A channel in which no mains was found, and
// none is given by opt.Nominal, has no steps. Errors are those of Measure.
func MeasureSteps(ctx context.Context, src capture.Source, opt Options, chosen []int) ([]Steps, error) {
	if opt.UpTo == 0 {
		opt.UpTo = TrendUpTo
	}
	opt = opt.filled()
	l, err := newLayout(src.Rate(), src.Frames(), opt)
	if err != nil {
		return nil, err
	}
	half, first := opt.Progress, opt
	first.Progress = func(done, total int64) { half(done/2, total) }
	obs, err := observe(ctx, src, l, nil, first)
	if err != nil {
		return nil, err
	}
	steppers := make([]*stepper, len(obs))
	for c := range obs {
		steppers[c] = newStepper(&obs[c], l, opt, chosen)
	}
	if err := stepThrough(ctx, src, l, steppers, func(done, total int64) { half(total/2+done/2, total) }); err != nil {
		return nil, err
	}
	all := make([]Steps, len(obs))
	for c, s := range steppers {
		s.Start = lowStart(src.Frames(), l)
		all[c] = s.Steps
	}
	return all, nil
}

// lowStart is the time from the capture's first sample to the low band's.
func lowStart(frames int64, l layout) float64 {
	factor := math.Exp2(float64(l.halvings))
	low := fft.NewDecimator(l.rate, l.edge, l.halvings).Frames(frames)
	return (float64(frames) - 1 - (float64(low)-1)*factor) / 2 / l.rate
}

func stepThrough(ctx context.Context, src capture.Source, l layout, steppers []*stepper, progress func(done, total int64)) error {
	decimators := make([]*fft.Decimator, len(steppers))
	for c := range decimators {
		decimators[c] = fft.NewDecimator(l.rate, l.edge, l.halvings)
	}
	return capture.Each(ctx, src, progress, func(frames [][]float64) {
		for c, x := range frames {
			steppers[c].push(decimators[c].Push(x))
		}
	})
}

// stepper measures the steps of one channel.
type stepper struct {
	Steps
	rate   float64 // of the low band
	length float64 // of a step, samples
	probes []probe // of lines 1 … n
	beside []probe // half-way between them: 1.5, 2.5 …
	floors []floorEstimate
	enbw   float64
	held   []float64
	passed int64 // samples dropped from held
	next   int   // number of the next step
}

// probe is a windowed sine and cosine: their sums with a step's samples give the
// line's phasor.
type probe struct{ cos, sin []float64 }

func newStepper(o *observation, l layout, opt Options, chosen []int) *stepper {
	s := &stepper{rate: l.lowRate}
	s.Health, s.Lines = o.health, map[int][]StepLevel{}
	s.Mains = sought(opt, nil)
	if f, ok := search(o, l, opt); ok && !o.health.Silent {
		nan := math.NaN()
		s.Mains = Mains{Detected: true, Nominal: f.nominal, Hz: f.hz, U95: f.u95, Min: nan, Max: nan}
	}
	// Where hum comes and goes, so does what it leaks: each step looks at its own
	// noise instead.
	s.Warnings = slices.DeleteFunc(healthWarnings(Measurement{Health: o.health}, o, l), func(w note.Note) bool { return w.Code == "noise_unsteady" })
	if o.health.Silent || !(s.Mains.Hz > 0) {
		return s
	}
	cycles := stepCycles50
	if s.Mains.Nominal == 60 {
		cycles = stepCycles60
	}
	s.Seconds = float64(cycles) / s.Mains.Hz
	s.length = s.Seconds * l.lowRate
	s.Harmonics = l.harmonics(s.Mains.Nominal, s.Mains.Hz)
	_, other := splitPeaks(findPeaks(o.full, l.window, s.Mains.Hz, 0), s.Mains, s.Harmonics, o.full.BinHz())
	j := newJudge(o, l, opt, nil, s.Mains, s.Harmonics, other)
	n := fft.Whole(s.length, 1, 1<<30)
	for h := 1; h <= s.Harmonics; h++ {
		s.floors = append(s.floors, j.floor(h))
		s.probes = append(s.probes, newProbe(n, float64(h)*s.Mains.Hz/l.lowRate))
		s.beside = append(s.beside, newProbe(n, (float64(h)+0.5)*s.Mains.Hz/l.lowRate))
		if tone := s.tonePower(other, h); tone > 4*s.floors[h-1].density*1.5/s.Seconds {
			s.LeftOut = append(s.LeftOut, h)
		}
	}
	s.enbw = 1.5 * l.lowRate / float64(n) // Hann's
	for _, h := range chosen {
		s.Lines[h] = []StepLevel{}
	}
	return s
}

// tonePower is what tones beside harmonic h leave in its estimate: those within
// the main lobe of a step's window, two bins to either side.
func (s *stepper) tonePower(tones []peak, h int) (power float64) {
	for _, t := range tones {
		if math.Abs(t.hz-float64(h)*s.Mains.Hz) < 2/s.Seconds {
			power += t.power
		}
	}
	return power
}

// newProbe is Hann's window of n samples on a line at f cycles a sample, scaled
// so that the sums are the real and the imaginary part of its half-amplitude.
func newProbe(n int, f float64) probe {
	p := probe{make([]float64, n), make([]float64, n)}
	for i := range p.cos {
		w := (1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n))) / float64(n)
		p.sin[i], p.cos[i] = math.Sincos(2 * math.Pi * f * float64(i))
		p.cos[i], p.sin[i] = w*p.cos[i], -w*p.sin[i]
	}
	return p
}

func (p probe) power(x []float64) float64 {
	var re, im float64
	x = x[:len(p.cos)]
	for i, v := range x {
		re += v * p.cos[i]
		im += v * p.sin[i]
	}
	return power(complex(re, im))
}

// push takes in samples of the low band and measures the steps that are whole.
func (s *stepper) push(x []float64) {
	if len(s.probes) == 0 {
		return
	}
	s.held = append(s.held, x...)
	for {
		first := int64(fft.Whole(math.Round(float64(s.next)*s.length), 0, math.MaxInt64)) - s.passed
		if first+int64(len(s.probes[0].cos)) > int64(len(s.held)) {
			first = min(first, int64(len(s.held)))
			s.held, s.passed = append(s.held[:0], s.held[first:]...), s.passed+first
			return
		}
		s.step(s.held[first:])
		s.next++
	}
}

func (s *stepper) step(x []float64) {
	n := len(s.probes)
	own := make([]float64, n) // noise half-way to the next line, over the floor's
	for h := range own {
		own[h] = s.beside[h].power(x) / (s.floors[h].density * s.enbw)
	}
	var sum stepSum
	for h := range n {
		noise := s.floors[h].density * s.enbw * burst(own, h)
		r := reading{mean: s.probes[h].power(x), noise: noise, floor: noise, central: 1, coherent: 1, floorDOF: s.floors[h].dof, looks: 1}
		off := float64(h+1) * stepWander * s.Seconds
		r.model = 5.7 * off * off
		if list, wanted := s.Lines[h+1]; wanted {
			s.Lines[h+1] = append(list, stepLevel(r, 2*max(r.excess(), 0)*noise+noise*noise))
		}
		if !slices.Contains(s.LeftOut, h+1) {
			sum.add(r)
		}
	}
	s.Hum = append(s.Hum, sum.level())
}

// burst is by how much the noise around a line exceeds that of the whole
// capture in this step, 1 where not beyond chance.
func burst(own []float64, h int) float64 {
	lo, hi := max(0, h-burstLines), min(len(own), h+burstLines)
	if hi-lo < 2*burstLines { // at an end
		lo, hi = max(0, min(lo, len(own)-2*burstLines)), min(len(own), max(hi, 2*burstLines))
	}
	sum := 0.0
	for _, x := range own[lo:hi] {
		sum += x / float64(hi-lo)
	}
	if sum > burstRatio {
		return sum
	}
	return 1
}

// stepSum adds up lines of one step.
type stepSum struct {
	mean, noise, squares, excess, mixed, dof, model float64
}

func (t *stepSum) add(r reading) {
	a := max(r.excess(), 0)
	t.mean += r.mean
	t.noise += r.noise
	t.squares += r.noise * r.noise
	t.excess += a
	t.mixed += a * r.noise
	t.dof += r.floorDOF
	t.model += a * r.model
}

// level judges the sum: as of so many independent powers as its noise, unevenly
// spread over the lines, is worth.
func (t stepSum) level() StepLevel {
	r := reading{mean: t.mean, noise: t.noise, floor: t.noise, looks: 1, floorDOF: max(t.dof, 2),
		central: t.noise * t.noise / t.squares, coherent: 1}
	if t.mixed > 0 {
		r.coherent = max(1, t.excess*t.noise/t.mixed)
		r.model = t.model / t.excess
	}
	return stepLevel(r, 2*t.mixed+t.squares)
}

func stepLevel(r reading, variance float64) StepLevel {
	return StepLevel{Level: r.level(stepFalseAlarm), Read: r.mean, Noise: r.noise, Variance: variance,
		central: r.central, coherent: r.coherent, dof: r.floorDOF, model: r.model}
}
