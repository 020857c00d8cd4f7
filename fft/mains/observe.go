package mains

import (
	"context"
	"math"

	"gonum.org/v1/gonum/stat"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fft/health"
	"humdiff/fft/lend"
)

// observation is what one pass over a channel yields, before any mains is known.
type observation struct {
	l      layout
	full   fft.Spectrum // whole band
	middle float64      // median of its density
	low    fft.Spectrum // low band, at closer overlap
	rough  []float64    // about how dense noise is in the low band, bin by bin: by the median of the bins within 20 Hz
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

	wide, narrow *fft.Welch // the averages while they are made
}

func newObservation(l layout, without leftOut) observation {
	o := observation{
		l: l, kernel: newKernel(l), even: newEvenness(l, without.low), out: without.low, burst: without.bursts,
		wide: fft.NewWelch(l.rate, l.n, l.hop, l.window), narrow: fft.NewWelch(l.lowRate, l.lowN, l.lowHop, l.window),
	}
	o.wide.LeaveOut(without.full)
	o.narrow.LeaveOut(without.low)
	return o
}

// noise is the power of white noise of the whole band's middle density.
func (o *observation) noise() float64 {
	return o.middle / medianBias(o.full.Averages) * o.l.rate / 2
}

// blockNoise is about what noise reads in a block at hz.
func (o *observation) blockNoise(hz float64) float64 {
	return o.rough[fft.Whole(math.Round(hz/o.l.binHz()), 0, len(o.rough)-1)] * o.l.lineENBW
}

// add takes in the bins of a block of the low band, and counts their phases from its centre.
func (o *observation) add(bins []complex128) {
	o.narrow.Add(bins)
	left := o.even.add(bins[:o.l.kept])
	centre(bins)
	if !left {
		o.scan.add(o.kernel, bins[:o.l.kept])
	}
}

// done ends the averages.
func (o *observation) done() {
	o.full, o.low = o.wide.Spectrum(), o.narrow.Spectrum()
	o.wide, o.narrow = nil, nil
	o.leastNoise()
	o.middle = medianOf(o.full.Density)
	o.scan.done()
	o.power, o.phasor = o.l.averages(o.even.blocks, o.out) // of all, those left out too
	share, _ := o.even.worst()
	o.full.Averages = max(1, o.full.Averages*share)
	o.rough = slidingMedian(o.low.Density, fft.Whole(20/o.l.binHz(), 0, len(o.low.Density)))
	bias := medianBias(o.low.Averages)
	for j := range o.rough {
		o.rough[j] /= bias
	}
}

// observe reads the capture once. Averages of each channel leave out what without
// says, one a channel; nil leaves out nothing.
func observe(ctx context.Context, src capture.Source, l layout, without []leftOut, opt Options) ([]observation, error) {
	opt = opt.filled()
	channels := src.Channels()
	if without == nil {
		without = make([]leftOut, channels)
	}
	obs, full := make([]observation, channels), make([]*fft.Welch, channels)
	for c := range obs {
		obs[c] = newObservation(l, without[c])
		full[c] = obs[c].wide
	}
	hold := l.holds(channels)
	var held *signal
	if !hold && l.holdsSignal(channels) {
		held = new(signal)
	}
	samples := health.NewMeters(channels, l.rate)
	wide := fft.NewBlocksInto(full, l.engine)
	narrow := newNarrowband(l, channels, func(c int, bins []complex128) {
		obs[c].add(bins)
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
	for c, facts := range samples.Facts() {
		obs[c].health.Facts, obs[c].signal = facts, held
		obs[c].done()
	}
	samples.Release()
	return obs, nil
}

// roundingShare is the share of a spectrum's power, spread over it, below which nothing is
// told from what a transform rounds to, which is 10⁻³¹ of it: what stands ten times above
// that share is the same by any transform to 10⁻⁵.
const roundingShare = 1e-22

// leastNoise raises the noise to what can be told from rounding: a signal that repeats to
// the bit has none.
func (o *observation) leastNoise() {
	least := roundingShare * stat.Mean(o.full.Density, nil)
	for _, s := range []fft.Spectrum{o.full, o.low} {
		for j, x := range s.Density {
			s.Density[j] = max(x, least)
		}
	}
	line := o.l.window.Coeff[0] * float64(o.l.lowN)
	o.least = least * o.l.window.ENBW() * o.l.binHz() * line * line / 2
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
