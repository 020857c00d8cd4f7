package assemble

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/report/result"
)

// Read measures captures, several at a time: of each the channel that its
// address names, or every channel that carries a signal. Where none does, all
// are kept: that nothing was recorded is a result. The channels come in the
// order of the addresses. Errors name the file.
func Read(ctx context.Context, captures []capture.Address, opt mains.Options) ([]Channel, error) {
	each := make([][]Channel, len(captures))
	r := reader{opt: opt, tally: &tally{report: opt.Progress}}
	if err := r.readEach(ctx, captures, func(i int, channels []Channel) { each[i] = channels }); err != nil {
		return nil, err
	}
	return slices.Concat(each...), nil
}

// readEach hands on the channels of each capture, by its place in the list, as
// soon as they are measured; several at a time.
func (r reader) readEach(ctx context.Context, captures []capture.Address, done func(i int, channels []Channel)) error {
	work, ctx := errgroup.WithContext(ctx)
	work.SetLimit(runtime.GOMAXPROCS(0))
	for i, addr := range captures {
		work.Go(func() error {
			channels, err := r.read(ctx, addr)
			if err != nil {
				return err
			}
			kept, left := sounding(channels, func(c Channel) bool { return c.Health.Silent })
			for k := range kept {
				kept[k].leftOut(left, "silent")
			}
			done(i, kept)
			return nil
		})
	}
	return work.Wait()
}

// ReadPair measures quiet and near at the same time, and pairs their channels:
// those that the addresses name, the one's where only one names any, else each
// channel with its counterpart. Pairs silent on both sides are left out as in
// Read. Where the mains was found on one side alone, the other's lines are
// sought around its frequency; both sides have the same lines.
func ReadPair(ctx context.Context, quiet, near capture.Address, opt mains.Options) ([]Pair, error) {
	if quiet.Channel == 0 {
		quiet.Channel = near.Channel
	} else if near.Channel == 0 {
		near.Channel = quiet.Channel
	}
	r := reader{opt: opt, tally: &tally{report: opt.Progress}}
	var q, n []Channel
	sides, side := errgroup.WithContext(ctx)
	sides.Go(func() (err error) { q, err = r.read(side, quiet); return err })
	sides.Go(func() (err error) { n, err = r.read(side, near); return err })
	if err := sides.Wait(); err != nil {
		return nil, err
	}
	pairs := counterparts(q, n)
	matches, match := errgroup.WithContext(ctx)
	for i := range pairs {
		matches.Go(func() error { return r.match(match, &pairs[i]) })
	}
	if err := matches.Wait(); err != nil {
		return nil, err
	}
	return pairs, nil
}

// ReadResidual measures what the instrument adds by itself, and gives each pair
// its channel: the one of near's number, or the only one there is. Where no
// mains is found in it, as should be, lines are sought around near's.
func ReadResidual(ctx context.Context, addr capture.Address, pairs []Pair, opt mains.Options) error {
	r := reader{opt: opt, tally: &tally{report: opt.Progress}}
	channels, err := r.read(ctx, addr)
	if err != nil {
		return err
	}
	for i := range pairs {
		near := &pairs[i].Near
		at := slices.IndexFunc(channels, func(c Channel) bool { return len(channels) == 1 || c.Channel == near.Channel })
		if at < 0 {
			return &fault.Error{File: addr.Path, What: fmt.Sprintf("has no channel %d, as near has", near.Channel),
				Hint: "name one of its channels for all, such as \"residual.wav#ch=1\""}
		}
		residual := channels[at]
		if near.Mains.Detected && !residual.Mains.Detected && !residual.Health.Silent {
			if err := r.again(ctx, &residual, near.Mains.Hz); err != nil {
				return err
			}
		}
		pairs[i].Residual = &residual
	}
	return nil
}

// reader measures captures with one set of options and counts their progress
// together.
type reader struct {
	opt   mains.Options
	tally *tally
	lines bool // nothing but lines and health is wanted
}

