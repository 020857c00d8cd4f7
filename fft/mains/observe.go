package mains

import (
	"context"

	"gonum.org/v1/gonum/stat"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fft/health"
	"humdiff/fft/lend"
)

// observation is what one pass over a channel yields, before any mains is known.
type observation struct {
	full   fft.Spectrum // whole band
	low    fft.Spectrum // low band, at closer overlap
	scan   scan
	kernel kernel
	blocks []block // of the low band; empty where they are too many to hold
	signal *signal // its samples instead, of all channels; nil where they are too many, too
	even   evenness
	health Health
	least  float64 // power of a bin of the low band below which nothing is told from rounding
	swells []swell // of the low band's blocks, where nothing is left out yet
	out    []bool  // blocks of the low band that averages leave out; nil: none
	burst  []bool  // of these, those in which a burst is

	power, phasor float64 // effective numbers of the low band's blocks, for means of powers and of phasors

	medians []float64 // see rough; nil until asked for
}

// rough is about how dense noise is in the low band, bin by bin: the median of
// the bins within 20 Hz.
func (o *observation) rough(l layout) []float64 {
	if o.medians == nil {
		o.medians = slidingMedian(o.low.Density, fft.Whole(20/l.binHz(), 0, len(o.low.Density)))
	}
	return o.medians
}

// observe reads the capture once. Averages of each channel leave out what without
// says, one a channel; nil leaves out nothing.
func observe(ctx context.Context, src capture.Source, l layout, without []leftOut, opt Options) ([]observation, error) {
	opt = opt.filled()
	channels := src.Channels()
	if without == nil {
		without = make([]leftOut, channels)
	}
	obs := make([]observation, channels)
	samples := health.NewMeters(channels, l.rate)
	full, low := make([]*fft.Welch, channels), make([]*fft.Welch, channels)
	k := newKernel(l)
	for c := range channels {
		full[c] = fft.NewWelch(l.rate, l.n, l.hop, l.window)
		low[c] = fft.NewWelch(l.lowRate, l.lowN, l.lowHop, l.window)
		full[c].LeaveOut(without[c].full)
		low[c].LeaveOut(without[c].low)
		obs[c].out, obs[c].burst = without[c].low, without[c].bursts
		obs[c].even, obs[c].kernel = newEvenness(l, obs[c].out), k
	}
	hold := l.holds(channels)
	var held *signal
	if !hold && l.holdsSignal(channels) {
		held = new(signal)
	}

	wide := fft.NewBlocksInto(full, l.engine)
	narrow := newNarrowband(l, channels, func(c int, bins []complex128) {
		low[c].Add(bins)
		left := obs[c].even.add(bins[:l.kept])
		centre(bins)
		if !left {
			obs[c].scan.add(k, bins[:l.kept])
		}
		if hold {
			obs[c].blocks = keep(obs[c].blocks, bins[:l.kept])
		}
	})
	err := capture.Each(ctx, src, opt.Progress, func(frames [][]float64) {
		opt.Frames(frames)
		wide.Push(frames)
		narrow.push(frames)
		if held != nil {
			held.push(narrow.frames)
		}
		samples.Add(frames)
	})
	if err != nil {
		return nil, err
	}
	wide.Flush()
	narrow.blocks.Flush()
	facts := samples.Facts()
	samples.Release()
	for c, facts := range facts {
		obs[c].health.Facts, obs[c].signal = facts, held
		obs[c].full, obs[c].low = full[c].Spectrum(), low[c].Spectrum()
		obs[c].leastNoise(l)
		obs[c].scan.done()
		obs[c].power, obs[c].phasor = l.averages(obs[c].scan.blocks, obs[c].out)
		share, _ := obs[c].even.worst()
		obs[c].full.Averages = max(1, obs[c].full.Averages*share)
	}
	return obs, nil
}

// roundingShare is the share of a spectrum's power, spread over it, below which nothing is
// told from what a transform rounds to, which is 10⁻³¹ of it: what stands ten times above
// that share is the same by any transform to 10⁻⁵.
const roundingShare = 1e-22

