package main

import (
	"context"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"humdiff/fft/capture"
	"humdiff/report/assemble"
	"humdiff/report/volts"
)

// scaling is the flags that say what full scale is in volts.
type scaling struct {
	fullScale   string
	gain        string
	calibration []string
}

func (s *scaling) add(f *pflag.FlagSet) {
	f.StringVar(&s.fullScale, "full-scale", "", "rms `VOLTAGE` of a full-scale sine, such as 2.0V, 500mV, 6dBV or 4dBu; \"2.0V ±1%\" with what it may be off by")
	f.StringVar(&s.gain, "gain", "", "`GAIN` ahead of the converter, such as 40dB or \"40dB ±0.1dB\"; needs --full-scale")
	f.StringArrayVar(&s.calibration, "calibration", nil, "instead, a capture of a tone of known rms voltage, as `CAPTURE=VOLTAGE`, such as "+
		"\"tone.wav=1.0V\" or \"tone.wav=1.0V ±0.5% at 1kHz\"; twice, before and after, gives the drift")
}

// scale is what the flags say about volts.
func (m *measuring) scale(ctx context.Context) (volts.Scale, error) {
	switch {
	case len(m.calibration) == 0:
		s, err := volts.StatedFull(m.fullScale, m.gain)
		return s, misused(err)
	case m.fullScale != "" || m.gain != "":
		return volts.Scale{}, misusedf("leave --full-scale and --gain out: the tone came through both", "--calibration says what full scale is already")
	}
	return m.calibrate(ctx, m.calibration)
}

// calibrate reads tones of known voltage, in the channel of --channel where they
// name none.
func (m *measuring) calibrate(ctx context.Context, said []string) (volts.Scale, error) {
	var tones []capture.Tone
	for _, s := range said {
		tone, err := capture.ParseTone(s)
		if err != nil {
			return volts.Scale{}, misused(err)
		}
		if tone.Channel == 0 {
			tone.Channel = int(m.channel)
		}
		tones = append(tones, tone)
	}
	return assemble.Calibrate(ctx, tones...)
}

// sides is the flags for quiet and near on two scales.
type sides struct{ quiet, near side }

type side struct {
	gain        string
	calibration []string
}

func (s *sides) add(c *cobra.Command) {
	for _, of := range []struct {
		*side
		name string
	}{{&s.quiet, "quiet"}, {&s.near, "near"}} {
		c.Flags().StringVar(&of.gain, of.name+"-gain", "", "`GAIN` of "+of.name+", where not that of --gain")
		c.Flags().StringArrayVar(&of.calibration, of.name+"-calibration", nil, "calibration of "+of.name+" alone, as `CAPTURE=VOLTAGE`")
	}
}

func (s side) given() bool { return s.gain != "" || len(s.calibration) > 0 }

// scales is what the flags say about volts: one scale for both captures, or
// quiet's and near's.
func (f comparing) scales(ctx context.Context) ([]volts.Scale, error) {
	if !f.quiet.given() && !f.near.given() {
		s, err := f.scale(ctx)
		return []volts.Scale{s}, err
	}
	if err := f.checkSides(); err != nil {
		return nil, err
	}
	quiet, err := f.scaleOf(ctx, f.quiet)
	if err != nil {
		return nil, err
	}
	near, err := f.scaleOf(ctx, f.near)
	if err != nil {
		return nil, err
	}
	if _, err := volts.Between(quiet, near); err != nil {
		return nil, misusedf("give the other capture's scale too, or a calibration for both with --calibration", "%s", err)
	}
	if quiet.Said == near.Said {
		return []volts.Scale{quiet}, nil
	}
	return []volts.Scale{quiet, near}, nil
}

// checkSides refuses flags that contradict each other, or leave a gain open.
func (f comparing) checkSides() error {
	calibrated := len(f.calibration) > 0
	own := len(f.quiet.calibration)+len(f.near.calibration) > 0
	for name, s := range map[string]side{"quiet": f.quiet, "near": f.near} {
		if s.gain != "" && len(s.calibration) > 0 {
			return misusedf("leave --"+name+"-gain out: the tone came through it", "--%s-calibration says what full scale is already", name)
		}
	}
	switch {
	case calibrated && f.fullScale != "":
		return misusedf("leave --full-scale out: the tone came through it", "--calibration says what full scale is already")
	case calibrated && f.gain == "" && (f.quiet.gain != "" || f.near.gain != ""):
		return misusedf("say at which gain the tone was recorded: --gain 40dB", "--calibration with another gain for a capture leaves the tone's open")
	case !calibrated && !own && f.fullScale == "" && f.gain == "" && (f.quiet.gain == "" || f.near.gain == ""):
		return misusedf("give both: --quiet-gain 60dB --near-gain 40dB", "the gain of one capture alone says nothing of the step between the two")
	}
	return nil
}

// scaleOf is one capture's scale: its own calibration, the common one at its
// gain, or full scale less its gain.
func (f comparing) scaleOf(ctx context.Context, s side) (volts.Scale, error) {
	gain := s.gain
	if gain == "" {
		gain = f.gain
	}
	switch {
	case len(s.calibration) > 0:
		return f.calibrate(ctx, s.calibration)
	case len(f.calibration) == 0:
		scale, err := volts.Stated(f.fullScale, gain)
		return scale, misused(err)
	}
	scale, err := f.calibrate(ctx, f.calibration)
	if err != nil || gain == "" {
		return scale, err
	}
	scale, err = scale.AtGain(f.gain, gain)
	return scale, misused(err)
}
