package coupling

import (
	"math"
	"math/cmplx"

	"humdiff/report/quantity"
	"humdiff/report/result"
)

// Value is a coupling with its interval, or why there is none. Lo is 0 where
// only an upper bound is known.
type Value struct {
	Range
	Why string // empty where there is a value
}

func without(why string) Value { return Value{quantity.Unknown, why} }

// Capacitance is the coupling capacitance, farads, that would cause a pickup
// (volts rms) if all of it came by the electric field:
// V = Vm·|jωC·Z/(1+jωC·Z)| (the capacitive divider of Ott, Noise Reduction
// Techniques, ch. 2; from memory), solved for C. It falls with the mains
// voltage and with the node's resistances, and rises with its capacitance, so
// the ends of its interval follow from the ends of what is known of them.
func Capacitance(pickup Range, b Bench) Value {
	switch {
	case b.Balanced:
		return without(result.WhyBalanced)
	case !pickup.Known():
		return without(result.WhyNoVolts)
	case !b.MainsVolts.Known() || !(b.Hz > 0):
		return without(result.WhyNoMains)
	case !b.SourceOhms.Known() || !b.InputOhms.Known():
		return without(result.WhyNoImpedance)
	}
	lo := farads(pickup.Lo/b.MainsVolts.Hi, b.omega(), b.largest())
	hi := farads(pickup.Hi/b.MainsVolts.Lo, b.omega(), b.smallest())
	if math.IsInf(hi, 1) {
		return without(result.WhyTooMuch)
	}
	return Value{Range: Range{Lo: lo, Hi: hi}}
}

// farads solves |jyZ/(1+jyZ)| = ratio for y = ωC. With Z = R + jX squaring
// gives y²|Z|²(1−ratio²) + 2yX·ratio² − ratio² = 0; X is 0 or below, so one of
// its roots is positive. From a ratio of 1 on there is none.
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
func Expected(farads Range, b Bench) Range {
	volts := func(c, vm float64, z complex128) float64 {
		y := complex(0, b.omega()*c) * z
		return vm * cmplx.Abs(y/(1+y))
	}
	return Range{
		Lo: volts(farads.Lo, b.MainsVolts.Lo, b.smallest()),
		Hi: volts(farads.Hi, b.MainsVolts.Hi, b.largest()),
	}
}

// Inductance is the mutual inductance of lead and loop, henries, that would
// cause a pickup if all of it came by the magnetic field of the lead's current
// (amperes rms at the line's frequency): V = ωMI·Zin/(Zs+Zin).
func Inductance(pickup, amps Range, b Bench) Value {
	switch {
	case b.Balanced:
		return without(result.WhyBalanced)
	case !pickup.Known():
		return without(result.WhyNoVolts)
	case !amps.Known() || !(amps.Lo > 0):
		return without(result.WhyNoCurrent)
	case !(b.Hz > 0):
		return without(result.WhyNoMains)
	case !b.SourceOhms.Known() || !b.InputOhms.Known():
		return without(result.WhyNoImpedance)
	case math.IsInf(b.SourceOhms.Hi, 1):
		return without(result.WhyOpenEnd)
	}
	per := b.omega() * cmplx.Abs(b.share())
	t := b.shareTolerance()
	return Value{Range: Range{Lo: pickup.Lo / (per * amps.Hi) / (1 + t), Hi: pickup.Hi / (per * amps.Lo) / (1 - t)}}
}

// shareTolerance is how far off the share can be, as a share of it.
func (b Bench) shareTolerance() float64 {
	at := func(source, input float64) float64 { return input / (source + input) }
	mid := at(b.SourceOhms.Mid(), b.InputOhms.Mid())
	return math.Max(at(b.SourceOhms.Lo, b.InputOhms.Hi)/mid-1, 1-at(b.SourceOhms.Hi, b.InputOhms.Lo)/mid)
}
