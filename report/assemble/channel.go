// Package assemble builds the results of compare and measure: it takes
// measured channels and states them as result values, with the delta and
// pickup of each pair and every warning that a reader of the result has to
// know. It assumes that the two sides of a pair were measured with the same
// settings. Absent numbers are result.None, absent lists are empty.
package assemble

import (
	"math"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/report/level"
	"humdiff/report/noise"
	"humdiff/report/result"
	"humdiff/report/trace"
	"humdiff/report/volts"
)

// TraceColumns is how many columns a result's spectra are reduced to: twice
// what a figure of usual width can show.
const TraceColumns = 1600

// Channel is one measured channel of a capture, and where it was read.
type Channel struct {
	result.Side
	mains.Measurement
	FileWarnings []note.Note // of the whole file

	source *capture.File // what it was measured from
	totals *noise.Totals // of its whole band; nil: not worked out beforehand
}

// measured is the channel with another measurement, its noise worked out once.
func (c Channel) measured(m mains.Measurement) Channel {
	t := noise.Of(m, noise.High)
	c.Measurement, c.totals = m, &t
	return c
}

// noise is the channel's noise over its whole band.
func (c Channel) noise() noise.Totals {
	if c.totals != nil {
		return *c.totals
	}
	return noise.Of(c.Measurement, noise.High)
}

// scale states levels relative to full scale and in volts.
type scale struct{ volts.Place }

// scaleOf is quiet's or near's scale.
func scaleOf(set result.Settings, side string) scale {
	s, _ := set.ScaleOf(side)
	return scale{volts.PlaceOf(s)}
}

// level states a level: numbers where it is detected, else its limit alone.
func (s scale) level(l mains.Level) result.HumSide {
	v, absolute := s.Absolute(l)
	if !l.Detected {
		return result.HumSide{State: result.Undetected, DBFS: result.None, LoDBFS: result.None, HiDBFS: result.None,
			LimitDBFS: result.DB(l.Limit), Volts: v, Absolute: absolute}
	}
	return result.HumSide{State: result.Detected, DBFS: result.DB(l.Power), LoDBFS: result.DB(l.Lo), HiDBFS: result.DB(l.Hi),
		LimitDBFS: result.None, Volts: v, Absolute: absolute}
}

func (s scale) line(l mains.Line) result.Line {
	level := s.level(l.Level)
	return result.Line{
		State:       level.State,
		DBFS:        level.DBFS,
		LoDBFS:      level.LoDBFS,
		HiDBFS:      level.HiDBFS,
		LimitDBFS:   level.LimitDBFS,
		FloorDBFSHz: result.DB(l.Floor),
		FloorVolts:  s.Voltage(l.Floor).Volts,
		Volts:       level.Volts,
		Steadiness:  result.Of(l.Steadiness),
		Unsteady:    l.Unsteady,
		Method:      l.Method,
		Hidden:      l.Hidden,
		Share: result.Share{Excess: result.Of(l.Share.Excess), Noise: result.Of(l.Share.Noise),
			Variance: result.Of(l.Share.Variance), Model: result.Of(l.Share.Model)},
		Absolute: level.Absolute,
	}
}

// noise states noise totals in volts.
func (s scale) noise(t noise.Totals) result.NoiseVolts {
	return result.NoiseVolts{Flat: s.Voltage(t.Flat), A: s.Voltage(t.A), W468: s.Voltage(t.W468)}
}

// unknown is a level of which nothing is known, not even a limit.
var unknown = mains.Level{Power: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), Limit: math.NaN()}

// humOf is the measurement's hum total, and A-weighted; without lines it has
// none.
func humOf(m mains.Measurement) (hum, aWeighted mains.Level) {
	if len(m.Lines) == 0 {
		return unknown, unknown
	}
	return m.Hum, m.Total(level.AWeighted(mains.Set{}))
}

// around is where lines were sought that no mains found here pointed at.
func around(m mains.Mains) result.Num {
	if m.Detected || m.Hz == m.Nominal {
		return result.None
	}
	return result.Of(m.Hz)
}

func (s scale) tones(m mains.Measurement) []result.Tone {
	list := make([]result.Tone, 0, len(m.Tones))
	for _, t := range m.Tones {
		list = append(list, result.Tone{Hz: t.Hz, DBFS: result.DB(t.Power), Harmonic: t.Harmonic, Voltage: s.Voltage(t.Power)})
	}
	return list
}

func spectrum(m mains.Measurement) result.Trace {
	if len(m.Spectrum.Density) == 0 {
		return result.Trace{BinHz: result.None, ENBWHz: result.None, Seconds: result.None,
			Hz: []result.Num{}, LoDBFS: []result.Num{}, HiDBFS: []result.Num{}}
	}
	return trace.FromSpectrum(m.Spectrum, m.Seconds, TraceColumns)
}

func cycle(m mains.Measurement) result.Cycle {
	c := result.Cycle{Hz: result.None, Crest: result.None, Samples: []result.Num{}}
	if m.Cycle == nil {
		return c
	}
	c.Hz, c.Crest = result.Of(m.Cycle.Hz), result.Of(m.Cycle.Crest)
	for _, x := range m.Cycle.Samples {
		c.Samples = append(c.Samples, result.Of(x))
	}
	return c
}

// found is a frequency of the mains, None where it wasn't found.
func found(m mains.Mains, hz float64) result.Num {
	if !m.Detected {
		return result.None
	}
	return result.Of(hz)
}

// nominal is 50 or 60, None where neither was found or given.
func nominal(hz float64) result.Num {
	if hz == 0 {
		return result.None
	}
	return result.Of(hz)
}

// totals are a channel's noise totals up to hi hertz, and the band they cover.
func totals(m mains.Measurement, hi float64) (noise.Totals, [2]float64) {
	t := noise.Of(m, hi)
	return t, [2]float64{t.Lo, t.Hi}
}
