package estimate

import (
	"math"
	"math/cmplx"
)

// A phasor's Estimate is that of its modulus; where that is measured, it holds the
// phase besides. Its 95 % region is a disc in the complex plane.

// Disc is a phasor known to within a radius. Where the disc holds zero, it has no phase,
// and its modulus an upper bound alone.
func Disc(centre complex128, radius float64) Estimate {
	size := cmplx.Abs(centre)
	if !(size > radius) {
		return Below(size + radius)
	}
	return Of(size, size-radius, size+radius).At(cmplx.Phase(centre), math.Asin(radius/size))
}

// At is a measured modulus with its phase and the half-width of the phase's interval, rad. Without
// a half-width above zero the phase isn't known.
func (e Estimate) At(phase, within float64) Estimate {
	if e.state == Measured && finite(phase) && within > 0 {
		e.phase, e.within = phase, within
	}
	return e
}

// Phase is a phasor's phase and the half-width of its interval, rad, where it is known.
func (e Estimate) Phase() (phase, within float64, ok bool) {
	if e.within == 0 {
		return math.NaN(), math.NaN(), false
	}
	return e.phase, e.within, true
}

// Minus is the difference of two phasors whose errors are independent; unknown where the
// phase of one isn't known. One of which there is but an upper bound lies around zero.
func Minus(a, b Estimate) Estimate {
	x, rx, okX := a.disc()
	y, ry, okY := b.disc()
	if !okX || !okY {
		return None("")
	}
	return Disc(x-y, math.Hypot(rx, ry))
}

func (e Estimate) disc() (centre complex128, radius float64, ok bool) {
	if e.state == AtMost {
		return 0, e.hi, true
	}
	return cmplx.Rect(e.value, e.phase), (e.hi - e.lo) / 2, e.within > 0
}
