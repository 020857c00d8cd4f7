package assemble

import (
	"math"

	"humdiff/report/result"
	"humdiff/report/volts"
	"humdiff/report/words"
)

const (
	// driftDB is the drift of a scale from which deltas need to be told.
	driftDB = 0.1
	// A tone between these tells how sensitive the input is at the fundamental: a
	// low-cut filter of first order at 20 Hz takes 0.64 dB off 50 Hz and 0.12 dB
	// off 120 Hz, and nothing that shows off 1 kHz.
	lowTone, highTone = 40, 120 // Hz
	// sameTone is the share by which tones of two calibrations may differ and
	// still ask the same of the input.
	sameTone = 0.01
)

// scales says what holds of the voltage scales, whatever was captured.
func (w *warnings) scales(s result.Settings) {
	if len(s.Scales) == 0 && !s.FullScaleVolts.Ok() {
		w.add(everything, "scale_unknown", "for", result.ForAll, "gain", false)
	}
	for _, c := range s.Scales {
		w.scale(c)
	}
	if len(s.Scales) == 2 {
		w.add(everything, "two_scales", "db", float64(s.Step.DB), "complete", s.Step.Complete)
	}
}

func (w *warnings) scale(s result.Scale) {
	if !s.FullScaleVolts.Ok() {
		w.add(everything, "scale_unknown", "for", s.For, "gain", true)
	} else if parts := unstated(s); len(parts) > 0 {
		w.add(everything, "scale_uncertainty_unknown", "for", s.For, "parts", parts)
	}
	for _, c := range s.Calibrations {
		w.pass(c.Side, volts.Doubts(c))
		if c.Hz > highTone || c.Hz < lowTone {
			w.add(c.Side, "calibration_far", "hz", float64(c.Hz))
		}
	}
	w.drift(s)
}

// unstated names the parts of a scale whose uncertainty was not given.
func unstated(s result.Scale) (names []string) {
	for _, p := range s.Parts {
		if !p.UDB.Ok() {
			names = append(names, p.What)
		}
	}
	return names
}

func (w *warnings) drift(s result.Scale) {
	d := math.Abs(float64(s.DriftDB))
	switch n := len(s.Calibrations); {
	case n > 1 && !sameTones(s.Calibrations):
		w.add(everything, "calibration_tones_differ", "for", s.For, "db", d)
	case d > driftDB:
		w.add(everything, "calibration_drift", "for", s.For, "db", d)
	}
}

func sameTones(all []result.Calibration) bool {
	for _, c := range all {
		if math.Abs(float64(c.Hz/all[0].Hz)-1) > sameTone {
			return false
		}
	}
	return true
}

// calibrated compares how a capture was recorded with its calibration.
func (w *warnings) calibrated(set result.Settings, whose string, side result.Side) {
	scale, _ := set.ScaleOf(whose)
	for _, c := range scale.Calibrations {
		if c.RateHz != side.RateHz || words.Format(c.Side) != words.Format(side) || c.Channel != side.Channel {
			w.add(side, "calibration_differs", "address", c.Address,
				"rate_hz", side.RateHz, "bits", side.Bits, "float", side.Float, "channel", side.Channel,
				"its_rate_hz", c.RateHz, "its_bits", c.Bits, "its_float", c.Float, "its_channel", c.Channel)
		}
	}
}
