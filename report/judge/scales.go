package judge

import (
	"math"

	"humdiff/fft/note"
	"humdiff/report/model"
)

const (
	// driftDB is the drift of a scale from which deltas need to be told.
	driftDB = 0.1
	// A tone between these tells how sensitive the input is at the fundamental: a
	// low-cut filter of first order at 20 Hz takes 0.64 dB off 50 Hz and 0.12 dB off
	// 120 Hz, and nothing that shows off 1 kHz.
	lowTone, highTone = 40, 120 // Hz
	// sameTone is the share by which tones of two calibrations may differ and still
	// ask the same of the input.
	sameTone = 0.01

	// What a calibration may be off by before a reader is warned, dB.
	saidDB        = 0.005
	saidScatterDB = 0.02
)

// Warnings of the voltage scales, with their arguments; "for" is all, quiet or
// near. Beside them there is model.ScaleUnknown: for, gain (1: a gain was given,
// and no full scale).
const (
	scaleUncertain    = "scale_uncertainty_unknown" // for, parts: names of what was not given
	twoScales         = "two_scales"                // db, complete (1: all that the step may be off by was given)
	calibrationFar    = "calibration_far"           // hz
	calibrationTones  = "calibration_tones_differ"  // for, db
	calibrationDrift  = "calibration_drift"         // for, db
	calibrationClip   = "calibration_clipped"       // samples, db
	calibrationPart   = "calibration_partial"       // from_s, to_s, db
	calibrationOthers = "calibration_other_tones"   // hz, db, second_hz and second_db where there is one, given (1: the tone was named)
	calibrationMoves  = "calibration_unsteady"      // db, blocks
	calibrationNoisy  = "calibration_noisy"         // db: half the interval
)

// scaleWarnings are what holds of the voltage scales, whatever was captured.
func scaleWarnings(s model.Settings) []model.Warning {
	l := list{}
	if len(s.Scales) == 0 && !s.FullScaleVolts.Ok() {
		l.add(everything, model.ScaleUnknown, "for", model.ForAll, "gain", false)
	}
	for _, c := range s.Scales {
		if c.For == model.ForAll {
			c.FullScaleVolts = s.FullScaleVolts
		}
		l.scale(c)
	}
	if len(s.Scales) == 2 {
		l.add(everything, twoScales, "db", s.Step.DB.Float(), "complete", s.Step.Complete)
	}
	return model.Once(l)
}

func (l *list) scale(s model.Scale) {
	if !s.FullScaleVolts.Ok() {
		l.add(everything, model.ScaleUnknown, "for", s.For, "gain", true)
	} else if missing := unstated(s); len(missing) > 0 {
		l.add(everything, scaleUncertain, "for", s.For, "parts", missing)
	}
	for _, c := range s.Calibrations {
		for _, n := range calibrationDoubts(c) {
			*l = append(*l, model.Warning{Note: n, File: c.File, Channel: c.Channel})
		}
		if c.Hz > highTone || c.Hz < lowTone {
			l.add(c.Side, calibrationFar, "hz", float64(c.Hz))
		}
	}
	l.drift(s)
}

// unstated names the parts of a scale whose uncertainty was not given, each once.
func unstated(s model.Scale) []string {
	var names []string
	seen := map[string]bool{}
	for _, p := range s.Parts {
		if !p.UDB.Ok() && !seen[p.What] {
			seen[p.What] = true
			names = append(names, p.What)
		}
	}
	return names
}

func (l *list) drift(s model.Scale) {
	d := math.Abs(float64(s.DriftDB))
	switch n := len(s.Calibrations); {
	case n > 1 && !sameTones(s.Calibrations):
		l.add(everything, calibrationTones, "for", s.For, "db", d)
	case d > driftDB:
		l.add(everything, calibrationDrift, "for", s.For, "db", d)
	}
}

func sameTones(all []model.Calibration) bool {
	for _, c := range all {
		if math.Abs(float64(c.Hz/all[0].Hz)-1) > sameTone {
			return false
		}
	}
	return true
}

// calibrationDoubts are what a reader has to know of a calibration that was taken.
func calibrationDoubts(c model.Calibration) (all []note.Note) {
	_, lo, hi := c.Level.Numbers()
	if c.Clipped > 0 {
		all = append(all, note.New(calibrationClip, "samples", c.Clipped, "db", float64(c.ClippedDB)))
	}
	if math.Abs(float64(c.PartialDB)) > saidDB {
		all = append(all, note.New(calibrationPart, "from_s", float64(c.HoldsFromS), "to_s", float64(c.HoldsToS), "db", float64(c.PartialDB)))
	}
	if c.OthersDB > saidDB {
		args := []any{"hz", float64(c.Hz), "db", float64(c.OthersDB), "given", c.GivenHz.Ok()}
		if c.SecondHz.Ok() {
			args = append(args, "second_hz", float64(c.SecondHz), "second_db", float64(c.SecondDB))
		}
		all = append(all, note.New(calibrationOthers, args...))
	}
	if c.ScatterDB > saidScatterDB {
		all = append(all, note.New(calibrationMoves, "db", float64(c.ScatterDB), "blocks", c.Blocks))
	}
	if hi-lo > 2*saidScatterDB {
		all = append(all, note.New(calibrationNoisy, "db", model.Places((hi-lo)/2, 4)))
	}
	return all
}

// calibrated compares how a capture was recorded with its calibration.
func (l *list) calibrated(set model.Settings, whose string, side model.Side) {
	scale, _ := set.ScaleOf(whose)
	for _, c := range scale.Calibrations {
		if c.RateHz != side.RateHz || c.Bits != side.Bits || c.Float != side.Float || c.Channel != side.Channel {
			l.add(side, calibrationDiffer, "address", c.Address,
				"rate_hz", side.RateHz, "bits", side.Bits, "float", side.Float, "channel", side.Channel,
				"its_rate_hz", c.RateHz, "its_bits", c.Bits, "its_float", c.Float, "its_channel", c.Channel)
		}
	}
}
