package judge

import (
	"math"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// ends are what is known of a number of decibels, for arithmetic: means of many
// carry an end that isn't there as an infinite one. mid is NaN where there is no
// value.
type ends struct{ lo, mid, hi float64 }

// open is nothing known.
var open = ends{math.Inf(-1), math.NaN(), math.Inf(1)}

// endsOf is an estimate's. A measured level without a lower end is a power that
// may be zero.
func endsOf(e model.Estimate) ends {
	v, lo, hi := e.Numbers()
	if math.IsNaN(lo) {
		lo = open.lo
	}
	if math.IsNaN(hi) {
		hi = open.hi
	}
	return ends{lo, v, hi}
}

// up and down are the distances to the ends, never negative: a level outside
// its own interval, as power less noise can be, has no distance.
func (e ends) up() float64   { return max(0, e.hi-e.mid) }
func (e ends) down() float64 { return max(0, e.mid-e.lo) }

// widen moves both ends outwards.
func (e ends) widen(by float64) ends { return ends{e.lo - by, e.mid, e.hi + by} }

// estimate states them in dB, to a ten-thousandth.
func (e ends) estimate() model.Estimate {
	lo, mid, hi := model.Of(model.Places(e.lo, 4)).Float(), model.Places(e.mid, 4), model.Of(model.Places(e.hi, 4)).Float()
	if math.IsNaN(mid) || math.IsInf(mid, 0) {
		return estimate.Between(lo, hi)
	}
	return estimate.Of(mid, lo, hi)
}
