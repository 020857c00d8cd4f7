package assemble

import (
	"fmt"
	"math"
	"strings"

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
		w.add(everything, "scale_unknown", "Volts are unknown: levels are relative to full scale. "+
			"Give --full-scale and --gain, or a capture of a known tone with --calibration.")
	}
	for _, c := range s.Scales {
		w.scale(c)
	}
	if len(s.Scales) == 2 {
		w.step(s)
	}
}

func (w *warnings) scale(s result.Scale) {
	whose := ""
	if s.For != result.ForAll {
		whose = " of " + s.For
	}
	if !s.FullScaleVolts.Ok() {
		w.add(everything, "scale_unknown", "Volts%s are unknown: a gain was given, but not the full scale that it belongs to.", whose)
	} else if missing := words.Unstated(s); missing != "" {
		w.add(everything, "scale_uncertainty_unknown", "Intervals in volts, dBV and dBu%s don't hold what the %s may be off by: it was not given. "+
			"Write it behind the value, such as \"1.0V ±0.5%%\". Levels in dBFS, and deltas on one scale, don't depend on it.", whose, missing)
	}
	for _, c := range s.Calibrations {
		w.pass(c.Side, volts.Doubts(c))
		if c.Hz > highTone || c.Hz < lowTone {
			w.add(c.Side, "calibration_far", "A tone of %s says nothing of a low-cut filter in the input: hum at 50 or 60 Hz may be stronger than the volts given. "+
				"Calibrate with a tone near the mains, such as 55 Hz, as well.", words.Hz(c.Hz))
		}
	}
	w.drift(s, whose)
}

func (w *warnings) drift(s result.Scale, whose string) {
	if n := len(s.Calibrations); n > 1 && !sameTones(s.Calibrations) {
		w.add(everything, "calibration_tones_differ", "The calibrations%s use tones of different frequency: what they differ by, %.2f dB, holds the input's response as well as its drift.",
			whose, math.Abs(float64(s.DriftDB)))
		return
	}
	if d := math.Abs(float64(s.DriftDB)); d > driftDB {
		w.add(everything, "calibration_drift", "Full scale%s drifted by %.2f dB between the calibrations. That is in the intervals of absolute levels; "+
			"a delta may be off by as much, and its interval doesn't say so.", whose, d)
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

// step says what two scales do to the deltas.
func (w *warnings) step(s result.Settings) {
	known := "their own intervals hold how far that step is known"
	if !s.Step.Complete {
		known = "what that step may be off by was not given, or not all of it, and every delta is off by as much"
	}
	w.add(everything, "two_scales", "Quiet and near are on different scales: near's full scale is %s dB from quiet's at the input. Levels in dBFS can't be compared; "+
		"deltas and pickups are those at the input, and %s.", words.Signed(s.Step.DB), known)
}

// calibrated compares how a capture was recorded with its calibration.
func (w *warnings) calibrated(set result.Settings, whose string, side result.Side) {
	scale, _ := set.ScaleOf(whose)
	for _, c := range scale.Calibrations {
		var other []string
		if c.RateHz != side.RateHz {
			other = append(other, fmt.Sprintf("sampled at %d Hz, not %d Hz", c.RateHz, side.RateHz))
		}
		if words.Format(c.Side) != words.Format(side) {
			other = append(other, fmt.Sprintf("recorded as %s, not %s", words.Format(c.Side), words.Format(side)))
		}
		if c.Channel != side.Channel {
			other = append(other, fmt.Sprintf("recorded on channel %d, not %d", c.Channel, side.Channel))
		}
		if len(other) > 0 {
			w.add(side, "calibration_differs", "Its calibration %s was %s: another setting or another input can have another gain, and then the volts are off by as much.",
				words.File(c.Address), strings.Join(other, ", "))
		}
	}
}
