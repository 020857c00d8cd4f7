package weighting

import (
	"fmt"
	"humdiff/fixtures/kit"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// Rates for which four, two and one samples are put where one was.
var recorderRates = []float64{44100, 96000, 192000}

// tone is amplitude·sin(2πft) for some seconds.
func tone(rate, hz, amplitude, seconds float64) []float64 {
	x := make([]float64, int(math.Round(seconds*rate)))
	for i := range x {
		x[i] = amplitude * math.Sin(2*math.Pi*math.Mod(hz*float64(i)/rate, 1))
	}
	return x
}

// steady is what a tone of amplitude 1 reads once the meter has settled, as an
// amplitude.
func steady(rate, hz float64) float64 {
	q := NewQuasiPeak(rate)
	q.Push(tone(rate, hz, 1, 1))
	q.Restart()
	q.Push(tone(rate, hz, 1, 0.05))
	return math.Sqrt(q.Highest())
}

// ITU-R BS.468-4's readings of single bursts of 5 kHz, per cent of a steady
// tone's, with the limits, by duration in milliseconds; all from memory of the
// Recommendation.
var singleBursts = []struct{ ms, reading, lower, upper float64 }{
	{1, 17.0, 13.5, 21.4}, {2, 26.6, 22.4, 31.6}, {5, 40, 34, 46}, {10, 48, 41, 55},
	{20, 52, 44, 60}, {50, 59, 50, 68}, {100, 68, 58, 78}, {200, 80, 68, 92},
}

// The same of 5 ms bursts of 5 kHz that repeat so often a second.
var repeatedBursts = []struct{ rate, reading, lower, upper float64 }{
	{2, 48, 43, 53}, {10, 77, 72, 82}, {100, 97, 94, 100},
}

// Bursts read within a fifth of the limits, on whichever side.
func TestBursts(t *testing.T) {
	kit.Unraced(t)
	for _, rate := range recorderRates {
		full := steady(rate, 5000)
		reads := func(what string, q *QuasiPeak, reading, lower, upper float64) {
			got := 100 * math.Sqrt(q.Highest()) / full
			t.Logf("%g Hz, %s: %.1f %%, prescribed %g", rate, what, got, reading)
			if !(got >= reading-0.2*(reading-lower) && got <= reading+0.2*(upper-reading)) {
				t.Errorf("%g Hz: %s read %.2f %%, want %g within %g to %g", rate, what, got, reading, lower, upper)
			}
		}
		for _, b := range singleBursts {
			q := NewQuasiPeak(rate)
			q.Push(tone(rate, 5000, 1, b.ms/1000))
			q.Push(make([]float64, int(0.3*rate))) // the second stage rises on after the burst
			reads(fmt.Sprintf("%g ms", b.ms), q, b.reading, b.lower, b.upper)
		}
		for _, b := range repeatedBursts {
			burst := append(tone(rate, 5000, 1, 0.005), make([]float64, int(math.Round(rate/b.rate-0.005*rate)))...)
			q := NewQuasiPeak(rate)
			for range int(1.5 * b.rate) {
				q.Push(burst)
			}
			q.Restart()
			for range int(max(1, 0.3*b.rate)) {
				q.Push(burst)
			}
			reads(fmt.Sprintf("%g bursts a second", b.rate), q, b.reading, b.lower, b.upper)
		}
	}
}

// Steady tones read as the curve weights them. Sampled at the detector's rate a
// tone can hide its peak by up to 1 − cos(π·f/rate); what the detector loses
// between peaks stays below 0.05 dB. At 44.1 kHz a little of 20 kHz comes
// through the interpolation at 24.1 kHz too.
func TestTonesReadAsWeighted(t *testing.T) {
	kit.Unraced(t)
	for _, rate := range recorderRates {
		for _, hz := range []float64{31.5, 100, 1000, 3150, 6300, 8000, 12500, 16000, 20000} {
			got := 20*math.Log10(steady(rate, hz)) - (db468(hz) - db468(1000))
			t.Logf("%g Hz, tone of %g Hz: %+.3f dB", rate, hz, got)
			hidden := -20 * math.Log10(math.Cos(math.Pi*hz/detectorRate))
			if !(got > -hidden-0.05 && got < 0.1) {
				t.Errorf("%g Hz: a tone of %g Hz reads %+.3f dB beside the curve", rate, hz, got)
			}
		}
	}
}

// A full-scale sine at 1 kHz is 0 dB, and the meter is linear: half the
// amplitude reads half, as does the reverse polarity.
func TestQuasiPeakScale(t *testing.T) {
	read := func(amplitude float64) float64 {
		q := NewQuasiPeak(48000)
		q.Push(tone(48000, 1000, amplitude, 3))
		return q.Power()
	}
	kit.Near(t, "full scale, dB", 10*math.Log10(read(1)), 0, 0.005)
	kit.Near(t, "half over full", read(0.5)/read(1), 0.25, 1e-12)
	kit.Near(t, "reversed over not", read(-1)/read(1), 1, 1e-12)
	kit.Same(t, read(0), 0, "silence")
}

func TestQuasiPeakInPieces(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	x := make([]float64, 20000)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	whole, pieces := NewQuasiPeak(48000), NewQuasiPeak(48000)
	whole.Push(x)
	for left := x; len(left) > 0; {
		n := min(len(left), r.IntN(700))
		pieces.Push(left[:n])
		left = left[n:]
	}
	if whole.Power() != pieces.Power() || whole.Highest() != pieces.Highest() {
		t.Errorf("in pieces %g, highest %g; whole %g, %g", pieces.Power(), pieces.Highest(), whole.Power(), whole.Highest())
	}
}

// Noise reads higher than its weighted mean square: by some 4 to 5 dB (common
// practice, no source).
func TestQuasiPeakOfNoise(t *testing.T) {
	const rate = 48000.0
	r := rand.New(rand.NewPCG(3, 4))
	x := make([]float64, 8*int(rate))
	for i := range x {
		x[i] = r.NormFloat64()
	}
	q := NewQuasiPeak(rate)
	mean, n := 0.0, 0
	for at := 0; at < len(x); at += 480 {
		q.Push(x[at : at+480])
		if at > 2*int(rate) {
			mean += math.Sqrt(q.Power())
			n++
		}
	}
	// Variance 1 over half the rate is a density of 4/R beside a full-scale sine.
	rms := 0.0
	for hz := 0.5; hz < rate/2; hz++ {
		rms += 4 / rate * model468(hz)
	}
	over := 20*math.Log10(mean/float64(n)) - 10*math.Log10(rms)
	t.Logf("white noise reads %.2f dB above its weighted rms", over)
	if over < 3.5 || over > 5.5 {
		t.Errorf("white noise reads %.2f dB above its weighted rms", over)
	}
}

// The poles are the roots of the model's denominator, h1 + j·h2 at f = p/j, and
// the filter's response is the model's to 0.01 dB up to 20 kHz.
func TestFilter468(t *testing.T) {
	for _, p := range poles468 {
		f := p / 1i
		f2 := f * f
		h1 := ((-4.737338981378384e-24*f2+2.043828333606125e-15)*f2-1.363894795463638e-7)*f2 + 1
		h2 := ((1.306612257412824e-19*f2-2.118150887518656e-11)*f2 + 5.559488023498642e-4) * f
		if d := cmplx.Abs(h1 + 1i*h2); d > 1e-9 {
			t.Errorf("the denominator at %v is %g, want 0", p, d)
		}
	}
	for _, rate := range []float64{176400, 192000, 352800} {
		f := newFilter468(rate)
		reference := f.amplitude(1000 / rate)
		for hz := 20.0; hz < 20001; hz *= 1.1 {
			got := 20 * math.Log10(f.amplitude(hz/rate)/reference)
			kit.Near(t, fmt.Sprintf("filter at %g of %g Hz, dB", hz, rate), got, db468(hz)-db468(1000), 0.01)
		}
	}
}

func BenchmarkQuasiPeak(b *testing.B) {
	q, x := NewQuasiPeak(48000), tone(48000, 1000, 1, 1)
	b.SetBytes(int64(8 * len(x)))
	for b.Loop() {
		q.Push(x)
	}
}
