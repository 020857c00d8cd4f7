package main

import (
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"humdiff/report"
)

// scaling is the flags that say what full scale is in volts.
type scaling struct{ report.Scaling }

func (s *scaling) add(f *pflag.FlagSet) {
	f.StringVar(&s.FullScale, "full-scale", "", "rms `VOLTAGE` of a full-scale sine, such as 2.0V, 500mV, 6dBV or 4dBu; \"2.0V ±1%\" with what it may be off by")
	f.StringVar(&s.Gain, "gain", "", "`GAIN` ahead of the converter, such as 40dB or \"40dB ±0.1dB\"; needs --full-scale")
	f.StringArrayVar(&s.Calibration, "calibration", nil, "instead, a capture of a tone of known rms voltage, as `CAPTURE=VOLTAGE`, such as "+
		"\"tone.wav=1.0V\" or \"tone.wav=1.0V ±0.5% at 1kHz\"; twice, before and after, gives the drift")
}

// sides is the flags for quiet and near on two scales.
type sides struct{ quiet, near report.OwnScale }

func (s *sides) add(c *cobra.Command) {
	for _, of := range []struct {
		*report.OwnScale
		name string
	}{{&s.quiet, "quiet"}, {&s.near, "near"}} {
		c.Flags().StringVar(&of.Gain, of.name+"-gain", "", "`GAIN` of "+of.name+", where not that of --gain")
		c.Flags().StringArrayVar(&of.Calibration, of.name+"-calibration", nil, "calibration of "+of.name+" alone, as `CAPTURE=VOLTAGE`")
	}
}
