// Package estimate has the one type for a number with its doubt. It takes what a
// measurement or a judgement knows of a quantity and gives it out only as far as
// it is known: who has an Estimate can't print a value that isn't there.
package estimate

import (
	"fmt"
	"math"
)

// State is how much is known of a quantity.
type State uint8

// States.
const (
	Unknown  State = iota // nothing; Why says why
	Measured              // a value and its interval
	Range                 // it lies between two ends; no value among them is likelier
	AtLeast               // a lower bound
	AtMost                // an upper bound: for a level, the upper limit of a line that wasn't found
)

// Estimate is a quantity in its own unit, with the ends of its 95 % interval
// unless said otherwise. The zero value is unknown.
type Estimate struct {
	state         State
	value, lo, hi float64
	why           string
	phase, within float64 // rad, of a phasor; within 0: no phase
}

// Of is a value with its interval. An end that is NaN isn't known, as where one
// placement has no interval. A value that is NaN is unknown.
func Of(value, lo, hi float64) Estimate {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return None("")
	}
	return Estimate{state: Measured, value: value, lo: lo, hi: hi}
}

// Between is a range without a value. With one end that isn't finite it is a
// bound, with two it is unknown.
func Between(lo, hi float64) Estimate {
	switch l, h := finite(lo), finite(hi); {
	case l && h:
		return Estimate{state: Range, lo: lo, hi: hi}
	case l:
		return Above(lo)
	case h:
		return Below(hi)
	}
	return None("")
}

// Above is a lower bound; Below an upper one.
func Above(lo float64) Estimate {
	if !finite(lo) {
		return None("")
	}
	return Estimate{state: AtLeast, lo: lo}
}

// Below is an upper bound.
func Below(hi float64) Estimate {
	if !finite(hi) {
		return None("")
	}
	return Estimate{state: AtMost, hi: hi}
}

// None is an unknown quantity; why is a code, or empty.
func None(why string) Estimate { return Estimate{why: why} }

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// State says how much is known.
func (e Estimate) State() State { return e.state }

// Why is the code of why nothing is known; empty where something is, or nobody said.
func (e Estimate) Why() string { return e.why }

// Known says that there is a value or a bound.
func (e Estimate) Known() bool { return e.state != Unknown }

// Measured says that there is a value.
func (e Estimate) Measured() bool { return e.state == Measured }

// Value is the value, where one was measured.
func (e Estimate) Value() (v float64, ok bool) {
	if e.state == Measured {
		return e.value, true
	}
	return math.NaN(), false
}

// Lower is the lower end of what is known, where there is one.
func (e Estimate) Lower() (lo float64, ok bool) {
	switch e.state {
	case Measured, Range, AtLeast:
		return e.lo, finite(e.lo)
	}
	return math.NaN(), false
}

// Upper is the upper end of what is known, where there is one.
func (e Estimate) Upper() (hi float64, ok bool) {
	switch e.state {
	case Measured, Range, AtMost:
		return e.hi, finite(e.hi)
	}
	return math.NaN(), false
}

// Numbers are value and ends, NaN for what isn't there: for arithmetic that
// carries NaN through, and for tests. A view asks Value, Lower and Upper.
func (e Estimate) Numbers() (value, lo, hi float64) {
	value, _ = e.Value()
	lo, _ = e.Lower()
	hi, _ = e.Upper()
	return value, lo, hi
}

// Map puts a quantity into another unit by a rising function.
func (e Estimate) Map(f func(float64) float64) Estimate {
	switch e.state {
	case Measured:
		return Of(f(e.value), f(e.lo), f(e.hi)).At(e.phase, e.within)
	case Range:
		return Between(f(e.lo), f(e.hi))
	case AtLeast:
		return Above(f(e.lo))
	case AtMost:
		return Below(f(e.hi))
	}
	return e
}

// Shift adds a constant.
func (e Estimate) Shift(by float64) Estimate {
	return e.Map(func(x float64) float64 { return x + by })
}

// String is for messages of tests: "-95.02 (-95.1 to -94.9)", "at most -160".
func (e Estimate) String() string {
	switch e.state {
	case Measured:
		return fmt.Sprintf("%.6g (%.6g to %.6g)", e.value, e.lo, e.hi)
	case Range:
		return fmt.Sprintf("%.6g to %.6g", e.lo, e.hi)
	case AtLeast:
		return fmt.Sprintf("at least %.6g", e.lo)
	case AtMost:
		return fmt.Sprintf("at most %.6g", e.hi)
	}
	return "unknown " + e.why
}
