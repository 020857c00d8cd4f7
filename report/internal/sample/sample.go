// Package sample invents results for the tests of tables, figures and pages:
// a bench of our own, two captures of a cable called Heron at 50 Hz. Every
// state that a line or a delta can have occurs in it. Its levels follow from a
// made-up law, not from samples, so nothing here shows that a measurement is
// right.
package sample

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"humdiff/fft"
	"humdiff/report/result"
	"humdiff/report/trace"
)

const (
	rate      = 96000
	block     = 1 << 17
	seconds   = 60.0
	harmonics = 100
	quietF0   = 49.9812
	nearF0    = 50.0127
	fullScale = 0.02 // 2.0 V less 40 dB of gain
)

// Compare is one channel with the voltage scale known.
func Compare() result.Compare {
	return result.Compare{
		Schema:   result.CompareSchema,
		Tool:     result.Tool{Version: "0.0-sample"},
		Settings: settings(),
		Pairs:    []result.Pair{pair("heron-quiet.wav", "heron-near.wav", 1, 0)},
		Warnings: []result.Warning{
			{Code: "quiet_near", File: "heron-near.wav", Channel: 1,
				Message: "Quiet hum is within 20 dB of near hum in 9 lines: their pickup is known only as a wide range."},
			{Code: "bus_tone", File: "heron-quiet.wav", Channel: 1,
				Message: "The tone at 8000 Hz is fixed in frequency: it is not counted as mains hum."},
		},
	}
}

// NoVolts is Compare without a voltage scale.
func NoVolts() result.Compare {
	r := Compare()
	r.Settings.FullScaleVolts, r.Settings.FullScaleSaid, r.Settings.Scales = result.None, "", []result.Scale{}
	for i := range r.Pairs {
		withoutVolts(&r.Pairs[i])
	}
	return r
}

// TwoChannels is Compare with a second channel that picks up less, and with
// the same warning from both channels.
func TwoChannels() result.Compare {
	r := Compare()
	r.Pairs = append(r.Pairs, pair("heron-quiet.wav", "heron-near.wav", 2, -9))
	again := r.Warnings[0]
	again.Channel = 2
	r.Warnings = append(r.Warnings, again)
	return r
}

// NothingFound is a pair in which neither capture shows any hum.
func NothingFound() result.Compare {
	r := Compare()
	r.Pairs = []result.Pair{pair("heron-quiet.wav", "heron-near.wav", 1, -90)}
	p := &r.Pairs[0]
	p.Mains = result.PairMains{NominalHz: 50, QuietHz: result.None, NearHz: result.None,
		QuietU95Hz: result.None, NearU95Hz: result.None, QuietNominalHz: 50, NearNominalHz: 50}
	p.Cycle = result.PairCycle{Quiet: noCycle(), Near: noCycle()}
	r.Warnings = nil
	return r
}

// MainsDiffer is a pair of which quiet was recorded on 50 Hz mains and near on
// 60 Hz: no line of the one is a line of the other.
func MainsDiffer() result.Compare {
	r := Compare()
	p := &r.Pairs[0]
	p.Mains.NominalHz, p.Mains.NearHz, p.Mains.NearNominalHz = result.None, 60.0091, 60
	p.Lines = []result.PairLine{}
	p.Hum.Delta = result.Delta{State: result.NotMeasurable, DB: result.None, LoDB: result.None, HiDB: result.None}
	p.Hum.Pickup = result.Pickup{LoVolts: result.None, HiVolts: result.None, LoFS: result.None, HiFS: result.None}
	p.Hum.Lines = 0
	return r
}

// Unsteady is Compare with lines that changed their level during a capture.
func Unsteady() result.Compare {
	r := Compare()
	for _, h := range []int{1, 3, 5, 7, 9, 11, 13} {
		r.Pairs[0].Lines[h-1].Near.Unsteady = true
	}
	r.Pairs[0].Lines[1].Quiet.Unsteady = true
	r.Pairs[0].Lines[7].Quiet.Unsteady = true // not found: it counts for nothing
	return r
}

