// Package transfer takes in the phasors of one hum line in two channels of a
// capture, span by span, and gives out the complex ratio of one channel, the cable's,
// to the other, the reference, with what both channels' noise leaves open. It reads no
// samples, and doesn't know what the two channels are connected to.
//
// Plain least squares on a noisy reference reads low by decibels. So the ratio H is
// that of greatest likelihood with noise in both (Deming's regression, complex): it
// makes Q(H) = Σ|y − Hx|²/(σy² + |H|²σx² − 2Re(H̄c)) least, c what the two noises share.
// Its 95 % interval is that of the profile, Q(H) ≤ Qleast + 1.92 (half the χ² of one
// degree of freedom, at 95 %), as in Fieller's theorem. In the complex plane that is a disc,
// so modulus and phase have closed forms.
package transfer

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

const (
	// LeastSNR is the power of a reference's line over its noise in a span below which
	// it is too weak: 10 dB.
	LeastSNR = 10.0
	// LeastSpans is how many spans show how steady a ratio is.
	LeastSpans = 3
	// HalfChi2 is half the 95 % point of χ² with one degree of freedom: by so much the
	// likelihood falls from a disc's middle to its edge.
	HalfChi2 = 3.841458820694124 / 2
	// scatterAlarm is the chance of noise alone making a ratio unsteady.
	scatterAlarm = 0.05
)

// Line is one line's phasors. A phasor's squared modulus is the line's power.
type Line struct {
	Harmonic         int
	Seconds          []float64    // centres of the spans
	Cable, Reference []complex128 // one a span
	Weight           []float64    // a span's noise is the power below over this
	CableNoise       float64
	ReferenceNoise   float64
	Common           complex128 // mean of the cable's noise times the reference's conjugate
}

// Ratio is the cable's line over the reference's.
type Ratio struct {
	Harmonic int
	Value    complex128
	// Lo and Hi are the ends of the modulus's 95 % interval; Lo is negative by as much as
	// the interval reaches past zero.
	Lo, Hi  float64
	Power   float64 // of the reference's line, noise taken off
	SNR     float64 // of the reference in a span
	Spans   int
	Scatter float64 // rms by which spans' ratios differ from Value beyond noise, after Settle another capture's; 0: noise explains it all
	Steady  bool    // noise explains how spans differ

	noise float64 // variance of a span's ratio, of mean weight, by noise
	line  Line
}

// Disc is the 95 % region: every ratio in it fits the phasors.
func (r Ratio) Disc() (centre complex128, radius float64) { return Disc(r.Value, r.Lo, r.Hi) }

// Disc is the region of a value whose modulus lies between lo and hi, lo below zero
// where it reaches past that.
func Disc(value complex128, lo, hi float64) (centre complex128, radius float64) {
	size := cmplx.Abs(value)
	if size == 0 {
		return 0, hi
	}
	return value * complex((lo+hi)/2/size, 0), (hi - lo) / 2
}

// Angle is the half-width of a phase's 95 % interval, rad; π where nothing is known.
func Angle(lo, hi float64) float64 {
	if lo <= 0 {
		return math.Pi
	}
	return math.Asin((hi - lo) / (hi + lo))
}

// sums are the second moments that the likelihood depends on.
type sums struct{ xx, yy, xy complex128 }

func (l Line) sums() (s sums) {
	for i, x := range l.Reference {
		y, w := l.Cable[i], complex(l.Weight[i], 0)
		s.xx += w * x * cmplx.Conj(x)
		s.yy += w * y * cmplx.Conj(y)
		s.xy += w * y * cmplx.Conj(x)
	}
	return s
}

// Of is the ratio of a line. ok is false where there is no span, or no noise to hold it
// against, or the reference drowns in its own.
func Of(l Line) (r Ratio, ok bool) {
	n := len(l.Reference)
	if n == 0 || !(l.ReferenceNoise > 0) || !(l.CableNoise > 0) {
		return r, false
	}
	s := l.sums()
	xx, yy, vx, vy := real(s.xx), real(s.yy), l.ReferenceNoise, l.CableNoise
	r = Ratio{Harmonic: l.Harmonic, line: l, Spans: n}
	weight := 0.0
	for _, w := range l.Weight {
		weight += w
	}
	r.Power = (xx - float64(n)*vx) / weight
	r.SNR = r.Power * weight / (float64(n) * vx)
	// Q's least value is the smaller root of (xx − λvx)(yy − λvy) = |xy − λc|².
	a := vx*vy - square(l.Common)
	b := xx*vy + yy*vx - 2*real(cmplx.Conj(s.xy)*l.Common)
	c := max(0, xx*yy-square(s.xy))
	least := 2 * c / (b + math.Sqrt(max(0, b*b-4*a*c)))
	value, _ := l.disc(s, least)
	centre, radius := l.disc(s, least+HalfChi2)
	if !(xx-(least+HalfChi2)*vx > 0) || cmplx.IsNaN(value) || math.IsNaN(radius) {
		return r, false
	}
	// The region's centre lies a little outwards, on the same ray but for common noise.
	r.Value, r.Lo, r.Hi = value, cmplx.Abs(centre)-radius, cmplx.Abs(centre)+radius
	r.scatter(least, xx/weight, weight/float64(n))
	return r, true
}

