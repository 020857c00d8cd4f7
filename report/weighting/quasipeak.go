package weighting

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/floats"

	"humdiff/fft"
)

// QuasiPeak reads a stream as the meter of ITU-R BS.468-4 does: weighted by its
// curve, rectified, and followed by a detector that rises within milliseconds
// and falls within tenths of a second, so that clicks and buzz count for more
// than their power. A steady sine reads its power, weighted.
//
// The Recommendation prescribes what the detector reads from tone bursts, not
// what it is made of. This one keeps within a fifth of all limits of the burst
// tables (taken from memory of the Recommendation), at every rate.
type QuasiPeak struct {
	oversampler *oversampler
	filter      filter468
	detector    detector
	gain        float64 // makes a full-scale sine at 1 kHz read 1
	highest     float64
}

// detectorRate is the least rate at which the detector works: tones up to 12 kHz
// then show their peaks within 0.2 dB, and the weighting's impulse response can
// be sampled as it is.
const detectorRate = 176400

// NewQuasiPeak reads samples at a rate in hertz. The curve ends at half the
// rate, which below 44.1 kHz cuts off what it is made for.
func NewQuasiPeak(rate float64) *QuasiPeak {
	factor := int(math.Max(1, math.Ceil(detectorRate/rate)))
	fine := rate * float64(factor)
	q := &QuasiPeak{oversampler: newOversampler(factor), filter: newFilter468(fine), detector: newDetector(fine)}
	q.gain = 1 / (q.filter.amplitude(1000/fine) * steadyReading(q.detector, 1000/fine))
	return q
}

// Push takes the next samples.
func (q *QuasiPeak) Push(x []float64) {
	for _, v := range x {
		for _, fine := range q.oversampler.push(v) {
			q.highest = max(q.highest, q.detector.push(math.Abs(q.filter.push(fine))))
		}
	}
}

// Power is the present reading, that of a sine at 1 kHz of the same power
// relative to a full-scale sine. The detector needs two seconds to settle.
func (q *QuasiPeak) Power() float64 { return q.power(q.detector.second) }

// Highest is the highest reading since the start or since Restart.
func (q *QuasiPeak) Highest() float64 { return q.power(q.highest) }

// Restart forgets the highest reading, not the present one.
func (q *QuasiPeak) Restart() { q.highest = q.detector.second }

func (q *QuasiPeak) power(reading float64) float64 { return q.gain * q.gain * reading * reading }

// detector is two stages in cascade, each charged while its input is higher and
// discharging all the time: the first rises fast and holds a peak, the second
// follows it slowly, as a pointer does.
type detector struct {
	first, second float64
	charge, leak  [2]float64 // shares per sample
}

// Time constants, fitted to the Recommendation's readings of single and repeated
// tone bursts by random search over a simulation of both stages.
var (
	chargeSeconds = [2]float64{0.00145, 0.640}
	leakSeconds   = [2]float64{0.290, 0.180}
)

func newDetector(rate float64) (d detector) {
	for i := range d.charge {
		d.charge[i] = -math.Expm1(-1 / (rate * chargeSeconds[i]))
		d.leak[i] = -math.Expm1(-1 / (rate * leakSeconds[i]))
	}
	return d
}

func (d *detector) push(x float64) float64 {
	d.first += d.charge[0]*max(0, x-d.first) - d.leak[0]*d.first
	d.second += d.charge[1]*max(0, d.first-d.second) - d.leak[1]*d.second
	return d.second
}

// steadyReading is what a detector settles at for a sine of amplitude 1 at so
// many cycles a sample.
func steadyReading(d detector, cycles float64) float64 {
	// From within a few hundredths of where it settles, eight time constants on.
	d.first, d.second = 1, d.charge[1]/(d.charge[1]+d.leak[1])
	for i := range int(8 / (d.charge[1] + d.leak[1])) {
		d.push(math.Abs(math.Sin(2 * math.Pi * math.Mod(cycles*float64(i), 1))))
	}
	return d.second
}

// filter468 weights samples by the impulse response of the Recommendation's
// network, one section a pole or pair of poles.
type filter468 struct{ sections [len(poles468)]section }

type section struct{ pole, residue, state complex128 }

// poles468 are the roots of the denominator of a rational model of the
// Recommendation's network (within 0.05 dB of its table), as a polynomial in j·f,
// hertz; of a pair the one above the real axis. Its numerator is proportional to j·f.
var poles468 = [...]complex128{
	-2983.1599378888463 + 9940.842645713396i,
	-3758.529163010519 + 5790.042336607785i,
	-9975.063123933,
	-4122.702066133,
}

// newFilter468 samples the network's impulse response at a rate so high that the
// response above half of it, −75 dB at 88 kHz beside the peak, folds back unheard.
func newFilter468(rate float64) (f filter468) {
	var all []complex128
	for _, p := range poles468 {
		all = append(all, p)
		if imag(p) != 0 {
			all = append(all, complex(real(p), -imag(p)))
		}
	}
	for i, p := range poles468 {
		residue := p
		for _, other := range all {
			if other != p {
				residue /= p - other
			}
		}
		if imag(p) != 0 {
			residue *= 2 // the other of the pair adds the conjugate
		}
		f.sections[i] = section{pole: cmplx.Exp(2 * math.Pi * p / complex(rate, 0)), residue: residue / complex(rate, 0)}
	}
	return f
}

func (f *filter468) push(x float64) (y float64) {
	for i := range f.sections {
		s := &f.sections[i]
		s.state = s.state*s.pole + complex(x, 0)*s.residue
		y += real(s.state)
	}
	return y
}

// amplitude is the filter's gain at so many cycles a sample.
func (f *filter468) amplitude(cycles float64) float64 {
	delay, sum := cmplx.Rect(1, -2*math.Pi*cycles), complex(0, 0)
	for _, s := range f.sections {
		sum += s.residue/(1-s.pole*delay) + cmplx.Conj(s.residue)/(1-cmplx.Conj(s.pole)*delay)
	}
	return cmplx.Abs(sum) / 2
}

// oversampler puts samples between samples, by a sinc under a Hann window.
type oversampler struct {
	taps [][]float64 // of each output, newest sample first
	past []float64   // newest sample first
	out  []float64
}

// oversamplerReach is over how many samples to either side it interpolates: at
// 44.1 kHz it is flat to 20 kHz.
const oversamplerReach = 22

func newOversampler(factor int) *oversampler {
	o := &oversampler{taps: make([][]float64, factor), past: make([]float64, 2*oversamplerReach), out: make([]float64, factor)}
	middle := oversamplerReach * factor
	for i, w := range fft.Hann.Samples(2 * middle) {
		o.taps[i%factor] = append(o.taps[i%factor], w*sinc(float64(i-middle)/float64(factor)))
	}
	return o
}

// push returns the samples that belong between an earlier sample and the next,
// valid until the next call.
func (o *oversampler) push(x float64) []float64 {
	copy(o.past[1:], o.past)
	o.past[0] = x
	for k, taps := range o.taps {
		o.out[k] = floats.Dot(taps, o.past)
	}
	return o.out
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}
