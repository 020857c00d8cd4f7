package judge

import (
	"math"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// Why there is no delta and no pickup.
const (
	WhyNotFound  = "not_found" // hum was found on neither side
	WhyNoLevel   = "no_level"  // a side has neither a level nor a limit
	WhyUnlike    = "mains_differ"
	WhyNoLines   = "no_lines"          // the two have no line in common
	whyOne       = model.SameRecording // or they share a part of one
	WhyTwoScales = "two_scales"        // the step between the two scales is unknown
)

// Delta is near minus quiet in decibels, of levels from separate captures, so
// that their errors are independent.
//
// Both found: the difference, with the interval that follows from the two
// levels' own, asymmetric ones by the method of variance estimates recovery
// (MOVER; Zou and Donner, Statistics in Medicine 27, 2008, 1693): each end of the
// difference is as far from it as the root of the sum of squares of the two
// distances that move it that way. Near alone found: at least near's lower end
// minus quiet's limit. Quiet alone found: at most near's limit minus quiet's
// lower end. Such a bound is made of two ends that are each wrong in at most 2.5 %
// of captures, so it holds in at least 95 % (Bonferroni).
func Delta(quiet, near model.Estimate) model.Estimate {
	d, why := minus(near, quiet)
	if why != "" {
		return estimate.None(why)
	}
	return d.estimate()
}

// minus is Delta before it is rounded; open, and why, where there is none.
func minus(near, quiet model.Estimate) (d ends, why string) {
	q, n := endsOf(quiet), endsOf(near)
	switch {
	case !quiet.Known() || !near.Known():
		return open, WhyNoLevel
	case quiet.Measured() && near.Measured():
		d := n.mid - q.mid
		return ends{d - math.Hypot(n.down(), q.up()), d, d + math.Hypot(n.up(), q.down())}, ""
	case near.Measured():
		return ends{n.lo - q.hi, math.NaN(), math.Inf(1)}, ""
	case quiet.Measured():
		return ends{math.Inf(-1), math.NaN(), n.hi - q.lo}, ""
	}
	return open, WhyNotFound
}

// Pickup is the range of the amplitude that bringing the lead near added, rms
// relative to that of a full-scale sine. Hum adds as phasors and the phase
// between old and new is unknown, so the pickup lies between |near - quiet| and
// near + quiet; both are taken where the two intervals make the range widest,
// and the lower end is zero where the intervals meet. A side that wasn't found
// lies between zero and its limit.
//
// It holds for one line and for the hum total alike. The total's amplitude is the
// length of the vector of all lines' phasors, its pickup the length of the
// difference of two such vectors, and lengths obey the triangle inequality in any
// number of dimensions (Minkowski). So it doesn't matter that each line has a
// phase of its own.
//
// Each end fails only where one of the two levels lies outside its interval.
func Pickup(quiet, near model.Estimate) model.Estimate {
	if !quiet.Known() || !near.Known() {
		return estimate.None(WhyNoLevel)
	}
	lo, hi := apart(endsOf(quiet), endsOf(near))
	return estimate.Between(model.Digits(lo, 7), model.Digits(hi, 7))
}

// apart is the range of the amplitude between two levels in dB.
func apart(quiet, near ends) (lo, hi float64) {
	qlo, qhi, nlo, nhi := amplitude(quiet.lo), amplitude(quiet.hi), amplitude(near.lo), amplitude(near.hi)
	return max(0, nlo-qhi, qlo-nhi), nhi + qhi
}

func amplitude(db float64) float64 { return math.Pow(10, db/20) }
