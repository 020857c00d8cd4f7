package mains

import (
	"fmt"
	"iter"
	"math"

	"humdiff/fft"
)

const (
	// longestBin is the coarsest spacing of bins where the capture is long enough.
	longestBin = 0.75 // Hz
	// shortest capture that can be measured at all.
	shortest = 1.5 // s
	// segmentSeconds is how much of the low band is held at once, at most; a
	// longer capture is read again, in segments of equal length.
	segmentSeconds = 90.0
	// heldBytes is how much a capture may hold, the whole band's buffers and the
	// low band's blocks together: 62 s of two channels at 48 kHz. Of one segment that
	// needs more, as 60 s of two channels at 96 kHz do, the low band's samples are held
	// and transformed again.
	heldBytes = 25_000_000
	// againBytes is how much is held of a segment that is transformed again, its samples with
	// one channel's blocks; where that doesn't do the capture is read again. Where it doesn't do
	// for the blocks of all channels, each time is for some of them.
	againBytes = 17_000_000
	// spanSeconds is about how long a line is averaged coherently.
	spanSeconds = 10.0
)

// layout is how a capture is cut into blocks. It follows from rate, length and
// options alone.
type layout struct {
	window      fft.Window
	engine      func(n int) fft.Engine
	seconds     float64
	rate        float64
	n, hop      int // whole band
	wholeBlocks int

	halvings     int
	edge         float64 // Hz; the low band is clean up to here
	lowRate      float64
	lowN, lowHop int
	blocks       int     // of the low band
	segments     int     // that the blocks are cut into
	mayHold      int     // bytes, see heldBytes; none at all: 0
	mayAgain     int     // bytes, see againBytes
	kept         int     // bins kept of a block
	wanted       float64 // Hz; highest line asked for
	upTo         float64 // Hz; highest line that fits

	// A line's phasor amounts to a tapered transform; these belong to its taper,
	// the window squared.
	taper      fft.Window
	overlaps   []float64 // noise shared by blocks so many hops apart
	wanderLoss float64   // dB that a walk of the mains within blocks takes off a line, per h²·q (see walkLoss)
	lineENBW   float64   // Hz; noise in a block's line estimate is density × this
}

func newLayout(rate int, frames int64, o Options) (layout, error) {
	l := layout{window: o.Window, engine: o.Engine, rate: float64(rate), seconds: float64(frames) / float64(rate), mayHold: heldBytes, mayAgain: againBytes}
	if l.seconds < shortest {
		return l, fmt.Errorf("%.2g s long, too short to measure: record at least 10 s", l.seconds)
	}
	l.n = blockLength(l.rate, frames, 2)
	l.hop, l.wholeBlocks = fft.FitHop(frames, l.n, l.n/2)

	l.edge = min(o.UpTo*1.02+40, l.rate/2)
	l.halvings = fft.Halvings(l.rate, l.edge)
	l.lowRate = l.rate / math.Exp2(float64(l.halvings))
	lowFrames := fft.NewDecimator(l.rate, l.edge, l.halvings).Frames(frames)
	l.lowN = blockLength(l.lowRate, lowFrames, 3)
	step := l.lowN / 4
	if o.Window.ENBW() > 3 {
		step = l.lowN / 8 // a flat-top's square is so short that the gaps would cost 0.4 dB
	}
	l.lowHop, l.blocks = fft.FitHop(lowFrames, l.lowN, step)
	l.segments = fft.Whole(math.Ceil(l.seconds/segmentSeconds), 1, math.MaxInt32)
	l.kept = fft.Whole(l.edge/l.binHz(), 0, l.lowN/2) + 1
	l.wanted = o.UpTo
	l.upTo = min(o.UpTo, l.lowRate/2-float64(o.Window.MainLobe()+1)*l.binHz())

	const fine = 4096
	l.taper = o.Window.Squared() // see kernel
	hop := fft.Whole(math.Round(fine*float64(l.lowHop)/float64(l.lowN)), 0, fine)
	_, l.overlaps = l.taper.Taper(fine, hop)
	block := float64(l.lowN) / l.lowRate
	l.wanderLoss = walkLoss(l.taper, l.overlaps[1]) * block * block * block
	l.lineENBW = l.taper.ENBW() * l.binHz()
	return l, nil
}

