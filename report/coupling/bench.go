// Package coupling takes pickups in volts with the conditions they were measured
// under, and gives out what they mean: the capacitance or mutual inductance that
// would cause them, which mechanism did where runs differ in one thing at a time,
// and, forwards, what pickup to expect. It knows nothing of captures. It assumes
// one interference frequency, an unbalanced input, and that hum of several origins
// adds as phasors whose phases are unknown.
package coupling

import (
	"math"
	"math/cmplx"

	"humdiff/report/model"
)

// Bench is what a pickup has to be read against; estimates that know nothing where
// it wasn't stated.
type Bench struct {
	MainsVolts  model.Estimate // rms of the lead's live conductor, at Hz
	Hz          float64        // 0: unknown
	SourceOhms  model.Estimate // at the cable's far end
	FarEndOpen  bool           // in its place
	InputOhms   model.Estimate
	InputFarads model.Estimate // unknown: none but the cable's
	CableFarads model.Estimate // signal conductor to shield; unknown: 0 to UnknownCable
	Balanced    bool
}

// unknownCable is the capacitance up to which a cable of unknown capacitance is
// taken to go: some 10 m at 100 pF/m (common practice, no source).
const unknownCable = 1e-9

// boltzmann is Boltzmann's constant, J/K (exact in the SI of 2019).
const boltzmann = 1.380649e-23

// room is the temperature at which thermal noise is stated, kelvin.
const room = 293.15

func abs(z complex128) float64 { return cmplx.Abs(z) }

func (b Bench) omega() float64 { return 2 * math.Pi * b.Hz }
func (b Bench) mains() span    { return spanOf(b.MainsVolts) }
func (b Bench) input() span    { return spanOf(b.InputOhms) }

// source is what closes the far end; infinite where that is open.
func (b Bench) source() span {
	if b.FarEndOpen {
		return span{math.Inf(1), math.Inf(1)}
	}
	return spanOf(b.SourceOhms)
}

// closed says that source's and input's impedances are known.
func (b Bench) closed() bool { return b.source().known() && b.input().known() }

// farads is the capacitance across the node.
func (b Bench) farads() span {
	c := spanOf(b.CableFarads)
	if !c.known() {
		c = span{0, unknownCable}
	}
	if in := spanOf(b.InputFarads); in.known() {
		c.lo, c.hi = c.lo+in.lo, c.hi+in.hi
	}
	return c
}

// node is the impedance to ground of source, input and capacitance side by side.
func node(source, input, farads, omega float64) complex128 {
	return 1 / complex(1/source+1/input, omega*farads)
}

// z is the node's impedance in the middle of what is known of it, largest and
// smallest its bounds in magnitude: it grows with the resistances and falls with
// the capacitance.
func (b Bench) z() complex128 {
	return node(b.source().mid(), b.input().mid(), b.farads().mid(), b.omega())
}

func (b Bench) largest() complex128 {
	return node(b.source().hi, b.input().hi, b.farads().lo, b.omega())
}

func (b Bench) smallest() complex128 {
	return node(b.source().lo, b.input().lo, b.farads().hi, b.omega())
}

// tolerance is how far off in magnitude the node's impedance can be, as a share.
func (b Bench) tolerance() float64 {
	mid := abs(b.z())
	return math.Max(abs(b.largest())/mid-1, 1-abs(b.smallest())/mid)
}

// share is how much of an EMF in the loop of source, cable and input stands at the
// input, Zin/(Zs+Zin); none of it where the far end is open. The cable's own
// capacitance, spread along the loop, is left out: at audio's mains harmonics it is
// far above any source.
func (b Bench) share() complex128 {
	if b.FarEndOpen {
		return 0
	}
	farads := 0.0
	if in := spanOf(b.InputFarads); in.known() {
		farads = in.mid()
	}
	return divided(b.source().mid(), b.input().mid(), farads, b.omega())
}

// divided is the share of an EMF behind source that stands at an input.
func divided(source, input, farads, omega float64) complex128 {
	return 1 / (1 + complex(source, 0)*complex(1/input, omega*farads))
}

// shareTolerance is how far off the share can be, as a share of it.
func (b Bench) shareTolerance() float64 {
	at := func(source, input float64) float64 { return input / (source + input) }
	s, in := b.source(), b.input()
	mid := at(s.mid(), in.mid())
	return math.Max(at(s.lo, in.hi)/mid-1, 1-at(s.hi, in.lo)/mid)
}

// thermal is the node's thermal noise at its line's frequency, V/√Hz at Room: the
// least floor there is (Johnson and Nyquist 1928: 4kT·Re Z).
func (b Bench) thermal() float64 { return math.Sqrt(4 * boltzmann * room * real(b.z())) }

// thermalBand is the node's thermal noise between two frequencies, volts rms.
// Re Z = R/(1+(ωRC)²), whose integral is an arctangent.
func (b Bench) thermalBand(lo, hi float64) float64 {
	r := 1 / (1/b.source().mid() + 1/b.input().mid())
	c := b.farads().mid()
	band := hi - lo
	if corner := 1 / (2 * math.Pi * r * c); !math.IsInf(corner, 1) {
		band = corner * (math.Atan(hi/corner) - math.Atan(lo/corner))
	}
	return math.Sqrt(4 * boltzmann * room * r * band)
}
