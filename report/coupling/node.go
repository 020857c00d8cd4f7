// Package coupling says what a pickup means: the capacitance or mutual
// inductance that would cause it, which mechanism did where runs differ in one
// thing at a time, and, forwards, what pickup to expect. Its functions are
// pure. They assume one interference frequency, an unbalanced input, and that
// hum of several origins adds as phasors whose phases are unknown.
package coupling

import (
	"math"
	"math/cmplx"

	"humdiff/report/quantity"
)

// Range is a value with the ends of its interval.
type Range = quantity.Range

// Bench is what a pickup has to be read against. Values that aren't known are
// quantity.Unknown.
type Bench struct {
	MainsVolts  Range // rms of the lead's live conductor, at Hz
	Hz          float64
	SourceOhms  Range // at the cable's far end; infinite: open
	InputOhms   Range
	InputFarads Range // unknown: none but the cable's
	CableFarads Range // signal conductor to shield; unknown: 0 to UnknownCable
	Balanced    bool
}

// UnknownCable is the capacitance up to which a cable of unknown capacitance is
// taken to go: some 10 m at 100 pF/m (common practice, no source).
const UnknownCable = 1e-9

// boltzmann is Boltzmann's constant, J/K (exact in the SI of 2019).
const boltzmann = 1.380649e-23

// Room is the temperature at which thermal noise is stated, kelvin.
const Room = 293.15

func (b Bench) omega() float64 { return 2 * math.Pi * b.Hz }

// farads is the capacitance across the node.
func (b Bench) farads() Range {
	c := b.CableFarads
	if !c.Known() {
		c = Range{Lo: 0, Hi: UnknownCable}
	}
	if in := b.InputFarads; in.Known() {
		c.Lo, c.Hi = c.Lo+in.Lo, c.Hi+in.Hi
	}
	return c
}

// node is the impedance to ground of source, input and capacitance side by side.
func node(source, input, farads, omega float64) complex128 {
	return 1 / complex(1/source+1/input, omega*farads)
}

// z is the node's impedance in the middle of what is known of it, largest and
// smallest its bounds in magnitude: it grows with the resistances and falls
// with the capacitance.
func (b Bench) z() complex128 {
	return node(b.SourceOhms.Mid(), b.InputOhms.Mid(), b.farads().Mid(), b.omega())
}

func (b Bench) largest() complex128 {
	return node(b.SourceOhms.Hi, b.InputOhms.Hi, b.farads().Lo, b.omega())
}

func (b Bench) smallest() complex128 {
	return node(b.SourceOhms.Lo, b.InputOhms.Lo, b.farads().Hi, b.omega())
}

// tolerance is how far off in magnitude the node's impedance can be, as a share.
func (b Bench) tolerance() float64 {
	mid := cmplx.Abs(b.z())
	return math.Max(cmplx.Abs(b.largest())/mid-1, 1-cmplx.Abs(b.smallest())/mid)
}

// share is how much of an EMF in the loop of source, cable and input stands at
// the input, Zin/(Zs+Zin); none of it where the far end is open. The cable's
// own capacitance, spread along the loop, is left out: at audio's mains
// harmonics it is far above any source.
func (b Bench) share() complex128 {
	source := b.SourceOhms.Mid()
	if math.IsInf(source, 1) {
		return 0
	}
	in := 0.0
	if b.InputFarads.Known() {
		in = b.InputFarads.Mid()
	}
	return 1 / (1 + complex(source, 0)*complex(1/b.InputOhms.Mid(), b.omega()*in))
}

// Thermal is the node's thermal noise at its line's frequency, V/√Hz at Room:
// the least floor there is (Johnson and Nyquist 1928: 4kT·Re Z).
func (b Bench) Thermal() float64 { return math.Sqrt(4 * boltzmann * Room * real(b.z())) }

// ThermalBand is the node's thermal noise between two frequencies, volts rms.
// Re Z = R/(1+(ωRC)²), whose integral is an arctangent.
func (b Bench) ThermalBand(lo, hi float64) float64 {
	r := 1 / (1/b.SourceOhms.Mid() + 1/b.InputOhms.Mid())
	c := b.farads().Mid()
	band := hi - lo
	if corner := 1 / (2 * math.Pi * r * c); !math.IsInf(corner, 1) {
		band = corner * (math.Atan(hi/corner) - math.Atan(lo/corner))
	}
	return math.Sqrt(4 * boltzmann * Room * r * band)
}
