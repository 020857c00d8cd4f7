// Package driven takes in a capture of two channels, one of which records what a known
// source plays, the other what a cable picks up of it, and gives out the complex ratio of
// the two at each of the source's tones, with what noise in both leaves open. It doesn't
// know what is driven, nor any voltage.
//
// The tones are found in the drive's own channel, so that the clock of the output may
// differ from the input's. A tone's phasor is that of one line of package mains: least
// squares over the bins of the window's main lobe, in blocks at three quarters' overlap,
// turned back by the drive's own phase, averaged over spans. Its noise is the median of
// what the same estimate gives at frequencies beside it that hold neither tones nor mains
// lines.
//
// Samples that are whole steps are no linear record of a tone unless noise spreads them:
// Gaussian noise of σ leaves a staircase of (step/π)·exp(−2π²(σ/step)²) about the truth
// (Widrow and Kollár, Quantization Noise, from memory). By that much, and alike in all
// tones, a ratio may be off.
package driven

import (
	"context"
	"errors"
	"math"
	"math/cmplx"
	"slices"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/transfer"
)

const (
	binHz     = 0.75 // a block's bins are no wider
	overlap   = 4    // hops in a block
	spanS     = 10.0 // length of a span, seconds
	leastTone = 1e-4 // power of a tone over that of the strongest: distortion lies below
	leastSNR  = 1e4  // of the drive's tone in a block over its noise: 40 dB
	mainsHz   = 4.0  // a tone as near to a mains line isn't used
	beside    = 6.0  // Hz: nor is a place for noise as near to one, or to a tone
	mostTones = 64
	fullScale = 0.99997 // a sample from there on is clipped
)

// Options are how to measure.
type Options struct {
	Engine   func(n int) fft.Engine // nil: the program's own
	Nominal  []float64              // Hz, of the tones as they were made; empty: not known
	Progress func(done, total int64)
}

// Tone is one of the drive's tones.
type Tone struct {
	Hz    float64        // by the recorder's clock
	Power float64        // in the drive's channel; 1 is 0 dBFS
	Ratio transfer.Ratio // of the cable's channel to the drive's
	U     float64        // standard uncertainty of either component of Ratio's value
	Steps float64        // by how much the cable's converter steps may put them off
}

// Measurement is what a capture says.
type Measurement struct {
	Tones   []Tone
	PPM     float64 // by how much the output's clock runs faster than the input's; NaN: no tone is nominal
	U95PPM  float64
	Spans   int
	Clipped [2]int // samples of the drive and of the cable
}

// Measure reads a capture of two channels, the drive's first.
func Measure(ctx context.Context, src capture.Source, opt Options) (m Measurement, err error) {
	if src.Channels() != 2 {
		return m, errors.New("the drive and the cable have to be two channels of one file")
	}
	if opt.Engine == nil {
		opt.Engine = fft.NewEngine
	}
	l := layoutOf(float64(src.Rate()), src.Frames())
	if l.blocks < overlap*transfer.LeastSpans {
		return m, fault.New("record the tones for a minute", "it is too short: %.1f s", float64(src.Frames())/l.rate)
	}
	drive := fft.NewWelch(l.rate, l.n, l.hop, fft.Nuttall)
	first := fft.NewBlocks(opt.Engine, l.n, l.hop, 2, fft.Nuttall, func(c int, bins []complex128) {
		if c == 0 {
			drive.Add(bins)
		}
	})
	digits := int64(0)
	if err := capture.Each(ctx, src, opt.Progress, func(frames [][]float64) {
		for c, x := range frames {
			m.Clipped[c] += clipped(x)
		}
		for _, v := range frames[1] {
			digits |= int64(math.Abs(min(max(v, -1), 1)) * (1 << 40))
		}
		first.Push(frames)
	}); err != nil {
		return m, err
	}
	first.Flush()
	l.step = math.Ldexp(float64(digits&-digits), -40)
	hz := asMade(tonesIn(drive.Spectrum()), opt.Nominal)
	if len(hz) == 0 {
		return m, fault.New("say which channel records the drive, and check that it is connected", "the drive's channel holds no tone between mains lines")
	}
	meters := make([]meter, len(hz))
	for k, f := range hz {
		meters[k] = newMeter(l, f, hz)
	}
	second := fft.NewBlocks(opt.Engine, l.n, l.hop, 2, fft.Nuttall, func(c int, bins []complex128) {
		for k := range meters {
			meters[k].add(c, bins)
		}
	})
	if err := capture.Each(ctx, src, nil, second.Push); err != nil {
		return m, err
	}
	second.Flush()
	for k := range meters {
		if t, ok := meters[k].tone(); ok {
			m.Tones, m.Spans = append(m.Tones, t), t.Ratio.Spans
		}
	}
	m.PPM, m.U95PPM = clock(m.Tones, opt.Nominal)
	return m, nil
}