// read measures and hashes a capture.
func (r reader) read(ctx context.Context, addr capture.Address) ([]Channel, error) {
	file, err := capture.Open(addr)
	if err != nil {
		return nil, err
	}
	hash := ""
	if !r.lines {
		file.HashInPassing()
	}
	measured, err := r.measure(ctx, file, r.opt)
	if err == nil && !r.lines {
		hash, err = file.Hash(ctx)
	}
	if err != nil {
		return nil, err
	}
	channels := make([]Channel, len(measured))
	for c, m := range measured {
		channels[c] = Channel{Side: sideOf(file.Info(), c, hash), FileWarnings: file.Warnings(), source: file}.measured(m)
	}
	return channels, nil
}

func (r reader) measure(ctx context.Context, file *capture.File, opt mains.Options) ([]mains.Measurement, error) {
	opt.Progress = r.tally.share(file.Frames())
	measured, err := mains.Measure(ctx, file, opt)
	if err != nil {
		return nil, named(ctx, file, err)
	}
	for _, m := range measured {
		if m.Health.Silent {
			// Channels share transforms: what stands there is the rounding of another's.
			clear(m.Spectrum.Density)
		}
	}
	if r.lines {
		for i := range measured {
			measured[i].Spectrum.Density, measured[i].Cycle = nil, nil
		}
	}
	return measured, nil
}

// named says which file an error of a measurement is about; those of files
// say so themselves.
func named(ctx context.Context, file *capture.File, err error) error {
	var known *fault.Error
	if ctx.Err() != nil || errors.As(err, &known) {
		return err
	}
	return &fault.Error{File: file.Info().Path, What: err.Error(), Err: err}
}

// sideOf is where the i-th channel that a file delivers was read from.
func sideOf(info capture.Info, i int, hash string) result.Side {
	return result.Side{File: info.Path, Channel: info.FirstChannel + i, StartS: info.StartS, EndS: info.EndS,
		RateHz: info.Rate, Bits: info.Bits, Float: info.Float, SHA256: hash}
}

// match measures a side again around the other's mains where its own wasn't
// found.
func (r reader) match(ctx context.Context, p *Pair) error {
	q, n := &p.Quiet, &p.Near
	switch {
	case q.Health.Silent || n.Health.Silent:
		return nil
	case n.Mains.Detected && !q.Mains.Detected:
		return r.again(ctx, q, n.Mains.Hz)
	case q.Mains.Detected && !n.Mains.Detected:
		return r.again(ctx, n, q.Mains.Hz)
	}
	return nil
}

// again measures a channel around a frequency.
func (r reader) again(ctx context.Context, c *Channel, around float64) error {
	file, err := c.source.Only(c.Channel)
	if err != nil {
		return err
	}
	opt := r.opt
	opt.Around = around
	measured, err := r.measure(ctx, file, opt)
	if err != nil {
		return err
	}
	*c = c.measured(measured[0])
	return nil
}

// counterparts pairs channels in order, leaving out what has no counterpart
// and what is silent on both sides.
func counterparts(q, n []Channel) []Pair {
	pairs := make([]Pair, min(len(q), len(n)))
	for i := range pairs {
		pairs[i] = Pair{Quiet: q[i], Near: n[i]}
	}
	kept, silent := sounding(pairs, func(p Pair) bool { return p.Quiet.Health.Silent && p.Near.Health.Silent })
	var left []Channel
	for _, p := range silent {
		left = append(left, p.Near)
	}
	for i := range kept {
		kept[i].Near.leftOut(left, "silent_in_both")
		kept[i].Quiet.leftOut(q[len(pairs):], "no_counterpart_in_near")
		kept[i].Near.leftOut(n[len(pairs):], "no_counterpart_in_quiet")
	}
	return kept
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

// leftOut notes that channels of the same file are not in the result.
func (c *Channel) leftOut(left []Channel, why string) {
	if len(left) == 0 {
		return
	}
	numbers := make([]int, len(left))
	for i, l := range left {
		numbers[i] = l.Side.Channel
	}
	said := note.New("left_out", "channels", numbers, "why", why)
	c.FileWarnings = append(slices.Clone(c.FileWarnings), said)
}