// Clipped is Compare with clipped samples in near.
func Clipped() result.Compare {
	r := Compare()
	r.Pairs[0].Health.Near.Clipped, r.Pairs[0].Health.Near.PeakDBFS = 12, 0
	return r
}

// NewInNear is a pair in which only near shows hum in total.
func NewInNear() result.Compare {
	r := Compare()
	p := &r.Pairs[0]
	p.Hum.QuietDBFS = result.None
	p.Hum.Quiet = result.HumSide{State: result.Undetected, DBFS: result.None, LoDBFS: result.None,
		HiDBFS: result.None, LimitDBFS: -121.4, Volts: result.None}
	p.Hum.Delta = result.Delta{State: result.AtLeast, DB: result.None,
		LoDB: p.Hum.Near.LoDBFS + 121.4, HiDB: result.None}
	p.Mains.QuietDetected, p.Mains.QuietU95Hz = false, result.None
	p.Cycle.Quiet = noCycle()
	return r
}

// Swapped is Compare with the files the wrong way round: hum falls, and some
// deltas are at most.
func Swapped() result.Compare {
	r := Compare()
	r.Pairs = []result.Pair{swap(r.Pairs[0])}
	return r
}

// Unchanged is a pair whose near capture reads as quiet does.
func Unchanged() result.Compare {
	r := Compare()
	p := &r.Pairs[0]
	p.Noise.NearDBFS = p.Noise.QuietDBFS
	for i := range p.Lines {
		p.Lines[i].Near = p.Lines[i].Quiet
		finish(&p.Lines[i])
	}
	p.Trace.Near, p.Cycle.Near, p.Tones.Near = p.Trace.Quiet, p.Cycle.Quiet, p.Tones.Quiet
	p.Hum, p.HumA = total(p.Lines), total(p.Lines)
	return r
}

// HostileQuiet and HostileNear are file names that try to break out of a page,
// a table, a spreadsheet cell and a terminal.
const (
	HostileQuiet = `=cmd()|"<script>alert(1)</script>` + "\x1b[31m.wav"
	HostileNear  = "-[x](javascript:alert(1))`|**`\u202e</title><img src=x onerror=alert(1)>.wav"
)

// Hostile is Compare with file names and warnings that try to inject.
func Hostile() result.Compare {
	r := TwoChannels()
	for i := range r.Pairs {
		r.Pairs[i].Quiet.File, r.Pairs[i].Near.File = HostileQuiet, HostileNear
	}
	for i := range r.Warnings {
		r.Warnings[i].File = HostileQuiet
	}
	r.Warnings = append(r.Warnings, result.Warning{Code: "odd_chunk", File: HostileNear,
		Message: `A chunk called "=1+1|<b onclick=alert(1)>&lt;" was passed over.`})
	return r
}

// LongNames is Compare with file names far longer than any figure is wide.
func LongNames() result.Compare {
	r := Compare()
	long := strings.Repeat("a-folder-with-a-long-name/", 9)
	r.Pairs[0].Quiet.File, r.Pairs[0].Near.File = long+"heron-quiet.wav", long+"heron-near.wav"
	return r
}

// Measure is the near capture of Compare, and a second one without any hum.
func Measure() result.Measure {
	r, none := Compare(), NothingFound()
	return result.Measure{
		Schema: result.MeasureSchema, Tool: r.Tool, Settings: r.Settings, Warnings: r.Warnings,
		Captures: []result.Capture{
			capture(r.Pairs[0], true),
			capture(none.Pairs[0], false),
		},
	}
}

func settings() result.Settings {
	return result.Settings{Mains: "auto", UpToHz: 5000, Window: "nuttall",
		FullScaleVolts: fullScale, FullScaleSaid: "2.0V less 40 dB of gain",
		Confidence: 0.95, FalseAlarmShare: 0.01,
		Scales: []result.Scale{{For: result.ForAll, FullScaleVolts: fullScale, Said: "2.0V less 40 dB of gain", GainDB: 40, U95DB: 0, DriftDB: result.None,
			Parts: []result.ScalePart{
				{What: "full scale", UDB: result.None, DOF: result.None, Basis: "not stated"},
				{What: "gain", UDB: result.None, DOF: result.None, Basis: "not stated"},
			}, Calibrations: []result.Calibration{}}},
		Step: result.Step{Complete: true}}
}

