package measure

import (
	"context"
	"math"
	"slices"

	"golang.org/x/sync/errgroup"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/model"
)

// Sides is one channel of two captures, not yet compared, and of the residual
// where there is one.
type Sides struct {
	Quiet, Near model.Capture
	Residual    *model.Capture
	Warnings    []model.Warning // what was noticed of the two captures
	OfResidual  []model.Warning // and of the residual

	// OneRecording says that near is quiet saved again, as Warnings say: there is nothing
	// to compare.
	OneRecording bool
}

// Pair measures quiet and near at the same time, and pairs their channels: those
// that the addresses name, the one's where only one names any, else each channel
// with its counterpart. Pairs silent on both sides are left out, unless all are.
// Where the mains was found on one side alone, the other's lines are sought around
// its frequency; both sides have the same lines, and noise over the band that both
// have.
func Pair(ctx context.Context, quiet, near capture.Address, opt Options) ([]Sides, error) {
	if quiet.Channel == 0 {
		quiet.Channel = near.Channel
	} else if near.Channel == 0 {
		near.Channel = quiet.Channel
	}
	quietFile, err := capture.Open(quiet)
	if err != nil {
		return nil, err
	}
	nearFile, err := capture.Open(near)
	if err != nil {
		return nil, err
	}
	r := newReader(opt)
	r.noiseTo = math.Min(noiseTop(float64(quietFile.Rate())), noiseTop(float64(nearFile.Rate())))
	var q, n reading
	sides, side := errgroup.WithContext(ctx)
	sides.Go(func() (err error) { q, err = r.readFile(side, quietFile); return err })
	sides.Go(func() (err error) { n, err = r.readFile(side, nearFile); return err })
	if err := sides.Wait(); err != nil {
		return nil, err
	}
	return r.pairs(ctx, q, n)
}

// pairs holds channels together and measures again what needs it.
func (r reader) pairs(ctx context.Context, q, n reading) ([]Sides, error) {
	pairs := counterparts(&q, &n)
	matches, match := errgroup.WithContext(ctx)
	for i := range pairs {
		matches.Go(func() error { return r.match(match, &pairs[i]) })
	}
	if err := matches.Wait(); err != nil {
		return nil, err
	}
	all := make([]Sides, len(pairs))
	for i, p := range pairs {
		all[i] = Sides{Quiet: p.quiet.Capture, Near: p.near.Capture,
			Warnings: slices.Concat(q.file, p.quiet.warnings, n.file, p.near.warnings)}
	}
	return all, copies(ctx, pairs, all)
}

// channels is one channel of both.
type channels struct{ quiet, near channel }

// counterparts pairs channels in order, leaving out what has no counterpart and
// what is silent on both sides.
func counterparts(q, n *reading) []channels {
	both := min(len(q.channels), len(n.channels))
	pairs := make([]channels, both)
	for i := range pairs {
		pairs[i] = channels{q.channels[i], n.channels[i]}
	}
	kept, silent := sounding(pairs, func(p channels) bool { return p.quiet.Health.Silent && p.near.Health.Silent })
	var left []channel
	for _, p := range silent {
		left = append(left, p.near)
	}
	n.leftOut("silent_in_both", left)
	q.leftOut("no_counterpart_in_near", q.channels[both:])
	n.leftOut("no_counterpart_in_quiet", n.channels[both:])
	return kept
}

// farAboveDB is by how much more hum a side has whose mains decides what the other's is, where
// that isn't surely found.
const farAboveDB = 10

// match measures a side again around the other's mains where its own wasn't found, or may be
// noise alone: none of its lines was found, or they are far weaker, and the other's mains is
// none or another.
func (r reader) match(ctx context.Context, p *channels) error {
	q, n := &p.quiet, &p.near
	if q.Health.Silent || n.Health.Silent {
		return nil
	}
	for _, of := range [][2]*channel{{q, n}, {n, q}} {
		if weak, other := of[0], of[1]; weak.perhapsNoise(other) {
			around := other.mainsHz
			if around == 0 {
				around = weak.mainsHz
			}
			if err := r.again(ctx, weak, around); err != nil {
				return err
			}
		}
	}
	switch {
	case n.Mains.Detected && !q.Mains.Detected:
		return r.again(ctx, q, n.mainsHz)
	case q.Mains.Detected && !n.Mains.Detected:
		return r.again(ctx, n, q.mainsHz)
	}
	return nil
}

// perhapsNoise says that a channel's mains may be chance, as far as another shows.
func (c *channel) perhapsNoise(other *channel) bool {
	if c.mainsHz == 0 || other.mainsHz > 0 && math.Abs(c.mainsHz/other.mainsHz-1) <= sameMainsShare {
		return false
	}
	own, found := c.Hum.Level.Value()
	of, _ := other.Hum.Level.Value()
	return !found || other.mainsHz > 0 && of-own > farAboveDB
}

// Residual measures what the instrument adds by itself, and gives each pair its
// channel: the one of near's number, or the only one there is. Where no mains is
// found in it, as should be, lines are sought around near's.
func Residual(ctx context.Context, addr capture.Address, pairs []Sides, opt Options) error {
	opt.Reference = 0 // its input is closed: there is nothing to relate
	r := newReader(opt)
	if len(pairs) > 0 {
		r.noiseTo = pairs[0].Near.Noise.BandHz[1]
	}
	read, err := r.read(ctx, addr)
	if err != nil {
		return err
	}
	for i := range pairs {
		near := &pairs[i].Near
		at := slices.IndexFunc(read.channels, func(c channel) bool { return len(read.channels) == 1 || c.Channel == near.Channel })
		if at < 0 {
			e := fault.New(`name one of its channels for all, such as "residual.wav#ch=1"`, "has no channel %d, as near has", near.Channel)
			return fault.In(addr.Path, e)
		}
		residual := read.channels[at]
		if near.Mains.Detected && !residual.Mains.Detected && !residual.Health.Silent {
			if err := r.again(ctx, &residual, float64(near.Mains.Hz)); err != nil {
				return err
			}
		}
		pairs[i].Residual = &residual.Capture
		pairs[i].OfResidual = slices.Concat(read.file, residual.warnings)
	}
	return nil
}
