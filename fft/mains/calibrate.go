package mains

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/stat/distuv"

	"humdiff/fft"
	"humdiff/fft/capture"
)

// ToneReading is what a capture of one tone says, for calibration.
type ToneReading struct {
	Hz      float64 // by the recorder's clock
	Level           // of the tone, noise taken off
	Others  float64 // power of all else but a constant, over the tone's: a voltmeter reads that as well
	Second  Tone    // the strongest other tone; a power of 0 where there is none
	Clipped int     // samples
	Loss    float64 // dB that clipping takes off a steady tone of which so many samples are clipped
	Scatter float64 // dB, standard deviation of the level from block to block, noise taken off
	Blocks  int     // of the capture that don't overlap, which Scatter is from
	Partial float64 // dB by which the mean lies off the level that the tone has most of the time
	From    float64 // s from the capture's start: where the tone begins to hold that level
	To      float64 // s: where it ceases to
}

const (
	// toneShare is how far from the frequency given a tone may lie: clocks and
	// dials differ by less.
	toneShare = 0.02
	// toneHolds is how far a block may lie off the tone's usual level and still
	// be the tone.
	toneHolds = 0.1 // dB
	// toneDrift is how far a tone is followed from where it was found: an
	// analogue generator drifts by some hertz.
	toneDrift = 4.0 // Hz
	// toneChance is how many of its standard deviations noise may move something by.
	toneChance = 3.0
)

// MeasureTone measures the tone of a one-channel capture by the line method:
// the one nearest to hz in level and place, or where hz is 0 the strongest. Its
// frequency may drift. It returns an error where there is none.
//
// Of the options only the engine and the window count.
func MeasureTone(ctx context.Context, src capture.Source, hz float64, opt Options) (ToneReading, error) {
	if n := src.Channels(); n != 1 {
		return ToneReading{}, fmt.Errorf("it has %d channels: say which holds the tone, for example #ch=1", n)
	}
	opt = Options{Engine: opt.Engine, Window: opt.Window}.filled()
	l, err := newLayout(src.Rate(), src.Frames(), opt)
	if err != nil {
		return ToneReading{}, err
	}
	obs, err := observe(ctx, src, l, nil, Options{})
	if err != nil {
		return ToneReading{}, err
	}
	o := &obs[0]
	tone, second, err := pickTone(findPeaks(o.full, l.window, 0, 0), hz)
	if err != nil {
		return ToneReading{}, err
	}
	t, err := followTone(ctx, src, tone.hz, opt)
	if err != nil {
		return ToneReading{}, err
	}
	r := t.reading(o.full)
	r.Others = others(o.full, l.window, tone.hz) / r.Power
	r.Second = Tone{Hz: second.hz, Power: second.power}
	r.Clipped = o.health.Clipped
	r.Loss = clippingLoss(float64(o.health.Clipped) / float64(src.Frames()))
	return r, nil
}

// pickTone is the strongest tone, or the strongest near hz, and the strongest
// of the others.
func pickTone(peaks []peak, hz float64) (tone, second peak, err error) {
	for _, p := range peaks {
		meant := hz == 0 || math.Abs(p.hz-hz) <= max(toneShare*hz, 1)
		if meant && p.power > tone.power {
			tone = p
		}
	}
	if tone.power == 0 && hz > 0 {
		return tone, second, fmt.Errorf("no tone was found in it at %g Hz", hz)
	}
	if tone.power == 0 {
		return tone, second, errors.New("no tone was found in it")
	}
	for _, p := range peaks {
		if p != tone && p.power > second.power {
			second = p
		}
	}
	return tone, second, nil
}

// others is the power of what a spectrum holds besides a tone and a constant.
func others(s fft.Spectrum, w fft.Window, hz float64) (power float64) {
	lobe := float64(w.MainLobe()) + 0.5
	for j, p := range s.Density {
		if float64(j) > lobe && math.Abs(float64(j)-hz/s.BinHz()) > lobe {
			power += p * s.BinHz()
		}
	}
	return power
}

// clippingLoss is by how many dB a sine reads low of which a share of the
// samples is cut off at one level: what is left of its fundamental is
// 2/π·(θ + sin θ·cos θ), where the sine reaches the level at θ = π/2·(1 − share)
// (Fourier's integral of a sine cut off at sin θ).
func clippingLoss(share float64) float64 {
	theta := math.Pi / 2 * (1 - min(share, 1))
	return max(0, -20*math.Log10(max(2/math.Pi*(theta+math.Sin(theta)*math.Cos(theta)), 1e-6)))
}

// toneBlocks is the low band's blocks as far as one tone's main lobe reaches.
type toneBlocks struct {
	l      layout
	k      kernel
	near   float64 // Hz, where the tone was found
	from   float64 // Hz, of the first bin kept
	blocks []block
	hz     []float64 // the tone's, in each block
	power  []float64
}