// leastNoise raises the noise to what can be told from rounding: a signal that repeats to
// the bit has none.
func (o *observation) leastNoise(l layout) {
	least := roundingShare * stat.Mean(o.full.Density, nil)
	for _, s := range []fft.Spectrum{o.full, o.low} {
		for j, x := range s.Density {
			s.Density[j] = max(x, least)
		}
	}
	line := l.window.Coeff[0] * float64(l.lowN)
	o.least = least * l.window.ENBW() * l.binHz() * line * line / 2
	o.even.leastNoise(float32(o.least))
}

// eachSegment hands over the low band's blocks, a segment at a time: those held, or
// transformed or read again where they were too many, of as many channels at a time as there
// is room for.
func eachSegment(ctx context.Context, src capture.Source, l layout, obs []observation, do func(channel int, blocks []block)) error {
	if l.holds(len(obs)) {
		for c := range obs {
			do(c, obs[c].blocks)
			giveBack(obs[c].blocks)
			obs[c].blocks = nil
		}
		return nil
	}
	for from, n := 0, l.together(len(obs)); from < len(obs); from += n {
		n = min(n, len(obs)-from)
		err := segments(n, l, func(c int, blocks []block) { do(from+c, blocks) }, func(narrow *narrowband) error {
			if held := obs[0].signal; held != nil {
				held.play(from, n, narrow.blocks.Push)
				return ctx.Err()
			}
			return capture.Each(ctx, capture.Part(src, from, n), nil, narrow.push)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// readSegments reads a source for its low band's blocks.
func readSegments(ctx context.Context, src capture.Source, l layout, do func(channel int, blocks []block)) error {
	return segments(src.Channels(), l, do, func(narrow *narrowband) error {
		return capture.Each(ctx, src, nil, narrow.push)
	})
}

// segments hands over the blocks of what feed pushes, a segment at a time.
func segments(channels int, l layout, do func(channel int, blocks []block), feed func(*narrowband) error) error {
	held, seen, segment := make([][]block, channels), make([]int, channels), make([]int, channels)
	narrow := newNarrowband(l, channels, func(c int, bins []complex128) {
		centre(bins)
		held[c] = keep(held[c], bins[:l.kept])
		seen[c]++
		if seen[c] == (segment[c]+1)*l.blocks/l.segments {
			segment[c]++
			do(c, held[c])
			held[c] = held[c][:0]
		}
	})
	if err := feed(narrow); err != nil {
		return err
	}
	narrow.blocks.Flush()
	for _, segment := range held {
		giveBack(segment[:cap(segment)])
	}
	return nil
}

// blocksLent are blocks of earlier captures.
var blocksLent lend.Pool[complex64]

func giveBack(segment []block) {
	for _, b := range segment {
		blocksLent.Give(b)
	}
}

// keep adds a block to a segment, in the room that one of an earlier segment left.
func keep(segment []block, bins []complex128) []block {
	n := len(segment)
	if n == cap(segment) {
		segment = append(segment, nil)
	}
	segment = segment[:n+1]
	if segment[n] == nil {
		segment[n] = blocksLent.Take(len(bins))
	}
	segment[n].store(bins)
	return segment
}

// narrowband decimates every channel and cuts the low band's blocks.
type narrowband struct {
	decimators []*fft.Decimator
	blocks     *fft.Blocks
	frames     [][]float64
}

func newNarrowband(l layout, channels int, emit func(channel int, bins []complex128)) *narrowband {
	n := &narrowband{frames: make([][]float64, channels)}
	for range channels {
		n.decimators = append(n.decimators, fft.NewDecimator(l.rate, l.edge, l.halvings))
	}
	n.blocks = fft.NewBlocks(l.engine, l.lowN, l.lowHop, channels, l.window, emit)
	return n
}

func (n *narrowband) push(frames [][]float64) {
	for c, x := range frames {
		n.frames[c] = n.decimators[c].Push(x)
	}
	n.blocks.Push(n.frames)
}