func pair(quiet, near string, channel int, shiftDB float64) result.Pair {
	p := result.Pair{
		Quiet: result.Side{File: quiet, Channel: channel, StartS: 0, EndS: seconds, RateHz: rate, Bits: 24,
			SHA256: strings.Repeat("3b7d91c05e2f48a6", 4)},
		Near: result.Side{File: near, Channel: channel, StartS: 90, EndS: 90 + seconds, RateHz: rate, Bits: 24,
			SHA256: strings.Repeat("c4a80e67f19b25d3", 4)},
		Mains: result.PairMains{NominalHz: 50, QuietHz: quietF0, NearHz: nearF0, QuietDetected: true,
			NearDetected: true, QuietU95Hz: 0.0004, NearU95Hz: 0.0002, QuietNominalHz: 50, NearNominalHz: 50},
		Health: result.PairHealth{Quiet: healthy(), Near: healthy()},
	}
	for h := 1; h <= harmonics; h++ {
		l := result.PairLine{Harmonic: h, Hz: result.Num(float64(h) * (quietF0 + nearF0) / 2)}
		l.Quiet = line(h, quietF0, quietDB(h)+shiftDB, 0)
		l.Near = line(h, nearF0, nearDB(h)+shiftDB, 0.1)
		finish(&l)
		p.Lines = append(p.Lines, l)
	}
	p.Hum, p.HumA = total(p.Lines), total(p.Lines)
	p.Noise = result.PairNoise{BandHz: [2]float64{20, 20000},
		QuietDBFS: -106.95, NearDBFS: -106.86, QuietADBFS: -109.31, NearADBFS: -109.22,
		Quiet468DBFS: -98.84, Near468DBFS: -98.75, Detector468: "rms"}
	p.Tones = result.PairTones{
		Quiet: []result.Tone{{Hz: 8000, DBFS: -131.42}},
		Near:  []result.Tone{{Hz: 11200.41, DBFS: -126.08}, {Hz: 8000, DBFS: -131.37}},
	}
	seed := uint64(10 * channel)
	p.Trace.Quiet = spectrum(seed, quietF0, 0, p.Tones.Quiet, func(h int) float64 { return quietDB(h) + shiftDB })
	p.Trace.Near = spectrum(seed+1, nearF0, 0.1, p.Tones.Near, func(h int) float64 { return nearDB(h) + shiftDB })
	p.Cycle.Quiet = cycle(quietF0, func(h int) float64 { return quietDB(h) + shiftDB })
	p.Cycle.Near = cycle(nearF0, func(h int) float64 { return nearDB(h) + shiftDB })
	return p
}

// nearDB is the made-up law of hum: odd harmonics fall at 22 dB a decade, even
// ones lie lower, and a rectifier somewhere adds a bump around the 11th.
func nearDB(h int) float64 {
	level := -103.6 - 22*math.Log10(float64(h)) + 2.5*math.Sin(2.3*float64(h))
	if h%2 == 0 {
		level -= 17
	}
	return level + 6*math.Exp(-math.Pow((float64(h)-11)/4, 2)) - 0.2*float64(h)
}

func quietDB(h int) float64 {
	switch h {
	case 2:
		return nearDB(h) + 3.4 // quiet above near: cancellation, or a changed bench
	case 46:
		return -148.9 // in quiet only
	}
	return nearDB(h) - 14.2 - 4*math.Sin(1.7*float64(h)) - 0.05*float64(h)
}

// floorDB is the noise density, 1/f below 100 Hz.
func floorDB(f float64) float64 { return -150 + 10*math.Log10(1+100/f) }

const detectAbove = 12.5 // dB over the floor's power in 1/seconds