// followTone reads a capture for the tone near hz.
func followTone(ctx context.Context, src capture.Source, hz float64, opt Options) (*toneBlocks, error) {
	opt.UpTo = hz + 100
	l, err := newLayout(src.Rate(), src.Frames(), opt)
	if err != nil {
		return nil, err
	}
	t := &toneBlocks{l: l, k: newKernel(l), near: hz}
	half := 2*t.k.reach() + fft.Whole(2*toneDrift/l.binHz(), 0, l.lowN)
	first := max(0, fft.Whole(hz/l.binHz(), 0, l.lowN)-half)
	t.from = float64(first) * l.binHz()
	narrow := newNarrowband(l, 1, func(_ int, bins []complex128) {
		centre(bins)
		b := make(block, min(2*half, len(bins)-first))
		b.store(bins[first:])
		t.blocks = append(t.blocks, b)
	})
	if err := capture.Each(ctx, src, nil, narrow.push); err != nil {
		return nil, err
	}
	narrow.blocks.Flush()
	t.hz = make([]float64, len(t.blocks))
	for b := range t.hz {
		t.hz[b] = t.top(t.blocks[b])
	}
	for range 3 { // each time what is left of the frequency's error is some hundred times less
		t.improve()
	}
	t.power = make([]float64, len(t.blocks))
	for b, a := range t.phasors() {
		t.power[b] = power(a)
	}
	return t, nil
}

// top is the frequency of a block's largest bin within the tone's drift.
func (t *toneBlocks) top(b block) (hz float64) {
	most := -1.0
	for j, x := range b {
		at := t.from + float64(j)*t.l.binHz()
		size := cmplx.Abs(complex128(x))
		if size > most && math.Abs(at-t.near) <= max(toneDrift, t.l.binHz()) {
			most, hz = size, at
		}
	}
	return hz
}

func (t *toneBlocks) phasors() []complex128 {
	z := make([]complex128, len(t.blocks))
	for b, bins := range t.blocks {
		z[b] = t.k.phasor(bins, t.hz[b]-t.from)
	}
	return z
}

// improve reads the tone's frequency in each block from the advance of its
// phase to the blocks beside it.
func (t *toneBlocks) improve() {
	z, hop := t.phasors(), t.l.hopSeconds()
	between := make([]float64, max(len(z)-1, 0))
	for b := range between {
		mean := (t.hz[b] + t.hz[b+1]) / 2
		ahead := cmplx.Phase(z[b+1]) - cmplx.Phase(z[b]) - 2*math.Pi*mean*hop
		between[b] = mean + math.Remainder(ahead, 2*math.Pi)/(2*math.Pi*hop)
	}
	for b := range t.hz {
		lo, hi := max(b-1, 0), min(b, len(between)-1)
		if lo > hi {
			continue // one block
		}
		hz := (between[lo] + between[hi]) / 2
		if math.Abs(hz-t.near) < 2*toneDrift { // else there is no tone here that would say
			t.hz[b] = hz
		}
	}
}

// reading judges the tone's blocks against the noise of the whole spectrum.
func (t *toneBlocks) reading(s fft.Spectrum) ToneReading {
	var mean sums
	hz := 0.0
	for b, p := range t.power {
		mean.add(p)
		hz += t.hz[b] / float64(len(t.hz))
	}
	noise := localFloor(s, t.l.window.MainLobe())[fft.Whole(math.Round(hz/s.BinHz()), 0, len(s.Density)-1)] * t.l.lineENBW
	n := len(t.power)
	level := reading{
		mean: mean.mean, noise: noise, floor: noise, looks: 1,
		central: t.l.powerAverages(n), coherent: t.l.phasorAverages(n),
		floorDOF: 2 * s.Averages * toneWindow / neighbours / (math.Pi / 2),
	}
	r := ToneReading{Hz: hz, Level: level.detected()}
	usual := medianOf(t.power)
	// A line of power a in noise n scatters by 10/ln 10·√(2n/a) dB.
	own := 10 / math.Ln10 * math.Sqrt(2*noise/usual)
	// Of normal values a mean and a median lie √((π/2 − 1)/n) deviations apart.
	r.Partial = outside(10*math.Log10(mean.mean/usual), toneChance*own*math.Sqrt((math.Pi/2-1)/level.coherent))
	r.From, r.To = t.holds(usual, toneHolds+toneChance*own)
	r.Scatter, r.Blocks = t.scatter(usual, own)
	return r
}

// outside is a difference, or 0 where chance makes as large a one.
func outside(db, chance float64) float64 {
	if math.Abs(db) <= chance {
		return 0
	}
	return db
}

// holds is the longest time in which the tone keeps within so many dB of its usual
// level, from the capture's start; the whole capture where it always does.
func (t *toneBlocks) holds(usual, within float64) (from, to float64) {
	first, last, start := 0, -1, 0
	for b, p := range t.power {
		if math.Abs(10*math.Log10(p/usual)) > within {
			start = b + 1
		} else if b-start > last-first {
			first, last = start, b
		}
	}
	block, hop := float64(t.l.lowN)/t.l.lowRate, t.l.hopSeconds()
	// Inner ends lie at a block's centre: its outer half hardly weighs.
	to = t.l.seconds
	if first > 0 {
		from = float64(first)*hop + block/2
	}
	if last < len(t.power)-1 {
		to = float64(last)*hop + block/2
	}
	return from, to
}

// scatter is the standard deviation in dB of the blocks in which there is the
// tone at all, the noise's own taken off; 0 where one capture in a hundred scatters as
// much by noise alone.
func (t *toneBlocks) scatter(usual, own float64) (db float64, n int) {
	var of sums
	for b := 0; b < len(t.power); b += t.l.apart() {
		if t.power[b] > usual/10 {
			of.add(10 * math.Log10(t.power[b]))
		}
	}
	if of.n < 2 {
		return 0, of.n
	}
	if chance := (distuv.ChiSquared{K: float64(of.n - 1)}).Quantile(0.99); of.m2 <= chance*own*own {
		return 0, of.n
	}
	return math.Sqrt(of.m2/float64(of.n-1) - own*own), of.n
}