// disc is where Q is at most λ.
func (l Line) disc(s sums, λ float64) (centre complex128, radius float64) {
	xx, yy := real(s.xx)-λ*l.ReferenceNoise, real(s.yy)-λ*l.CableNoise
	centre = (s.xy - complex(λ, 0)*l.Common) / complex(xx, 0)
	return centre, math.Sqrt(max(0, square(centre)-yy/xx))
}

// scatter works out by how much more spans differ than their noise explains. power is
// the reference's, weight the spans' mean one.
func (r *Ratio) scatter(least, power, weight float64) {
	l := r.line
	noise := l.CableNoise + square(r.Value)*l.ReferenceNoise - 2*real(cmplx.Conj(r.Value)*l.Common)
	r.noise = noise / weight / power
	dof := float64(r.Spans - 1)
	if dof < 1 {
		r.Steady = true
		return
	}
	r.Steady = 2*least <= distuv.ChiSquared{K: 2 * dof}.Quantile(1-scatterAlarm)
	r.Scatter = math.Sqrt(r.noise * max(0, least/dof-1))
}

func square(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// Settle makes the scatter of a capture's ratios fit to be relied on. One that noise
// explains, as of a weak line, tells nothing of its own: it is taken to scatter, for its
// size, as those do that show it best. That is returned, as a share. Then each is made what
// another capture's ratio may differ by.
func Settle(all []*Ratio) (steady float64) {
	sum, weight := 0.0, 0.0
	for _, r := range all {
		if size := square(r.Value); r.Spans >= LeastSpans && size > 0 && r.noise > 0 {
			w := float64(r.Spans-1) * (size / r.noise) * (size / r.noise)
			sum, weight = sum+w*r.Scatter*r.Scatter/size, weight+w
		}
	}
	if weight == 0 {
		return 0
	}
	steady = math.Sqrt(sum / weight)
	further := abroad(all)
	for _, r := range all {
		if r.Steady {
			r.Scatter = steady * cmplx.Abs(r.Value)
		}
		r.Scatter *= further
	}
	return steady
}

// Clock is by how many parts in a million the cable's channel runs faster than the
// reference's, with its standard deviation: read off how the ratios' phases turn. Lines
// that don't turn as one clock would make that large. It is NaN where nothing shows it.
func Clock(all []*Ratio, hz float64) (ppm, sd float64) {
	var rates, weights []float64
	sum, weight := 0.0, 0.0
	strong := slices.Clone(all)
	slices.SortStableFunc(strong, func(a, b *Ratio) int { return cmp.Compare(b.sharpness(), a.sharpness()) })
	for _, r := range strong {
		if r.line.Harmonic > mostTurning || r.Spans < LeastSpans || len(rates) == 5 || r.sharpness() < 100 {
			continue
		}
		advance, seconds := r.turn()
		scale := 2 * math.Pi * hz * float64(r.line.Harmonic) * 1e-6
		// From first to last span, two phases' noise.
		total := advance / seconds / scale
		wobble := r.wobble()
		v := (1/r.sharpness() + wobble*wobble) / (seconds * scale * seconds * scale)
		rates, weights = append(rates, total), append(weights, 1/v)
		sum, weight = sum+total/v, weight+1/v
	}
	if weight == 0 {
		return math.NaN(), math.NaN()
	}
	ppm = sum / weight
	chi := 0.0
	for i, rate := range rates {
		chi += weights[i] * (rate - ppm) * (rate - ppm)
	}
	return ppm, math.Sqrt(max(1, chi/max(1, float64(len(rates)-1))) / weight)
}

// mostTurning is the highest harmonic a clock is read off: higher ones may turn by
// more than half a cycle from span to span.
const mostTurning = 7

// sharpness is a ratio's power over a span's noise.
func (r Ratio) sharpness() float64 {
	if !(r.noise > 0) {
		return 0
	}
	return square(r.Value) / r.noise
}

// turn is the ratio's advance of phase from the first to the last span, and the time
// that it took.
func (r Ratio) turn() (rad, seconds float64) {
	l := r.line
	for s := 1; s < r.Spans; s++ {
		a, b := l.Cable[s-1]*cmplx.Conj(l.Reference[s-1]), l.Cable[s]*cmplx.Conj(l.Reference[s])
		rad += cmplx.Phase(b * cmplx.Conj(a))
	}
	return rad, l.Seconds[r.Spans-1] - l.Seconds[0]
}

// wobble is how far phases stray from a steady turn, rad rms.
func (r Ratio) wobble() float64 {
	l := r.line
	rad, seconds := r.turn()
	var mean complex128
	z := make([]complex128, r.Spans)
	for s := range z {
		z[s] = l.Cable[s] * cmplx.Conj(l.Reference[s]) * cmplx.Rect(1, -rad*(l.Seconds[s]-l.Seconds[0])/seconds)
		mean += z[s] / complex(float64(r.Spans), 0)
	}
	sum := 0.0
	for _, z := range z {
		phase := cmplx.Phase(z * cmplx.Conj(mean))
		sum += phase * phase
	}
	return math.Sqrt(sum / float64(r.Spans))
}
