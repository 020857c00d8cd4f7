package coupling

import (
	"math"

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
	return capacitance(spanOf(pickup), true, b)
}

// capacitance is that of a pickup by the electric field alone, which two terminations
// have told from all other.
func capacitance(pickup span, told bool, b Bench) model.Estimate {
	switch {
	case b.Balanced:
		return estimate.None(model.WhyBalanced)
	case !pickup.known():
		return estimate.None(model.WhyNoVolts)
	case !b.mains().known() || !(b.Hz > 0):
		return estimate.None(model.WhyNoMains)
	case !b.closed():
		return estimate.None(model.WhyNoImpedance)
	case !told || math.IsInf(pickup.hi, 1):
		return estimate.None(model.WhyOneTermination)
	case pickup.lo > pickup.hi:
		return estimate.None(model.WhyContradict)
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

// Numbers are a cable's own, of which any may be unknown.
type Numbers struct {
	Farads  model.Estimate // lead to signal conductor
	Drop    model.Estimate // farads from lead to shield, times the shield's ohms
	Henries model.Estimate // lead and loop
}

// Expected is the pickup, volts rms, that a lead brings by its voltage, through the node and
// along the shield, and by its current, as far as both are known. The two are of unknown
// phase to each other: a load decides it.
func (n Numbers) Expected(b Bench, amps model.Estimate) model.Estimate {
	c, t, m, i := spanOf(n.Farads), spanOf(n.Drop), spanOf(n.Henries), spanOf(amps)
	if !t.known() {
		t = span{}
	}
	volts := func(c, t, vm float64, z complex128) float64 {
		y := complex(0, b.omega()*c) * z
		return vm * abs(y/(1+y)+complex(0, b.omega()*t)*b.share())
	}
	all := span{volts(c.lo, t.lo, b.mains().lo, b.smallest()), volts(c.hi, t.hi, b.mains().hi, b.largest())}
	if m.known() && i.known() && i.hi > 0 {
		per := b.omega() * abs(b.share())
		all = either(all, span{per * m.lo * i.lo, per * m.hi * i.hi}.widened(b.shareTolerance()))
	}
	return all.estimate()
}

// inductance is the mutual inductance of lead and loop, henries, behind a pickup by
// the magnetic field alone, which a loaded and an unloaded lead have told from all
// other, of the lead's current (amperes rms at the line's frequency):
// V = ωMI·Zin/(Zs+Zin).
func inductance(pickup, amps span, told bool, b Bench) model.Estimate {
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
	case !told || math.IsInf(pickup.hi, 1):
		return estimate.None(model.WhyOneLoad)
	case pickup.lo > pickup.hi:
		return estimate.None(model.WhyContradict)
	}
	per := b.omega() * abs(b.share())
	t := b.shareTolerance()
	return span{pickup.lo / (per * amps.hi) / (1 + t), pickup.hi / (per * amps.lo) / (1 - t)}.estimate()
}