func line(h int, f0, level, floorShift float64) result.Line {
	floor := floorDB(float64(h)*f0) + floorShift
	over := level - (floor - 10*math.Log10(seconds))
	l := result.Line{State: result.Undetected, DBFS: result.None, LoDBFS: result.None, HiDBFS: result.None,
		LimitDBFS: result.None, FloorDBFSHz: round(floor), FloorVolts: volts(round(floor)), Volts: result.None, Steadiness: result.None, Method: "spans"}
	if over < detectAbove {
		l.LimitDBFS = round(level - over + 11.2 + 1.3*math.Sin(float64(h)))
		l.Absolute = absolute(l)
		return l
	}
	// The Cramér–Rao bound of an amplitude, relative: 1/√(2ρ).
	u := 1.96 / math.Sqrt(2*math.Pow(10, over/10))
	l.State, l.DBFS = result.Detected, round(level)
	l.LoDBFS, l.HiDBFS = round(level+20*math.Log10(1-u)-0.01), round(level+20*math.Log10(1+u)+0.01)
	l.Volts = volts(l.DBFS)
	l.Absolute = absolute(l)
	l.Steadiness = round(1 - math.Min(0.3, 0.001*float64(h)))
	return l
}

func finish(l *result.PairLine) {
	l.Delta = delta(l.Quiet, l.Near)
	l.Pickup = pickup(l.Quiet, l.Near)
}

func delta(quiet, near result.Line) result.Delta {
	d := result.Delta{State: result.NotMeasurable, DB: result.None, LoDB: result.None, HiDB: result.None}
	q, n := quiet.State == result.Detected, near.State == result.Detected
	switch {
	case q && n:
		d.State, d.DB = result.Measured, round(float64(near.DBFS-quiet.DBFS))
		d.LoDB = round(float64(d.DB) - math.Hypot(float64(near.DBFS-near.LoDBFS), float64(quiet.HiDBFS-quiet.DBFS)))
		d.HiDB = round(float64(d.DB) + math.Hypot(float64(near.HiDBFS-near.DBFS), float64(quiet.DBFS-quiet.LoDBFS)))
	case n:
		d.State, d.LoDB = result.AtLeast, round(float64(near.LoDBFS-quiet.LimitDBFS))
	case q:
		d.State, d.HiDB = result.AtMost, round(float64(near.LimitDBFS-quiet.LoDBFS))
	}
	return d
}

func pickup(quiet, near result.Line) result.Pickup {
	qLo, qHi := span(quiet)
	nLo, nHi := span(near)
	lo, hi := math.Max(0, math.Max(nLo-qHi, qLo-nHi)), nHi+qHi
	return result.Pickup{LoFS: result.Num(lo), HiFS: result.Num(hi),
		LoVolts: result.Num(lo * fullScale), HiVolts: result.Num(hi * fullScale)}
}

// span is a line's interval as a voltage, full scale 1.
func span(l result.Line) (lo, hi float64) {
	if l.State == result.Detected {
		return ratio(l.LoDBFS), ratio(l.HiDBFS)
	}
	return 0, ratio(l.LimitDBFS)
}

func total(lines []result.PairLine) result.PairHum {
	sum := func(side func(result.PairLine) result.Line) result.Line {
		power, any := 0.0, false
		for _, l := range lines {
			if s := side(l); s.State == result.Detected {
				power, any = power+math.Pow(10, float64(s.DBFS)/10), true
			}
		}
		if !any {
			none := result.Line{State: result.Undetected, DBFS: result.None, LoDBFS: result.None,
				HiDBFS: result.None, LimitDBFS: -141.3, Volts: result.None}
			none.Absolute = absolute(none)
			return none
		}
		db := round(float64(result.DB(power)))
		hum := result.Line{State: result.Detected, DBFS: db, LoDBFS: db - 0.11, HiDBFS: db + 0.12,
			LimitDBFS: result.None, Volts: volts(db)}
		hum.Absolute = absolute(hum)
		return hum
	}
	quiet := sum(func(l result.PairLine) result.Line { return l.Quiet })
	near := sum(func(l result.PairLine) result.Line { return l.Near })
	return result.PairHum{QuietDBFS: quiet.DBFS, NearDBFS: near.DBFS, Quiet: humSide(quiet), Near: humSide(near),
		Delta: delta(quiet, near), Pickup: pickup(quiet, near), Lines: len(lines), UpToHz: 5000, LeftOut: []int{}}
}

