package samples

import (
	"math"
	"math/rand/v2"
	"strings"

	"humdiff/fft"
	"humdiff/fft/estimate"
	"humdiff/report/judge"
	"humdiff/report/measure"
	"humdiff/report/model"
)

func pair(quiet, near string, channel int, shiftDB float64) model.Pair {
	seed := uint64(10 * channel)
	q := capture(quiet, channel, 0, "3b7d91c05e2f48a6", quietF0, 0.0004, 0, func(h int) float64 { return quietDB(h) + shiftDB })
	n := capture(near, channel, 90, "c4a80e67f19b25d3", nearF0, 0.0002, 0.1, func(h int) float64 { return nearDB(h) + shiftDB })
	q.Noise.DBFS, q.Noise.ADBFS = -106.95, -109.31
	n.Noise.DBFS, n.Noise.ADBFS = -106.86, -109.22
	q.Tones = []model.Tone{{Hz: 8000, DBFS: -131.42}}
	n.Tones = []model.Tone{{Hz: 11200.41, DBFS: -126.08}, {Hz: 8000, DBFS: -131.37}}
	q.Trace = spectrum(seed, q, 0, func(h int) float64 { return quietDB(h) + shiftDB })
	n.Trace = spectrum(seed+1, n, 0.1, func(h int) float64 { return nearDB(h) + shiftDB })
	return changed(q, n)
}

func capture(file string, channel int, start float64, hash string, f0, u95, floorShift float64, level func(h int) float64) model.Capture {
	c := model.Capture{
		Side: model.Side{File: file, Channel: channel, StartS: start, EndS: start + seconds, RateHz: rate, Bits: 24,
			SHA256: strings.Repeat(hash, 4)},
		Mains: mains(f0, u95), Cycle: cycle(f0, level), Health: healthy(),
		UpToHz: 5000, AroundHz: model.None, FinestDBFS: model.None,
	}
	c.Noise = model.Noise{BandHz: [2]float64{20, 20000}}
	for h := 1; h <= harmonics; h++ {
		c.Lines = append(c.Lines, line(h, f0, level(h), floorShift))
	}
	c.Hum = model.Hum{Level: total(c.Lines), Lines: harmonics, LeftOut: []int{}, AboveDBFS: model.None, OnShare: model.None, Present: []model.Span{}}
	c.HumA = c.Hum
	return c
}

func mains(hz, u95 float64) model.Mains {
	return model.Mains{Detected: true, NominalHz: 50, Hz: model.Num(hz), U95Hz: model.Num(u95), MinHz: model.Num(hz - 0.011), MaxHz: model.Num(hz + 0.014),
		Doubts: []string{}, ClockK: 0.97, Breath: 0.001, AlsoFound: []model.Comb{}}
}

func noMains(nominal model.Num) model.Mains {
	return model.Mains{NominalHz: nominal, Hz: model.None, U95Hz: model.None, MinHz: model.None, MaxHz: model.None,
		Doubts: []string{}, ClockK: model.None, Breath: model.None, AlsoFound: []model.Comb{}}
}

