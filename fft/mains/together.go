package mains

import (
	"context"
	"math"
	"math/cmplx"
	"slices"

	"humdiff/fft"
	"humdiff/fft/capture"
)

// Together is the lines' phasors of several channels of a capture, turned back by one
// clock, the first channel's track: between channels they can be compared in phase.
type Together struct {
	Seconds []float64 // from the capture's start: the centres of the spans
	Weights []float64 // of spans: noise in a span's phasor is that below over this
	Of      []TogetherChannel
}

// TogetherChannel is one channel of a Together.
type TogetherChannel struct {
	Phasors [][]complex128 // by harmonic − 1 and span; a squared modulus is a power, 1 at 0 dBFS
	Noise   []float64      // by harmonic − 1
	Common  []complex128   // by harmonic − 1: mean of this channel's noise times the first's conjugate; 0: none shows
}

// leastTogether is how many spans a capture is cut into, at the least; each holds at
// least togetherBlocks blocks.
const (
	leastTogether  = 6
	togetherBlocks = 8
)

// MeasureTogether reads a capture again. of are its channels' measurements, with the same
// options. Without a track of the first channel there are no spans; segments in which it
// can't be followed have none.
func MeasureTogether(ctx context.Context, src capture.Source, of []Measurement, opt Options) (Together, error) {
	opt = opt.filled()
	l, err := newLayout(src.Rate(), src.Frames(), opt)
	if err != nil || !of[0].Mains.Detected {
		return Together{}, err
	}
	lines := len(of[0].Lines)
	for _, m := range of {
		lines = min(lines, len(m.Lines))
	}
	t := together{l: l, k: newKernel(l), of: of, shared: make([]sharing, lines), out: togetherOut(of)}
	t.Of = make([]TogetherChannel, len(of))
	for c := range t.Of {
		t.Of[c] = TogetherChannel{Phasors: make([][]complex128, lines), Noise: make([]float64, lines), Common: make([]complex128, lines)}
		for h := range lines {
			t.Of[c].Noise[h] = of[c].Lines[h].Floor * l.lineENBW
			t.shared[h].cross = make([]complex128, len(of))
		}
	}
	held := make([][]block, len(of))
	err = segments(len(of), l, func(c int, blocks []block) {
		if held[c] = blocks; c == len(of)-1 { // all channels have delivered
			t.add(held)
		}
	}, func(narrow *narrowband) error { return capture.Each(ctx, src, nil, narrow.push) })
	t.common()
	return t.Together, err
}

// togetherOut is what blocks any channel leaves out.
func togetherOut(of []Measurement) (out []bool) {
	for _, m := range of {
		for b, left := range m.out {
			if out == nil {
				out = make([]bool, len(m.out))
			}
			out[b] = out[b] || left
		}
	}
	return out
}

// together gathers a Together.
type together struct {
	Together
	l      layout
	k      kernel
	of     []Measurement
	out    []bool
	seen   int       // blocks
	shared []sharing // by harmonic − 1
}

// sharing is the noise beside a line.
type sharing struct {
	n     float64
	cross []complex128 // by channel
}

// add takes in a segment's blocks, by channel.
func (t *together) add(blocks [][]block) {
	first, n := t.seen, len(blocks[0])
	t.seen += n
	f := follower{l: t.l, k: t.k, blocks: blocks[0], noise: t.blockNoise, aside: t.aside()}
	if t.out != nil {
		f.out = t.out[first:t.seen]
	}
	track, ok := f.follow(t.of[0].Mains.Hz)
	if !ok {
		return
	}
	least := 1
	if t.l.segments == 1 { // shorter ones where a capture would have too few to show how they differ
		least = min(leastTogether, n/togetherBlocks)
	}
	for from, to := range t.l.spans(n, least) {
		var kept []int
		for b := from; b < to; b++ {
			if !f.skips(b) {
				kept = append(kept, b)
			}
		}
		if len(kept) < (to-from+1)/2 {
			continue
		}
		t.Seconds = append(t.Seconds, (t.l.blockCentre(first+from)+t.l.blockCentre(first+to-1))/2)
		t.Weights = append(t.Weights, t.l.phasorAverages(n)*float64(len(kept))/float64(n))
		for c := range blocks {
			for h := range t.Of[c].Phasors {
				t.Of[c].Phasors[h] = append(t.Of[c].Phasors[h], t.mean(blocks[c], track, kept, h+1))
			}
		}
		for h := range t.shared {
			t.share(blocks, track, kept, h+1)
		}
	}
}

// mean is a line's phasor in a span, from the blocks that are kept.
func (t *together) mean(blocks []block, track track, kept []int, h int) (mean complex128) {
	for _, b := range kept {
		a := t.k.phasor(blocks[b], float64(h)*track.hz[b])
		mean += a * cmplx.Rect(1, -float64(h)*track.phase[b])
	}
	return mean * complex(2/float64(len(kept)), 0)
}

// quarterAway is how far beside a line, in harmonics, its noise is looked at.
var quarterAway = [...]float64{-0.25, 0.25}

// loud is how far over the floor a place beside a line holds more than noise.
const loud = 12

// share looks at what noise the channels have in common beside harmonic h.
func (t *together) share(blocks [][]block, track track, kept []int, h int) {
	step := t.l.apart() / 2 // blocks half a length apart share next to no noise
	all := make([]complex128, len(blocks))
	for i := 0; i < len(kept); i += max(1, step) {
		b := kept[i]
		for _, beside := range quarterAway {
			quiet := true
			for c := range blocks {
				all[c] = 2 * t.k.phasor(blocks[c][b], (float64(h)+beside)*track.hz[b])
				quiet = quiet && power(all[c]/2) < loud*t.Of[c].Noise[h-1]
			}
			if !quiet {
				continue
			}
			t.shared[h-1].n++
			for c, a := range all {
				t.shared[h-1].cross[c] += a * cmplx.Conj(all[0])
			}
		}
	}
}

// common keeps what noise is shared beyond chance, at 1 %. It is the same far beside a
// line, so neighbours' are taken together.
func (t *together) common() {
	const neighbours = 2
	for h := range t.shared {
		from, to := max(0, h-neighbours), min(len(t.shared), h+neighbours+1)
		for c := 1; c < len(t.Of); c++ {
			n, cross := 0.0, complex(0, 0)
			for _, s := range t.shared[from:to] {
				n, cross = n+s.n, cross+s.cross[c]
			}
			cross /= complex(math.Max(n, 1), 0)
			both := t.Of[c].Noise[h] * t.Of[0].Noise[h]
			if share := square(cross) / both; share > 4.6/n && share < 0.9 {
				t.Of[c].Common[h] = cross
			}
		}
	}
}

func square(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// blockNoise is about what noise reads in the first channel's blocks at hz.
func (t *together) blockNoise(hz float64) float64 {
	noise := t.Of[0].Noise
	return noise[fft.Whole(math.Round(hz/t.of[0].Mains.Hz)-1, 0, len(noise)-1)]
}

// aside is where no line of the first channel can be followed.
func (t *together) aside() (hz []float64) {
	for _, tone := range t.of[0].Tones {
		hz = append(hz, tone.Hz)
	}
	for _, h := range t.of[0].LeftOut {
		hz = append(hz, float64(h)*t.of[0].Mains.Hz)
	}
	return slices.Clip(hz)
}
