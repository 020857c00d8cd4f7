package measure

import (
	"cmp"
	"math"
	"slices"

	"humdiff/fft/estimate"
	"humdiff/fft/likeness"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/report/model"
	"humdiff/report/weighting"
)

// channel states a measured channel. This is where its numbers enter the model:
// levels to 0.0001 dB, all else to seven digits.
func (r reader) channel(side model.Side, m mains.Measurement) channel {
	if m.Health.Silent {
		// Channels share transforms: what stands there is the rounding of another's.
		clear(m.Spectrum.Density)
	}
	hum, humA := humOf(m, side.StartS)
	c := channel{Capture: model.Capture{
		Side:   side,
		Mains:  mainsOf(m.Mains, m.AlsoFound),
		Lines:  make([]model.Line, len(m.Lines)),
		Hum:    hum,
		HumA:   humA,
		Tones:  tonesOf(m),
		Health: healthOf(m.Health),

		UpToHz:     m.UpTo,
		AroundHz:   around(m.Mains),
		FinestDBFS: model.DB(m.Finest),
	}}
	for i, l := range m.Lines {
		c.Lines[i] = lineOf(l)
	}
	if m.Mains.Detected {
		c.mainsHz = m.Mains.Hz
	}
	notes := slices.Clone(m.Warnings)
	if label, doubtful := likeness.JudgeRate(m.Rate, likeness.Peaks(m)); doubtful && !r.opt.Wide {
		notes = append(notes, label)
	}
	c.Noise, c.Trace, c.Cycle = noNoise, model.NoTrace(), model.NoCycle()
	if !r.opt.LinesOnly {
		totals := noiseIn(m.Spectrum, m.Occupied, cmp.Or(r.noiseTo, highHz))
		c.Noise, c.Trace, c.Cycle = totals.noise(), Trace(m.Spectrum, m.Seconds), cycleOf(m.Cycle)
		if totals.filled > mostFilled {
			notes = append(notes, note.New("noise_interpolated", "share", model.Digits(totals.filled, 3)))
		}
	}
	c.warnings = at(side, notes...)
	return c
}

// mostFilled is the share of the noise band that may be interpolated unsaid.
const mostFilled = 0.5

// Measured states what was measured of samples that no file holds.
func Measured(side model.Side, m mains.Measurement) model.Capture {
	return reader{}.channel(side, m).Capture
}

// twin says which channel has the same samples, where its own part of the file
// doesn't show it.
func (c *channel) twin(of int) {
	const code = "channels_identical"
	c.warnings = slices.DeleteFunc(c.warnings, func(w model.Warning) bool { return w.Code == code })
	if c.Health.Silent {
		of = 0 // that is enough to say
	}
	if c.Health.SameAs = of; of > 0 {
		c.warnings = append(c.warnings, at(c.Side, note.New(code, "channel", of))...)
	}
}

// level is a power in dBFS: with its interval, or at most its limit.
func level(l mains.Level) model.Estimate {
	if !l.Detected {
		return estimate.Below(model.DB(l.Limit).Float())
	}
	return model.Level(l.Power, l.Lo, l.Hi)
}

func lineOf(l mains.Line) model.Line {
	return model.Line{
		Harmonic:    l.Harmonic,
		Hz:          seven(l.Hz),
		Level:       level(l.Level),
		FloorDBFSHz: model.DB(l.Floor),
		Coherence:   seven(l.Steadiness),
		Unsteady:    l.Unsteady,
		Method:      l.Method,
		Hidden:      l.Hidden,
		Share:       model.Share{Excess: seven(l.Share.Excess), Noise: seven(l.Share.Noise), Variance: seven(l.Share.Variance), Model: seven(l.Share.Model)},
	}
}

// humOf is the measurement's hum total, and A-weighted; without lines nothing is
// known of either. start is where in its file the capture begins, s.
func humOf(m mains.Measurement, start float64) (hum, aWeighted model.Hum) {
	hum = model.Hum{Lines: len(m.Lines), LeftOut: append([]int{}, m.LeftOut...), AboveDBFS: model.None, OnShare: model.None, Present: []model.Span{}}
	aWeighted = hum
	if m.Above.Detected {
		hum.AboveDBFS = model.DB(m.Above.Power)
	}
	if m.OnShare < 1 {
		hum.OnShare = seven(m.OnShare)
	}
	for _, on := range m.Present {
		hum.Present = append(hum.Present, model.Span{StartS: seven(start + on.Start), EndS: seven(start + on.End), Level: level(on.Level)})
	}
	if len(m.Lines) > 0 {
		hum.Level = level(m.Hum)
		aWeighted.Level = level(m.Total(mains.Set{Weight: weighting.APower}))
	}
	return hum, aWeighted
}

// mainsOf states the mains, what speaks against it, and the other combs.
func mainsOf(m mains.Mains, others []mains.Comb) model.Mains {
	r := model.Mains{Detected: m.Detected, NominalHz: model.None, Hz: model.None, U95Hz: model.None, MinHz: model.None, MaxHz: model.None,
		Doubts: append([]string{}, m.Doubt...), ClockK: model.None, Breath: model.None, AlsoFound: make([]model.Comb, len(others))}
	if m.Nominal != 0 {
		r.NominalHz = model.Of(m.Nominal)
	}
	if m.Detected {
		r.Hz, r.U95Hz, r.MinHz, r.MaxHz = seven(m.Hz), seven(m.U95), seven(m.Min), seven(m.Max)
		r.ClockK, r.Breath = seven(m.Clock), seven(m.BreathHz)
	}
	for i, c := range others {
		r.AlsoFound[i] = model.Comb{NominalHz: model.Of(c.Nominal), Hz: seven(c.Hz), Lines: c.Lines, Total: level(c.Total)}
	}
	return r
}

// around is where lines were sought that no mains found here pointed at.
func around(m mains.Mains) model.Num {
	if m.Detected || m.Hz == m.Nominal {
		return model.None
	}
	return seven(m.Hz)
}

func tonesOf(m mains.Measurement) []model.Tone {
	list := make([]model.Tone, 0, len(m.Tones))
	for _, t := range m.Tones {
		list = append(list, model.Tone{Hz: model.Digits(t.Hz, 7), DBFS: model.DB(t.Power), Harmonic: t.Harmonic})
	}
	return list
}

func cycleOf(m *mains.Cycle) model.Cycle {
	c := model.NoCycle()
	if m == nil {
		return c
	}
	c.Hz, c.Crest = seven(m.Hz), seven(m.Crest)
	for _, x := range m.Samples {
		c.Samples = append(c.Samples, seven(x))
	}
	return c
}

// seven rounds to seven significant digits: more than any number here is known
// to, and few enough for processors that differ in a last bit to agree.
func seven(x float64) model.Num { return model.Of(model.Digits(x, 7)) }

// places rounds to so many decimals.
func places(x float64, decimals int) model.Num {
	if math.IsNaN(x) {
		return model.None
	}
	return model.Of(model.Places(x, decimals))
}