// layout is how a capture is cut up.
type layout struct {
	rate           float64
	n, hop, blocks int
	overlaps       []float64 // of the estimate's noise in blocks
	step           float64   // of the cable's samples
}

func layoutOf(rate float64, frames int64) layout {
	l := layout{rate: rate, n: 1}
	for float64(l.n) < rate/binHz {
		l.n *= 2
	}
	l.hop = l.n / overlap
	l.blocks = int((frames-int64(l.n))/int64(l.hop)) + 1
	_, l.overlaps = fft.Nuttall.Squared().Taper(l.n, l.hop)
	return l
}

func clipped(x []float64) (n int) {
	for _, v := range x {
		if math.Abs(v) >= fullScale {
			n++
		}
	}
	return n
}

// fromMains is how far a frequency is from the nearest multiple of 50 or 60 Hz.
func fromMains(hz float64) float64 {
	return min(math.Abs(hz-50*math.Round(hz/50)), math.Abs(hz-60*math.Round(hz/60)))
}

// tonesIn are the frequencies of a drive's tones, the strongest first where there are too
// many, by the peaks' logarithms: the main lobe is close to a Gaussian.
func tonesIn(s fft.Spectrum) (hz []float64) {
	d, width := s.Density, s.BinHz()
	top := 0.0
	for j := 4; j < len(d)-1; j++ {
		if fromMains(float64(j)*width) >= mainsHz {
			top = max(top, d[j])
		}
	}
	reach := fft.Nuttall.MainLobe()
	for j := reach + 1; j < len(d)-reach-1 && len(hz) < mostTones; j++ {
		if !(d[j] >= top*leastTone) || fromMains(float64(j)*width) < mainsHz || !highest(d, j, reach) {
			continue
		}
		a, b, c := math.Log(d[j-1]), math.Log(d[j]), math.Log(d[j+1])
		hz = append(hz, (float64(j)+0.5*(a-c)/(a-2*b+c))*width)
	}
	return hz
}

// sameTone says whether a tone is one as it was made: no clock is further off.
func sameTone(hz, nominal float64) bool { return math.Abs(hz/nominal-1) < 1e-3 }

// asMade leaves those tones that were made, where at least three of them were: what
// distortion adds falls on their grid, and was perhaps never at the cable.
func asMade(hz, nominal []float64) (made []float64) {
	for _, f := range hz {
		if slices.ContainsFunc(nominal, func(n float64) bool { return sameTone(f, n) }) {
			made = append(made, f)
		}
	}
	if len(made) < 3 {
		return hz
	}
	return made
}

// highest says that a bin is the highest of its main lobe, and stands 20 dB above what is
// beside that: where a source begins anew within the capture, its tones spread.
func highest(d []float64, j, reach int) bool {
	for i := j - reach; i <= j+reach; i++ {
		if d[i] > d[j] || d[i] == d[j] && i < j {
			return false
		}
	}
	return d[j] > 1e2*min(d[j-reach-1], d[j+reach+1])
}

// clock is by how many parts in a million tones lie above their nominal frequencies.
func clock(tones []Tone, nominal []float64) (ppm, u95 float64) {
	sum, weight, n := 0.0, 0.0, 0
	var offs []float64
	for _, t := range tones {
		for _, f := range nominal {
			if off := t.Hz/f - 1; sameTone(t.Hz, f) {
				offs = append(offs, off)
				sum, weight, n = sum+off*f*f, weight+f*f, n+1
			}
		}
	}
	if n == 0 {
		return math.NaN(), math.NaN()
	}
	mean, spread := sum/weight, 0.0
	for _, off := range offs {
		spread += (off - mean) * (off - mean)
	}
	return 1e6 * mean, 1e6 * 2 * math.Sqrt(spread/float64(n))
}

// power of a phasor, as package mains has it.
func power(a complex128) float64 { return 4 * (real(a)*real(a) + imag(a)*imag(a)) }

func unit(z complex128) complex128 {
	if size := cmplx.Abs(z); size > 0 {
		return z / complex(size, 0)
	}
	return 0
}
