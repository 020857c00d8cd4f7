package measure

import (
	"context"
	"errors"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/likeness"
	"humdiff/fft/mains"
	"humdiff/report/internal/tally"
	"humdiff/report/model"
)

// reader measures captures with one set of options and counts their progress
// together.
type reader struct {
	opt     Options
	tally   *tally.Tally
	noiseTo float64 // Hz, where noise totals end at the latest; 0: as far as the rate reaches
	marked  bool    // what copies are found by, and the meter's reading, have been taken
}

func newReader(opt Options) reader {
	return reader{opt: opt, tally: &tally.Tally{Report: func(done, total int64, _ string) {
		if opt.Progress != nil {
			opt.Progress(done, total)
		}
	}}}
}

// reading is what was read of one capture.
type reading struct {
	path     string
	channels []channel
	file     []model.Warning // what concerns the whole file
}

// channel is one measured channel, what was noticed of it, and the file it came
// from.
type channel struct {
	model.Capture
	warnings []model.Warning
	source   *capture.File
	mainsHz  float64 // to the last digit; 0: not found

	lines     mains.Measurement // without spectrum and cycle; kept where there is a reference
	reference *channel          // that the lines have ratios to; nil: none
}

// together is how many channels of a file are measured at a time: measuring holds
// spectra and blocks of each.
const together = 4

// read opens, measures and hashes a capture.
func (r reader) read(ctx context.Context, addr capture.Address) (reading, error) {
	file, err := capture.Open(addr)
	if err != nil {
		return reading{}, err
	}
	return r.readFile(ctx, file)
}

func (r reader) readFile(ctx context.Context, file *capture.File) (reading, error) {
	channels, err := r.channels(ctx, file)
	if err == nil && r.opt.Reference > 0 {
		channels, err = r.refer(ctx, file, channels)
	}
	if err != nil {
		return reading{}, err
	}
	read := reading{path: file.Info().Path, channels: channels}
	if !r.opt.LinesOnly {
		hash, err := file.Hash(ctx)
		if err != nil {
			return reading{}, err
		}
		for i := range channels {
			channels[i].SHA256 = hash
		}
	}
	read.file = at(model.Side{File: read.path}, file.Warnings()...)
	return read, nil
}

// channels measures all channels of a file, a few at a time.
func (r reader) channels(ctx context.Context, file *capture.File) ([]channel, error) {
	if !r.opt.LinesOnly {
		file.HashInPassing()
	}
	n, share := file.Channels(), r.tally.Share(file.Frames(), "")
	var all []channel
	for from := 0; from < n; from += together {
		part := capture.Part(file, from, min(together, n-from)).(*capture.File)
		some, err := r.part(ctx, part, func(frames, total int64) {
			share.Reach((int64(from)*total+int64(part.Channels())*frames)/int64(n), total)
		})
		if err != nil {
			return nil, err
		}
		all = append(all, some...)
	}
	if n > together { // of twins in one part measuring has told
		twins(all)
	}
	return all, nil
}

// twins says of each channel which is the first with the same samples.
func twins(all []channel) {
	first := map[string]int{}
	for i := range all {
		of, seen := first[all[i].Decoded]
		if all[i].twin(of); !seen {
			first[all[i].Decoded] = all[i].Channel
		}
	}
}

// part measures a few channels and keeps of each what a result has.
func (r reader) part(ctx context.Context, file *capture.File, progress func(done, total int64)) ([]channel, error) {
	opt := r.opt.Options
	opt.Progress = progress
	var pass *likeness.Pass
	if !r.marked {
		pass = likeness.NewPass(file.Rate(), file.Frames(), file.Channels())
		opt.Frames = pass.Push
	}
	var meter *quasiPeaks
	if r.opt.Weighting == Weighting468 && !r.marked {
		meter = newQuasiPeaks(file.Rate(), file.Channels())
		likened := opt.Frames
		opt.Frames = func(frames [][]float64) {
			likened(frames)
			meter.push(frames)
		}
	}
	measured, err := mains.Measure(ctx, file, opt)
	if err != nil {
		return nil, named(ctx, file, err)
	}
	channels := make([]channel, len(measured))
	for i := range measured {
		channels[i] = r.channel(sideOf(file.Info(), i, ""), measured[i])
		channels[i].source = file
		if meter != nil {
			channels[i].QuasiPeak = meter.of(i)
		}
		if r.opt.Reference > 0 {
			channels[i].lines = measured[i]
			channels[i].lines.Spectrum, channels[i].lines.Cycle = fft.Spectrum{}, nil
		}
		measured[i] = mains.Measurement{} // it is large
	}
	if pass != nil {
		for i, m := range pass.Marks() {
			channels[i].Decoded, channels[i].Sketch = m.Hash, m.Sketch
		}
	}
	return channels, nil
}

// again measures a channel around a frequency.
func (r reader) again(ctx context.Context, c *channel, around float64) error {
	file, err := c.source.Only(c.Channel)
	if err != nil {
		return err
	}
	before := *c
	r.opt.Around = around
	r.marked = true
	again, err := r.part(ctx, file, r.tally.Share(file.Frames(), "").Reach)
	if err != nil {
		return err
	}
	*c = again[0]
	c.Side, c.source, c.QuasiPeak = before.Side, before.source, before.QuasiPeak
	c.twin(before.Health.SameAs)
	if before.reference != nil {
		return r.relate(ctx, c, before.reference)
	}
	return nil
}

// named says which file an error of a measurement is about; those of files say so
// themselves.
func named(ctx context.Context, file *capture.File, err error) error {
	var known *fault.Error
	if ctx.Err() != nil || errors.As(err, &known) {
		return err
	}
	return &fault.Error{File: file.Info().Path, What: err.Error(), Err: err}
}

// sideOf is where the i-th channel that a file delivers was read from.
func sideOf(info capture.Info, i int, hash string) model.Side {
	return model.Side{File: info.Path, Channel: info.FirstChannel + i, Named: info.Named, StartS: info.StartS, EndS: info.EndS,
		RateHz: info.Rate, Bits: info.Bits, Float: info.Float, SHA256: hash}
}
