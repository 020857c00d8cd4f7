// Package delta compares two levels: how many decibels near lies above quiet,
// and how much voltage bringing the lead near added. Its functions are pure.
// It assumes that the two levels come from separate captures, so that their
// errors are independent and the phase between their hum is unknown.
package delta

import (
	"math"

	"humdiff/fft/mains"
	"humdiff/report/result"
)

// Confidence is the confidence of an interval and of a bound that Levels
// gives. An interval has it by MOVER. A bound is made of two ends that are
// each wrong in at most 2.5 % of captures, the detected level's lower end and
// the other's limit, so it holds in at least 95 % (Bonferroni).
const Confidence = 0.95

// Levels is near minus quiet in decibels.
//
// Both detected: the difference, with the interval that follows from the two
// levels' own, asymmetric ones by the method of variance estimates recovery
// (MOVER; Zou and Donner, Statistics in Medicine 27, 2008, 1693): each end
// of the difference is as far from it as the root of the sum of squares of the
// two distances that move it that way. Near alone detected: at least near's
// lower end minus quiet's limit. Quiet alone detected: at most near's limit
// minus quiet's lower end. Neither, or a side without any number: not
// measurable. An end is absent where a level's own end is a power of zero.
func Levels(quiet, near mains.Level) result.Delta {
	d := result.Delta{State: result.NotMeasurable, DB: result.None, LoDB: result.None, HiDB: result.None}
	switch {
	case quiet.Detected && near.Detected:
		d.State = result.Measured
		q, n := inDB(quiet), inDB(near)
		d.DB = result.Of(n.mid - q.mid)
		d.LoDB = result.Of(n.mid - q.mid - math.Hypot(n.down(), q.up()))
		d.HiDB = result.Of(n.mid - q.mid + math.Hypot(n.up(), q.down()))
	case near.Detected:
		d.LoDB = result.Of(dB(near.Lo) - dB(quiet.Limit))
		d.State = stateIf(d.LoDB, result.AtLeast)
	case quiet.Detected:
		d.HiDB = result.Of(dB(near.Limit) - dB(quiet.Lo))
		d.State = stateIf(d.HiDB, result.AtMost)
	}
	return d
}

// Pickup is the range of the amplitude that bringing the lead near added, rms
// relative to that of a full-scale sine. Hum adds as phasors and the phase
// between old and new is unknown, so the pickup lies between |near - quiet|
// and near + quiet; both are taken where the two intervals make the range
// widest, and the lower end is zero where the intervals meet. An undetected
// side lies between zero and its limit. NaN where a side has no number; a limit
// of zero, of a digitally silent capture, is none.
//
// It holds for one line and for the hum total alike. The total's amplitude is
// the length of the vector of all lines' phasors, its pickup the length of the
// difference of two such vectors, and lengths obey the triangle inequality in
// any number of dimensions (Minkowski). So it doesn't matter that each line
// has a phase of its own.
//
// Each end fails only where one of the two levels lies outside its interval.
func Pickup(quiet, near mains.Level) (lo, hi float64) {
	q, n := amplitudes(quiet), amplitudes(near)
	lo = math.Max(0, math.Max(n.lo-q.hi, q.lo-n.hi))
	return lo, n.hi + q.hi
}

// decibels is a level and its ends in decibels.
type decibels struct{ mid, lo, hi float64 }

func inDB(l mains.Level) decibels { return decibels{dB(l.Power), dB(l.Lo), dB(l.Hi)} }

// up and down are the distances to the interval's ends, never negative: a
// level outside its own interval, as power less noise can be, has no distance.
func (d decibels) up() float64   { return math.Max(0, d.hi-d.mid) }
func (d decibels) down() float64 { return math.Max(0, d.mid-d.lo) }

// span is a range of amplitudes.
type span struct{ lo, hi float64 }

func amplitudes(l mains.Level) span {
	if !l.Detected && !(l.Limit > 0) { // digital silence, or nothing measured
		return span{math.NaN(), math.NaN()}
	}
	if !l.Detected {
		return span{0, math.Sqrt(l.Limit)}
	}
	return span{math.Sqrt(l.Lo), math.Sqrt(l.Hi)}
}

func dB(power float64) float64 { return 10 * math.Log10(power) }

// stateIf is the state where its bound is there.
func stateIf(bound result.Num, state string) string {
	if !bound.Ok() {
		return result.NotMeasurable
	}
	return state
}
