// Package measure takes in captures and gives out model values: what each file
// is, how much hum and noise is in each channel, and on which scale it stands. It
// reads files and measures them, several at a time, but never holds more of one
// than a few channels' spectra; numbers are rounded as they enter the model. It
// compares nothing and holds no sentence: what is noticed becomes a warning with a
// code.
//
// Numbers are rounded here and nowhere else: levels to 0.0001 dB, all else to seven digits.
//
// Noise totals are over 20 Hz to 20 kHz, or to 0.49 of the rate, over the band both
// captures have, by an rms detector; A-weighting from IEC 61672-1's design frequencies.
// Bins of lines and tones are replaced by a straight line in log–log between the means
// of 8 free bins on both sides.
//
// A scale's uncertainty (JCGM 100:2008): the voltmeter's, full scale's and gain's limits as
// given, any value in them as likely, so half-width over √3 (4.3.7); recording noise; the
// drift between calibrations; what else is wrong with a tone. Added as squares, times
// Student's factor for the effective degrees of freedom (G.4). It goes into volts, dBV and
// dBu, never into dBFS, nor into deltas on one scale. A calibration is refused where what
// is wrong with its tone makes 0.1 dB (clipping 0.01, scatter and noise 0.5).
//
// Trend: steps of 10 cycles of a 50 Hz mains, 12 of a 60 Hz one (the window of
// IEC 61000-4-7; from memory). Their amplitudes are cut into straight pieces at a cost of
// 25 + 2·ln n each (Killick, Fearnhead and Eckley 2012). Hum stands still in a piece of 2 s
// or more that drifts by less than 1.5 dB.
package measure

import (
	"context"
	"runtime"

	"golang.org/x/sync/errgroup"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/report/model"
)

// Options say how to measure. The zero value is the default.
type Options struct {
	mains.Options
	// LinesOnly leaves out spectra, mains cycles, noise and the files' hashes, which a
	// list of lines doesn't show: they are stated as not known, and nothing warns
	// of them.
	LinesOnly bool
	// Weighting is Weighting468, or empty: also read the whole signal by that meter.
	Weighting string
	// Reference is the channel of each file, from 1, that records the field: the others'
	// lines are given their ratios to it. 0: none.
	Reference int
}

// Weighting468 asks for the quasi-peak meter of ITU-R BS.468-4.
const Weighting468 = "468"

// Captures measures captures, several at a time: of each the channel that its
// address names, or every channel that carries a signal. Where none does, all are
// kept: that nothing was recorded is a result. They come in the order of the
// addresses, with what was noticed of each. Errors name the file.
func Captures(ctx context.Context, captures []capture.Address, opt Options) ([]model.Capture, []model.Warning, error) {
	r := newReader(opt)
	each := make([]reading, len(captures))
	work, ctx := errgroup.WithContext(ctx)
	work.SetLimit(runtime.GOMAXPROCS(0))
	for i, addr := range captures {
		work.Go(func() (err error) {
			if each[i], err = r.read(ctx, addr); err == nil {
				each[i].dropSilent()
			}
			return err
		})
	}
	if err := work.Wait(); err != nil {
		return nil, nil, err
	}
	all, said := []model.Capture{}, [][]model.Warning{}
	for _, one := range each {
		for _, c := range one.channels {
			all = append(all, c.Capture)
			said = append(said, one.file, c.warnings)
		}
	}
	return all, model.Once(said...), nil
}

// dropSilent leaves out the channels that are silent, unless all are.
func (r *reading) dropSilent() {
	kept, silent := sounding(r.channels, func(c channel) bool { return c.Health.Silent })
	r.channels = kept
	r.leftOut("silent", silent)
}

// leftOut notes that channels of the file are not in the result, and why.
func (r *reading) leftOut(why string, channels []channel) {
	if len(channels) == 0 || len(r.channels) == 0 {
		return
	}
	numbers := make([]int, len(channels))
	for i, c := range channels {
		numbers[i] = c.Channel
	}
	r.file = append(r.file, at(model.Side{File: r.path}, note.New("left_out", "channels", numbers, "why", why))...)
}

// sounding splits off what is silent; where all is, it keeps all.
func sounding[T any](all []T, silent func(T) bool) (kept, left []T) {
	for _, x := range all {
		if silent(x) {
			left = append(left, x)
		} else {
			kept = append(kept, x)
		}
	}
	if len(kept) == 0 {
		return all, nil
	}
	return kept, left
}