func humSide(l result.Line) result.HumSide {
	return result.HumSide{State: l.State, DBFS: l.DBFS, LoDBFS: l.LoDBFS, HiDBFS: l.HiDBFS,
		LimitDBFS: l.LimitDBFS, Volts: l.Volts, Absolute: l.Absolute}
}

// absolute is a level in volts, dBV and dBu; 0 dBu is √0.6 V.
func absolute(l result.Line) result.Absolute {
	dbv := func(db result.Num) result.Num { return db + result.Num(20*math.Log10(fullScale)) }
	dbu := func(db result.Num) result.Num { return dbv(db) - result.Num(10*math.Log10(0.6)) }
	return result.Absolute{
		LoVolts: volts(l.LoDBFS), HiVolts: volts(l.HiDBFS), LimitVolts: volts(l.LimitDBFS),
		DBV: dbv(l.DBFS), LoDBV: dbv(l.LoDBFS), HiDBV: dbv(l.HiDBFS), LimitDBV: dbv(l.LimitDBFS),
		DBu: dbu(l.DBFS), LoDBu: dbu(l.LoDBFS), HiDBu: dbu(l.HiDBFS), LimitDBu: dbu(l.LimitDBFS),
	}
}

func spectrum(seed uint64, f0, floorShift float64, tones []result.Tone, level func(h int) float64) result.Trace {
	random := rand.New(rand.NewPCG(seed, 2024))
	s := fft.Spectrum{Rate: rate, N: block, Window: fft.Nuttall.Name, ENBW: fft.Nuttall.ENBW(), Averages: 110,
		Density: make([]float64, block/2+1)}
	for j := range s.Density {
		f := math.Max(float64(j), 0.5) * s.BinHz()
		s.Density[j] = math.Pow(10, (floorDB(f)+floorShift)/10) * (1 + random.NormFloat64()/math.Sqrt(s.Averages))
	}
	for h := 1; h <= harmonics; h++ {
		addLine(s, float64(h)*f0, level(h))
	}
	for _, t := range tones {
		addLine(s, t.Hz, float64(t.DBFS))
	}
	return trace.FromSpectrum(s, seconds, 1200)
}

func addLine(s fft.Spectrum, hz, db float64) {
	at := hz / s.BinHz()
	for j := int(at) - 40; j <= int(at)+40; j++ {
		if j >= 0 && j < len(s.Density) {
			s.Density[j] += math.Pow(10, db/10) * math.Pow(fft.Nuttall.Response(float64(j)-at), 2) / s.ENBWHz()
		}
	}
}

func cycle(f0 float64, level func(h int) float64) result.Cycle {
	const n = 480
	c := result.Cycle{Hz: result.Num(f0), Samples: make([]result.Num, n)}
	peak, square := 0.0, 0.0
	var amplitude [harmonics + 1]float64
	for h := 1; h <= harmonics; h++ {
		amplitude[h] = math.Pow(10, level(h)/20)
	}
	for i := range c.Samples {
		x := 0.0
		for h := 1; h <= harmonics; h++ {
			// Phases that grow with h² spread the energy; the fundamental starts at 0.
			phase := 2*math.Pi*float64(h*i)/n + 0.4*float64((h-1)*(h-1))
			x += amplitude[h] * math.Sin(phase)
		}
		c.Samples[i] = result.Num(math.Round(x*1e10) / 1e10)
		peak, square = math.Max(peak, math.Abs(x)), square+x*x/n
	}
	c.Crest = round(peak / math.Sqrt(square))
	return c
}

func healthy() result.Health {
	return result.Health{FloorsHigh: []result.Num{}, PeakDBFS: -81.2, PeakSeconds: 12.25, DC: 0.00002}
}

