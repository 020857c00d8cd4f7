package coupling

import (
	"math"
	"math/cmplx"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// Capacitance is the coupling capacitance, farads, that would cause a pickup (volts
// rms) if all of it came by the electric field: V = Vm·|jωC·Z/(1+jωC·Z)| (the
// capacitive divider of Ott, Noise Reduction Techniques, ch. 2; from memory),
// solved for C. It falls with the mains voltage and with the node's resistances,
// and rises with its capacitance, so the ends of its interval follow from the ends
// of what is known of them. Unknown where nothing follows, and why.
func Capacitance(pickup model.Estimate, b Bench) model.Estimate {
	return capacitance(spanOf(pickup), b)
}

func capacitance(pickup span, b Bench) model.Estimate {
	switch {
	case b.Balanced:
		return estimate.None(model.WhyBalanced)
	case !pickup.known():
		return estimate.None(model.WhyNoVolts)
	case !b.mains().known() || !(b.Hz > 0):
		return estimate.None(model.WhyNoMains)
	case !b.closed():
		return estimate.None(model.WhyNoImpedance)
	}
	lo := farads(pickup.lo/b.mains().hi, b.omega(), b.largest())
	hi := farads(pickup.hi/b.mains().lo, b.omega(), b.smallest())
	if math.IsInf(hi, 1) {
		return estimate.None(model.WhyTooMuch)
	}
	return span{lo, hi}.estimate()
}

// farads solves |jyZ/(1+jyZ)| = ratio for y = ωC. With Z = R + jX squaring gives
// y²|Z|²(1−ratio²) + 2yX·ratio² − ratio² = 0; X is 0 or below, so one of its roots
// is positive. From a ratio of 1 on there is none.
func farads(ratio, omega float64, z complex128) float64 {
	if ratio >= 1 {
		return math.Inf(1)
	}
	r2, x := ratio*ratio, imag(z)
	a := real(z)*real(z) + x*x
	a *= 1 - r2
	return (-x*r2 + math.Sqrt(x*x*r2*r2+a*r2)) / a / omega
}

// Expected is the pickup, volts rms, that a coupling capacitance brings.
func Expected(farads model.Estimate, b Bench) model.Estimate {
	c := spanOf(farads)
	volts := func(c, vm float64, z complex128) float64 {
		y := complex(0, b.omega()*c) * z
		return vm * cmplx.Abs(y/(1+y))
	}
	return span{volts(c.lo, b.mains().lo, b.smallest()), volts(c.hi, b.mains().hi, b.largest())}.estimate()
}

// inductance is the mutual inductance of lead and loop, henries, that would cause
// a pickup if all of it came by the magnetic field of the lead's current (amperes
// rms at the line's frequency): V = ωMI·Zin/(Zs+Zin).
func inductance(pickup, amps span, b Bench) model.Estimate {
	switch {
	case b.Balanced:
		return estimate.None(model.WhyBalanced)
	case !pickup.known():
		return estimate.None(model.WhyNoVolts)
	case !amps.known() || !(amps.lo > 0):
		return estimate.None(model.WhyNoCurrent)
	case !(b.Hz > 0):
		return estimate.None(model.WhyNoMains)
	case !b.closed():
		return estimate.None(model.WhyNoImpedance)
	case b.FarEndOpen:
		return estimate.None(model.WhyOpenEnd)
	}
	per := b.omega() * cmplx.Abs(b.share())
	t := b.shareTolerance()
	return span{pickup.lo / (per * amps.hi) / (1 + t), pickup.hi / (per * amps.lo) / (1 - t)}.estimate()
}