// blockLength is the shortest power of two whose bins are fine enough, or the
// longest of which the capture still holds `times`.
func blockLength(rate float64, frames int64, times int64) int {
	n := 1
	for rate/float64(n) > longestBin {
		n *= 2
	}
	for n > 16 && int64(n)*times > frames {
		n /= 2
	}
	return n
}

// holds says whether the low band's blocks are kept from the first pass, in
// which the whole band's buffers are in use too.
func (l layout) holds(channels int) bool {
	blocks := channels * l.segmentBytes()
	// A block of complex numbers; of each channel the samples of a block, and half as
	// many bins five times: sums, sums in order, spectrum, and what is worked out of it.
	whole := l.n * (16 + 28*channels)
	return l.segments == 1 && blocks+whole <= l.mayHold
}

// holdsSignal says whether the low band's samples are kept from the first pass instead.
func (l layout) holdsSignal(channels int) bool {
	samples := 4 * channels * fft.Whole(l.seconds*l.lowRate, 0, math.MaxInt32)
	return l.segments == 1 && samples+l.segmentBytes() <= l.mayAgain
}

// segmentBytes is what the blocks of a segment take, of one channel.
func (l layout) segmentBytes() int {
	return 8 * l.kept * ((l.blocks + l.segments - 1) / l.segments)
}

// together is how many of so many channels are read again at a time.
func (l layout) together(channels int) int {
	return max(1, min(channels, l.mayAgain/l.segmentBytes()))
}

// binHz is the spacing of the low band's bins.
func (l layout) binHz() float64 { return l.lowRate / float64(l.lowN) }

// apart is how many blocks on the next one begins that hardly overlaps.
func (l layout) apart() int {
	return fft.Whole(math.Round(float64(l.lowN)/float64(l.lowHop)), 0, l.lowN)
}

// hopSeconds is the time between the low band's blocks.
func (l layout) hopSeconds() float64 { return float64(l.lowHop) / l.lowRate }

// blockCentre is the time from the capture's start to the centre of the low band's
// block b.
func (l layout) blockCentre(b int) float64 {
	return (l.seconds-float64(l.blocks-1)*l.hopSeconds())/2 + float64(b)*l.hopSeconds()
}

// harmonics is how many lines of the mains are measured: as many as the
// nominal frequency has up to the highest wanted, so that a few millihertz
// don't decide, if the band that was kept holds them at f0.
func (l layout) harmonics(nominal, f0 float64) int {
	n := fft.Whole(l.wanted/nominal+1e-9, 0, l.lowN)
	fit := min(l.edge, l.lowRate/2) - float64(l.window.MainLobe()+1)*l.binHz()
	return min(n, fft.Whole(fit/f0, 0, l.lowN))
}

// averages are the effective numbers of k successive blocks, for means of powers and of
// phasors, without those left out.
func (l layout) averages(k int, out []bool) (power, phasor float64) {
	return fft.Averages(l.overlaps, k, out)
}

// spans cuts n blocks into spans of about spanSeconds, so many at the least: each is from
// one block to before another.
func (l layout) spans(n, least int) iter.Seq2[int, int] {
	spans := max(least, fft.Whole(math.Round(float64(n)*l.hopSeconds()/spanSeconds), 1, max(1, n)))
	return func(yield func(from, to int) bool) {
		for s := range spans {
			if !yield(s*n/spans, (s+1)*n/spans) {
				return
			}
		}
	}
}

// powerAverages and phasorAverages are those of blocks of which none is.
func (l layout) powerAverages(k int) float64 {
	power, _ := l.averages(k, nil)
	return power
}

func (l layout) phasorAverages(k int) float64 {
	_, phasor := l.averages(k, nil)
	return phasor
}
