package mains

import (
	"context"
	"errors"
	"fmt"

	"humdiff/fft/capture"
)

// ToneLevel measures the strongest tone of a one-channel capture, for
// calibration: its frequency in hertz by the recorder's clock, and its power
// (1 is 0 dBFS). It returns an error where no tone is found, where another tone
// within 40 dB makes the voltage ambiguous, or where the samples are clipped.
func ToneLevel(ctx context.Context, src capture.Source) (hz, power float64, err error) {
	if n := src.Channels(); n != 1 {
		return 0, 0, fmt.Errorf("it has %d channels: say which holds the tone, for example #ch=1", n)
	}
	opt := Options{}.filled()
	l, err := newLayout(src.Rate(), src.Frames(), opt)
	if err != nil {
		return 0, 0, err
	}
	obs, err := observe(ctx, src, l, opt.Progress)
	if err != nil {
		return 0, 0, err
	}
	o := &obs[0]
	if o.health.Clipped > 0 {
		return 0, 0, fmt.Errorf("%d samples of the tone are clipped: record it at a lower level", o.health.Clipped)
	}
	peaks := findPeaks(o.full, l.window, 0, 0)
	if len(peaks) == 0 {
		return 0, 0, errors.New("no tone was found in it")
	}
	tone := peaks[0]
	for _, p := range peaks[1:] {
		if p.power > tone.power {
			tone, p = p, tone
		}
		if p.power > 1e-4*tone.power {
			return 0, 0, fmt.Errorf("it holds a second tone, at %.1f Hz, beside the one at %.1f Hz: the voltage could be either's", p.hz, tone.hz)
		}
	}
	return tone.hz, tone.power, nil
}