func noCycle() result.Cycle {
	return result.Cycle{Hz: result.None, Crest: result.None, Samples: []result.Num{}}
}

func withoutVolts(p *result.Pair) {
	for i := range p.Lines {
		l := &p.Lines[i]
		for _, side := range []*result.Line{&l.Quiet, &l.Near} {
			side.Volts, side.FloorVolts, side.Absolute = result.None, result.None, result.NoAbsolute()
		}
		l.Pickup.LoVolts, l.Pickup.HiVolts = result.None, result.None
	}
	for _, side := range []*result.HumSide{&p.Hum.Quiet, &p.Hum.Near} {
		side.Volts, side.Absolute = result.None, result.NoAbsolute()
	}
	p.Hum.Pickup.LoVolts, p.Hum.Pickup.HiVolts = result.None, result.None
}

func swap(p result.Pair) result.Pair {
	p.Quiet, p.Near = p.Near, p.Quiet
	m := p.Mains
	p.Mains.QuietHz, p.Mains.NearHz, p.Mains.QuietU95Hz, p.Mains.NearU95Hz = m.NearHz, m.QuietHz, m.NearU95Hz, m.QuietU95Hz
	for i := range p.Lines {
		l := &p.Lines[i]
		l.Quiet, l.Near = l.Near, l.Quiet
		finish(l)
	}
	p.Hum, p.HumA = total(p.Lines), total(p.Lines)
	p.Trace.Quiet, p.Trace.Near = p.Trace.Near, p.Trace.Quiet
	p.Cycle.Quiet, p.Cycle.Near = p.Cycle.Near, p.Cycle.Quiet
	p.Tones.Quiet, p.Tones.Near = p.Tones.Near, p.Tones.Quiet
	return p
}

func capture(p result.Pair, hum bool) result.Capture {
	c := result.Capture{
		Side:  p.Near,
		Mains: result.CaptureMains{Detected: hum, NominalHz: 50, Hz: p.Mains.NearHz, U95Hz: p.Mains.NearU95Hz, MinHz: nearF0 - 0.011, MaxHz: nearF0 + 0.014},
		Hum:   p.Hum.Near,
		Noise: result.CaptureNoise{BandHz: p.Noise.BandHz, DBFS: p.Noise.NearDBFS, ADBFS: p.Noise.NearADBFS, W468DBFS: p.Noise.Near468DBFS, Detector468: "rms"},
		Tones: p.Tones.Near, Trace: p.Trace.Near, Cycle: p.Cycle.Near,
		Health: p.Health.Near,
	}
	if !hum {
		c.File = "heron-shorted.wav"
		c.Mains = result.CaptureMains{NominalHz: result.None, Hz: result.None, U95Hz: result.None, MinHz: result.None, MaxHz: result.None}
		c.Hum = result.HumSide{State: result.Undetected, DBFS: result.None, LoDBFS: result.None, HiDBFS: result.None, LimitDBFS: result.None, Volts: result.None, Absolute: result.NoAbsolute()}
		c.Lines = []result.CaptureLine{}
		return c
	}
	for _, l := range p.Lines {
		c.Lines = append(c.Lines, result.CaptureLine{Harmonic: l.Harmonic, Hz: result.Num(float64(l.Harmonic) * nearF0), Line: l.Near})
	}
	return c
}

func volts(dbfs result.Num) result.Num { return result.Num(fullScale * ratio(dbfs)) }
func ratio(db result.Num) float64      { return math.Pow(10, float64(db)/20) }
func round(x float64) result.Num       { return result.Num(math.Round(x*1000) / 1000) }

// Describe counts the states of a pair's deltas, for a test that needs them all.
func Describe(p result.Pair) string {
	n := map[string]int{}
	for _, l := range p.Lines {
		n[l.Delta.State]++
	}
	return fmt.Sprintf("%d measured, %d at least, %d at most, %d not measurable",
		n[result.Measured], n[result.AtLeast], n[result.AtMost], n[result.NotMeasurable])
}
