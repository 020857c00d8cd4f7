package coupling

import (
	"math"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// span is a quantity, never negative, that lies between two ends, for arithmetic:
// an upper end may be infinite, both are NaN where nothing is known.
type span struct{ lo, hi float64 }

var (
	unknown  = span{math.NaN(), math.NaN()}
	anything = span{0, math.Inf(1)}
	nothing  = span{math.Inf(1), 0} // where runs contradict each other
)

// spanOf is what an estimate knows: of a value without ends, the value.
func spanOf(e model.Estimate) span {
	if !e.Known() {
		return unknown
	}
	s := anything
	if v, ok := e.Value(); ok {
		s = span{v, v}
	}
	if lo, ok := e.Lower(); ok {
		s.lo = lo
	}
	if hi, ok := e.Upper(); ok {
		s.hi = hi
	}
	return s
}

// estimate states a span to seven digits; one from zero to anything knows nothing,
// and so does one whose ends contradict each other.
func (s span) estimate() model.Estimate {
	switch {
	case s.lo > s.hi:
		return estimate.None(model.WhyContradict)
	case s == anything:
		return estimate.None("")
	}
	return estimate.Between(model.Digits(s.lo, 7), model.Digits(s.hi, 7))
}

func (s span) known() bool { return !math.IsNaN(s.lo) && !math.IsNaN(s.hi) }

// mid is the middle; infinite where the upper end is.
func (s span) mid() float64 {
	if math.IsInf(s.hi, 1) {
		return s.hi
	}
	return (s.lo + s.hi) / 2
}

// either is the range of |x − y| for two phasors of unknown phases.
func either(x, y span) span { return span{max(0, x.lo-y.hi, y.lo-x.hi), x.hi + y.hi} }

func (s span) times(f float64) span {
	if f == 0 {
		return span{}
	}
	return span{s.lo * f, s.hi * f}
}

// widened moves both ends outwards by a share.
func (s span) widened(share float64) span { return span{s.lo / (1 + share), s.hi * (1 + share)} }

// both is the overlap of a range and another; where they don't meet, from the higher
// lower end to the lower upper one, which is empty and never decides anything. Ends that
// rounding alone parts do meet; ends that aren't known say nothing.
func both(s, b span) span {
	if b.lo > s.lo {
		s.lo = b.lo
	}
	if b.hi < s.hi {
		s.hi = b.hi
	}
	if s.lo > s.hi && s.lo <= s.hi*(1+1e-9) {
		s.lo = s.hi
	}
	return s
}