// changed is a pair of two captures with what changed between them.
func changed(quiet, near model.Capture) model.Pair {
	p := model.Pair{Quiet: quiet, Near: near}
	for i, q := range quiet.Lines {
		n := near.Lines[i]
		p.Lines = append(p.Lines, model.LineChange{Harmonic: q.Harmonic, Hz: (q.Hz + n.Hz) / 2, Delta: judge.Delta(q.Level, n.Level), Pickup: judge.Pickup(q.Level, n.Level)})
	}
	q, n := quiet.Hum.Level, near.Hum.Level
	p.Hum = model.Change{Quiet: q, Near: n, Delta: judge.Delta(q, n), Pickup: judge.Pickup(q, n), Lines: len(p.Lines), UpToHz: 5000, LeftOut: []int{}}
	p.HumA = p.Hum
	p.Noise = model.PairNoise{BandHz: quiet.Noise.BandHz, QuietDBFS: quiet.Noise.DBFS, NearDBFS: near.Noise.DBFS, QuietADBFS: quiet.Noise.ADBFS, NearADBFS: near.Noise.ADBFS}
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

func line(h int, f0, level, floorShift float64) model.Line {
	floor := floorDB(float64(h)*f0) + floorShift
	over := level - (floor - 10*math.Log10(seconds))
	l := model.Line{Harmonic: h, Hz: model.Num(float64(h) * f0), FloorDBFSHz: round(floor), Coherence: model.None, Method: "spans",
		Share: model.Share{Excess: model.None, Noise: model.None, Variance: model.None, Model: model.None}}
	if over < detectAbove {
		l.Level = estimate.Below(round(level - over + 11.2 + 1.3*math.Sin(float64(h))).Float())
		return l
	}
	// The Cramér–Rao bound of an amplitude, relative: 1/√(2ρ).
	u := 1.96 / math.Sqrt(2*math.Pow(10, over/10))
	l.Level = estimate.Of(round(level).Float(), round(level+20*math.Log10(1-u)-0.01).Float(), round(level+20*math.Log10(1+u)+0.01).Float())
	l.Coherence = round(1 - math.Min(0.3, 0.001*float64(h)))
	return l
}

func total(lines []model.Line) model.Estimate {
	power, any := 0.0, false
	for _, l := range lines {
		if v, ok := l.Level.Value(); ok {
			power, any = power+math.Pow(10, v/10), true
		}
	}
	if !any {
		return estimate.Below(-141.3)
	}
	db := round(model.DB(power).Float()).Float()
	return estimate.Of(db, round(db-0.11).Float(), round(db+0.12).Float())
}

func spectrum(seed uint64, c model.Capture, floorShift float64, level func(h int) float64) model.Trace {
	random := rand.New(rand.NewPCG(seed, 2024))
	s := fft.Spectrum{Rate: rate, N: block, Window: fft.Nuttall.Name, ENBW: fft.Nuttall.ENBW(), Averages: 110,
		Density: make([]float64, block/2+1)}
	for j := range s.Density {
		f := math.Max(float64(j), 0.5) * s.BinHz()
		s.Density[j] = math.Pow(10, (floorDB(f)+floorShift)/10) * (1 + random.NormFloat64()/math.Sqrt(s.Averages))
	}
	for h := 1; h <= harmonics; h++ {
		addLine(s, c.Mains.Hz.Float()*float64(h), level(h))
	}
	for _, t := range c.Tones {
		addLine(s, t.Hz, float64(t.DBFS))
	}
	return measure.Trace(s, seconds)
}

func addLine(s fft.Spectrum, hz, db float64) {
	at := hz / s.BinHz()
	for j := int(at) - 40; j <= int(at)+40; j++ {
		if j >= 0 && j < len(s.Density) {
			s.Density[j] += math.Pow(10, db/10) * math.Pow(fft.Nuttall.Response(float64(j)-at), 2) / s.ENBWHz()
		}
	}
}

func cycle(f0 float64, level func(h int) float64) model.Cycle {
	const n = 480
	c := model.Cycle{Hz: model.Num(f0), Samples: make([]model.Num, n)}
	peak, square := 0.0, 0.0
	var amplitude [harmonics + 1]float64
	for h := 1; h <= harmonics; h++ {
		amplitude[h] = ratio(level(h))
	}
	for i := range c.Samples {
		x := 0.0
		for h := 1; h <= harmonics; h++ {
			// Phases that grow with h² spread the energy; the fundamental starts at 0.
			phase := 2*math.Pi*float64(h*i)/n + 0.4*float64((h-1)*(h-1))
			x += amplitude[h] * math.Sin(phase)
		}
		c.Samples[i] = model.Num(math.Round(x*1e10) / 1e10)
		peak, square = math.Max(peak, math.Abs(x)), square+x*x/n
	}
	c.Crest = round(peak / math.Sqrt(square))
	return c
}

func healthy() model.Health {
	runs := model.Runs{LongestS: model.None, FirstS: model.None}
	return model.Health{PeakDBFS: -81.2, PeakSeconds: 12.25, DC: 0.00002, BitsUsed: 24, CutHz: model.None, FloorsHigh: []model.Num{},
		ClippedRuns: runs, FlatTops: runs, Zeros: runs, Stuck: runs, Repeats: runs, Clicks: runs, LowBursts: runs}
}

func ratio(db float64) float64  { return math.Pow(10, db/20) }
func round(x float64) model.Num { return model.Num(math.Round(x*1000) / 1000) }
