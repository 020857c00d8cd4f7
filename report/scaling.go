package report

import (
	"context"

	"humdiff/fft/fault"
	"humdiff/fft/mains"
	"humdiff/report/measure"
	"humdiff/report/model"
	"humdiff/report/unit"
)

// Scaling is what is said of all captures' volts, and of quiet's or near's alone.
type Scaling = model.Asked

// OwnScale is what of a scale is one capture's alone.
type OwnScale = model.AskedOwn

func given(s OwnScale) bool { return s.Gain != "" || len(s.Calibration) > 0 }

func wrong(hint, format string, args ...any) error {
	return misused(fault.New(hint, format, args...))
}

// scales is one scale for all captures, or quiet's and near's.
func (r Request) scales(ctx context.Context) ([]measure.Scale, error) {
	if !given(r.Scaling.Quiet) && !given(r.Scaling.Near) {
		s, err := r.common(ctx)
		return []measure.Scale{s}, err
	}
	if err := r.checkOwn(); err != nil {
		return nil, err
	}
	quiet, err := r.own(ctx, r.Scaling.Quiet)
	if err != nil {
		return nil, err
	}
	near, err := r.own(ctx, r.Scaling.Near)
	if err != nil {
		return nil, err
	}
	if _, err := measure.Between(quiet, near); err != nil {
		return nil, misused(err)
	}
	if quiet.Same(near) {
		return []measure.Scale{quiet}, nil
	}
	return []measure.Scale{quiet, near}, nil
}

// common is the scale of all captures.
func (r Request) common(ctx context.Context) (measure.Scale, error) {
	s := r.Scaling
	switch {
	case len(s.Calibration) > 0 && (s.FullScale != "" || s.Gain != ""):
		return measure.Scale{}, wrong("leave --full-scale and --gain out: the tone came through both", "--calibration says what full scale is already")
	case len(s.Calibration) > 0:
		return r.calibrate(ctx, s.Calibration)
	case s.FullScale == "" && s.Gain != "":
		return measure.Scale{}, wrong("say what full scale is too, e.g. --full-scale 2.0V", "a gain of %s alone gives no volts", s.Gain)
	}
	scale, err := measure.StatedScale(s.FullScale, s.Gain)
	return scale, misused(err)
}

// calibrate reads tones of known voltage. They are measured as themselves: of the
// options only the engine counts.
func (r Request) calibrate(ctx context.Context, said []string) (measure.Scale, error) {
	tones := make([]unit.Tone, len(said))
	for i, s := range said {
		tone, err := unit.ParseTone(s)
		if err != nil {
			return measure.Scale{}, misused(err)
		}
		if at, moved := r.Moved[tone.Path]; moved {
			tone.Name, tone.Path = tone.Path, at
		}
		if tone.Channel == 0 {
			tone.Channel = r.Scaling.Channel
		}
		tones[i] = tone
	}
	return measure.Calibrate(ctx, measure.Options{Options: mains.Options{Engine: r.Engine}}, tones...)
}

// checkOwn refuses words that contradict each other, or leave a gain open.
func (r Request) checkOwn() error {
	s := r.Scaling
	calibrated := len(s.Calibration) > 0
	own := len(r.Scaling.Quiet.Calibration)+len(r.Scaling.Near.Calibration) > 0
	for _, of := range []struct {
		OwnScale
		name string
	}{{r.Scaling.Quiet, "quiet"}, {r.Scaling.Near, "near"}} {
		if of.Gain != "" && len(of.Calibration) > 0 {
			return wrong("leave --"+of.name+"-gain out: the tone came through it", "--%s-calibration says what full scale is already", of.name)
		}
	}
	switch {
	case calibrated && s.FullScale != "":
		return wrong("leave --full-scale out: the tone came through it", "--calibration says what full scale is already")
	case calibrated && s.Gain == "" && (r.Scaling.Quiet.Gain != "" || r.Scaling.Near.Gain != ""):
		return wrong("say at which gain the tone was recorded: --gain 40dB", "--calibration with another gain for a capture leaves the tone's open")
	case !calibrated && !own && s.FullScale == "" && s.Gain == "" && (r.Scaling.Quiet.Gain == "" || r.Scaling.Near.Gain == ""):
		return wrong("give both: --quiet-gain 60dB --near-gain 40dB", "the gain of one capture alone says nothing of the step between the two")
	}
	return nil
}

// own is one capture's scale: its own calibration, the common one at its gain, or
// full scale less its gain.
func (r Request) own(ctx context.Context, o OwnScale) (measure.Scale, error) {
	gain := o.Gain
	if gain == "" {
		gain = r.Scaling.Gain
	}
	switch {
	case len(o.Calibration) > 0:
		return r.calibrate(ctx, o.Calibration)
	case len(r.Scaling.Calibration) == 0:
		scale, err := measure.StatedScale(r.Scaling.FullScale, gain)
		return scale, misused(err)
	}
	scale, err := r.calibrate(ctx, r.Scaling.Calibration)
	if err != nil || gain == "" {
		return scale, err
	}
	scale, err = scale.AtGain(r.Scaling.Gain, gain)
	return scale, misused(err)
}
