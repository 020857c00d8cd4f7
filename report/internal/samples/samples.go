// Package samples invents results for the tests of tables, figures and pages:
// a bench of our own, two captures of a cable called Heron at 50 Hz. Every
// state that a line or a delta can have occurs in it. Its levels follow from a
// made-up law, not from samples, so nothing here shows that a measurement is
// right.
package samples

import (
	"slices"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/fft/note"
	"humdiff/report/judge"
	"humdiff/report/model"
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
func Compare() model.Compare {
	return model.Compare{
		Head:     head(model.CompareSchema),
		Settings: settings(),
		Pairs:    []model.Pair{pair("heron-quiet.wav", "heron-near.wav", 1, 0)},
		Warnings: []model.Warning{
			{Note: note.New("bus_tones", "tones_hz", []float64{8000}), File: "heron-quiet.wav", Channel: 1},
			{Note: note.New("bus_tones", "tones_hz", []float64{8000}), File: "heron-near.wav", Channel: 1},
			{Note: note.New("one_placement")},
		},
	}
}

func head(schema string) model.Head {
	return model.Head{Schema: schema, Tool: model.Tool{Version: "0.0-sample"}, Fingerprint: "4c1e-9b07-d2f8",
		MayPublish: model.MayPublish{State: model.OnlyAs, Why: []model.Note{note.New("one_placement")}}}
}

// NoVolts is Compare without a voltage scale.
func NoVolts() model.Compare {
	r := Compare()
	r.Settings.FullScaleVolts, r.Settings.FullScaleSaid, r.Settings.Scales = model.None, "", []model.Scale{}
	return r
}

// TwoChannels is Compare with a second channel that picks up less, and with
// the same warning from both channels.
func TwoChannels() model.Compare {
	r := Compare()
	r.Pairs = append(r.Pairs, pair("heron-quiet.wav", "heron-near.wav", 2, -9))
	again := r.Warnings[0]
	again.Channel = 2
	r.Warnings = append(r.Warnings, again)
	return r
}

// NothingFound is a pair in which neither capture shows any hum.
func NothingFound() model.Compare {
	r := Compare()
	r.Pairs = []model.Pair{pair("heron-quiet.wav", "heron-near.wav", 1, -90)}
	p := &r.Pairs[0]
	for _, c := range []*model.Capture{&p.Quiet, &p.Near} {
		c.Mains, c.Cycle = noMains(50), model.NoCycle()
	}
	r.Warnings = nil
	return r
}

// MainsDiffer is a pair of which quiet was recorded on 50 Hz mains and near on
// 60 Hz: no line of the one is a line of the other.
func MainsDiffer() model.Compare {
	r := Compare()
	p := &r.Pairs[0]
	p.Near.Mains.Hz, p.Near.Mains.NominalHz = 60.0091, 60
	p.Lines = []model.LineChange{}
	p.Hum.Delta, p.Hum.Pickup, p.Hum.Lines = estimate.None(""), estimate.None(""), 0
	return r
}

// Unsteady is Compare with lines that changed their level during a capture.
func Unsteady() model.Compare {
	r := Compare()
	for _, h := range []int{1, 3, 5, 7, 9, 11, 13} {
		r.Pairs[0].Near.Lines[h-1].Unsteady = true
	}
	r.Pairs[0].Quiet.Lines[1].Unsteady = true
	r.Pairs[0].Quiet.Lines[7].Unsteady = true // not found: it counts for nothing
	return r
}

// Clipped is Compare with clipped samples in near.
func Clipped() model.Compare {
	r := Compare()
	r.Pairs[0].Near.Health.Clipped, r.Pairs[0].Near.Health.PeakDBFS = 12, 0
	r.MayPublish = model.MayPublish{State: model.NotYet, Why: []model.Note{note.New("clipped", "samples", 12, "runs", 3, "first_s", 101.25), note.New("next_lower_gain")}}
	return r
}

// NewInNear is a pair in which only near shows hum in total.
func NewInNear() model.Compare {
	r := Compare()
	p := &r.Pairs[0]
	p.Quiet.Hum.Level, p.Hum.Quiet = estimate.Below(-121.4), estimate.Below(-121.4)
	p.Hum.Delta, p.Hum.Pickup = judge.Delta(p.Hum.Quiet, p.Hum.Near), judge.Pickup(p.Hum.Quiet, p.Hum.Near)
	p.Quiet.Mains.Detected, p.Quiet.Mains.U95Hz = false, model.None
	p.Quiet.Cycle = model.NoCycle()
	return r
}

// Swapped is Compare with the files the wrong way round: hum falls, and some
// deltas are at most.
func Swapped() model.Compare {
	r := Compare()
	r.Pairs[0] = changed(r.Pairs[0].Near, r.Pairs[0].Quiet)
	return r
}

// Unchanged is a pair whose near capture reads as quiet does.
func Unchanged() model.Compare {
	r := Compare()
	p := r.Pairs[0]
	near := p.Quiet
	near.Side, near.Mains = p.Near.Side, p.Near.Mains
	near.Lines = slices.Clone(p.Quiet.Lines)
	r.Pairs[0] = changed(p.Quiet, near)
	return r
}

// WithResidual is Compare with a capture of the input shorted.
func WithResidual() model.Compare {
	r := Compare()
	own := NothingFound().Pairs[0].Near
	own.File, own.SHA256 = "heron-shorted.wav", strings.Repeat("91d6e0a3b85c7f42", 4)
	r.Pairs[0].Residual = &own
	return r
}

// hostileQuiet and HostileNear are file names that try to break out of a page,
// a table, a spreadsheet cell and a terminal; HostileText has a slash too.
const (
	hostileQuiet = `=cmd()|"<script>alert(1)` + "\x1b[31m.wav"
	hostileNear  = "-[x](javascript:alert(1))`|**`\u202e<img src=x onerror=alert(1)>.wav"
	hostileText  = `=1+1|</title><b onclick=alert(1)>&lt;[b]x[/b] https://x.invalid www.x.invalid`
)

// Hostile is Compare with file names and warnings that try to inject.
func Hostile() model.Compare {
	r := TwoChannels()
	for i := range r.Pairs {
		r.Pairs[i].Quiet.File, r.Pairs[i].Near.File = hostileQuiet, hostileNear
	}
	for i := range r.Warnings {
		r.Warnings[i].File = hostileQuiet
	}
	r.Settings.Scales[0].Said = hostileText
	r.Warnings = append(r.Warnings, model.Warning{Note: note.New("odd_chunk", "id", hostileText), File: hostileNear})
	return r
}

// LongNames is Compare with file names far longer than any figure is wide, in
// folders that nobody is to see.
func LongNames() model.Compare {
	r := Compare()
	long := strings.Repeat("a-folder-with-a-long-name/", 9) + strings.Repeat("a-long-name-", 9)
	r.Pairs[0].Quiet.File, r.Pairs[0].Near.File = long+"heron-quiet.wav", long+"heron-near.wav"
	return r
}

// Measure is the near capture of Compare, and a second one without any hum.
func Measure() model.Measure {
	r := Compare()
	none := NothingFound().Pairs[0].Near
	none.File = "heron-shorted.wav"
	none.Mains, none.Lines = noMains(model.None), []model.Line{}
	none.Hum.Level = estimate.None("")
	return model.Measure{Head: head(model.MeasureSchema), Settings: r.Settings, Warnings: r.Warnings,
		Captures: []model.Capture{r.Pairs[0].Near, none}}
}

// Check is three files: a good one, one that is clipped, one that can't be read.
func Check() model.Check {
	p := Clipped().Pairs[0]
	h := head(model.CheckSchema)
	h.MayPublish = model.MayPublish{} // nobody prints what files are
	return model.Check{Head: h,
		Files: []model.CheckedFile{checked(p.Quiet), checked(p.Near), {
			File: "notes.wav", RateHz: model.None, Bits: model.None, Count: model.None, Frames: model.None,
			FileS: model.None, StartS: model.None, EndS: model.None, Metadata: model.Metadata{Texts: []model.Text{}}, Channels: []model.CheckedChannel{},
			Problem: model.Problem{What: "is no WAV file", Hint: "save it as WAV or FLAC"},
		}},
		Warnings: []model.Warning{{Note: note.New("clipped", "samples", 12, "runs", 3, "first_s", 101.25), File: p.Near.File, Channel: 1}}}
}

func checked(c model.Capture) model.CheckedFile {
	return model.CheckedFile{File: c.File, Container: "RIFF", Format: "24-bit PCM", RateHz: model.Num(c.RateHz), Bits: 24, Count: 1,
		Frames: model.Num(c.EndS) * rate, FileS: model.Num(c.EndS), StartS: model.Num(c.StartS), EndS: model.Num(c.EndS), SHA256: c.SHA256,
		Metadata: model.Metadata{Recorded: "2031-02-28T19:05:07", Source: "bext", Texts: []model.Text{{Name: "comment", Key: "ICMT", Value: "Heron, bench 2"}}},
		Channels: []model.CheckedChannel{{Channel: 1, Mains: c.Mains, Health: c.Health}}}
}

// Trend is hum that stands still, rises for a while and stands still again.
func Trend() model.Trend {
	side := Compare().Pairs[0].Near.Side
	c := model.TrendCapture{Side: side, Mains: mains(nearF0, 0.0002), StepS: 0.5, Lines: harmonics, LeftOut: []int{20}, Harmonics: []int{1}, Loudest: 2}
	for i := range 120 {
		level := -104.0
		if i >= 50 {
			level += min(14, float64(i-50))
		}
		c.Steps = append(c.Steps, model.TrendStep{StartS: model.Num(side.StartS + 0.5*float64(i)), Hum: within(level, 0.3), Lines: []model.Estimate{within(level-1.2, 0.4)}})
	}
	span := func(state string, from, to, level float64, address string) model.TrendSpan {
		x := model.TrendSpan{State: state, StartS: model.Num(from), EndS: model.Num(to), Address: address, Hum: estimate.None(""), Lines: []model.Estimate{estimate.None("")}}
		if state == model.Still {
			x.Hum, x.Lines = within(level, 0.04), []model.Estimate{within(level-1.2, 0.05)}
		}
		return x
	}
	c.Spans = []model.TrendSpan{
		span(model.Still, 90, 115, -104, "heron-near.wav#t=90,115&ch=1"),
		span(model.Moving, 115, 122, 0, ""),
		span(model.Still, 122, 150, -90, "heron-near.wav#t=122,150&ch=1"),
	}
	return model.Trend{Head: head(model.TrendSchema), Settings: settings(), Captures: []model.TrendCapture{c}}
}

// Audible is hum at the input played through a loudspeaker.
func Audible() model.Audibility {
	return model.Audibility{
		Playback: model.Playback{ProgrammeVolts: 0.3, GainDB: 40, Kind: model.KindLoudspeaker, SensitivityDB: 87, DistanceMetres: 2.5, Loudspeakers: 2, MarginDB: 10},
		HumVolts: estimate.Between(1.1e-6, 1.2e-6), BelowProgrammeDB: estimate.Between(108, 108.7),
		Verdict: model.NearThreshold, Band: model.AudibleBand{Harmonics: []int{3}, MarginDB: estimate.Between(-4.1, 2.3)},
		AWeightedDB: estimate.Between(11.2, 17.9), Unjudged: []int{},
		Lines: []model.AudibleLine{
			{Harmonic: 1, Hz: nearF0, Volts: estimate.Between(1e-6, 1.05e-6), SPLDB: estimate.Between(21, 27.4), ThresholdDB: 44, MarginDB: estimate.Between(-23, -16.6)},
			{Harmonic: 3, Hz: 3 * nearF0, Volts: estimate.Between(0.4e-6, 0.42e-6), SPLDB: estimate.Between(13.3, 19.7), ThresholdDB: 17.4, MarginDB: estimate.Between(-4.1, 2.3)},
			{Harmonic: 5, Hz: 5 * nearF0, Volts: estimate.Below(0.01e-6), SPLDB: estimate.Below(-19), ThresholdDB: 11.2, MarginDB: estimate.Below(-30.2)},
		},
	}
}

func within(level, u float64) model.Estimate { return estimate.Of(level, level-u, level+u) }

func settings() model.Settings {
	return model.Settings{Mains: "auto", UpToHz: 5000, Window: "nuttall",
		FullScaleVolts: fullScale, FullScaleSaid: "2.0V less 40 dB of gain",
		Confidence: 0.95, FalseAlarmShare: 0.01,
		Scales: []model.Scale{{For: model.ForAll, FullScaleVolts: fullScale, Said: "2.0V less 40 dB of gain", GainDB: 40, U95DB: 0, DriftDB: model.None,
			Parts: []model.ScalePart{
				{What: "full scale", UDB: model.None, DOF: model.None, Basis: "not stated"},
				{What: "gain", UDB: model.None, DOF: model.None, Basis: "not stated"},
			}, Calibrations: []model.Calibration{}}},
		Step: model.Step{Complete: true}}
}

// TwoScales is Compare with near recorded at 20 dB less gain than quiet.
func TwoScales() model.Compare {
	r := Compare()
	quiet, near := r.Settings.Scales[0], r.Settings.Scales[0]
	quiet.For, near.For = model.ForQuiet, model.ForNear
	near.FullScaleVolts, near.Said, near.GainDB = 0.2, "2.0V less 20 dB of gain", 20
	r.Settings.FullScaleVolts, r.Settings.FullScaleSaid = model.None, ""
	r.Settings.Scales = []model.Scale{quiet, near}
	r.Settings.Step = model.Step{DB: 20, Complete: true}
	p := &r.Pairs[0]
	for i := range p.Near.Lines {
		l := &p.Near.Lines[i]
		l.Level, l.FloorDBFSHz = l.Level.Shift(-20), l.FloorDBFSHz-20
	}
	p.Near.Hum.Level, p.Hum.Near = p.Near.Hum.Level.Shift(-20), p.Hum.Near.Shift(-20)
	return r
}
