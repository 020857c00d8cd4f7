// Package measure takes in captures and gives out model values: what each file
// is, how much hum and noise is in each channel, and on which scale it stands. It
// reads files and measures them, several at a time, but never holds more of one
// than a few channels' spectra; numbers are rounded as they enter the model. It
// compares nothing and holds no sentence: what is noticed becomes a warning with a
// code.
package measure

import (
	"context"
	"runtime"
	"slices"

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
}

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
	all := []model.Capture{}
	var said notes
	for _, one := range each {
		for _, c := range one.channels {
			all = append(all, c.Capture)
			said.take(one.file...)
			said.take(c.warnings...)
		}
	}
	return all, said.list(), nil
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
	said := model.Warning{Note: note.New("left_out", "channels", numbers, "why", why), File: r.path}
	r.file = append(slices.Clone(r.file), said)
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
