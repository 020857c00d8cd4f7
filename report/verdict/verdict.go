// Package verdict judges a session: what the repeats of each cable come to, which
// cables can be told apart, whether the claims hold, and what could still
// explain it all. It assumes that the captures were measured with the same
// settings. Its functions are pure; what they find is data, words are made of
// it later.
//
// Three things decide how it calculates.
//
// A pickup isn't known as a number, but as a range, since the phase between
// old and new hum isn't known. So both ends of that range are averaged over the
// placements, each with its own scatter, and the interval reaches from the
// lower end's lower bound to the upper end's upper bound (bounds on a partly
// identified mean: Horowitz and Manski, Journal of the American Statistical
// Association 95, 2000, 77). It holds whatever the phases were.
//
// Averages are of decibels: placing the lead again multiplies the pickup, so
// its logarithm is what scatters evenly, and what a mean of repeats estimates is
// the pickup of the middle placement. A pickup that may be zero has no lower
// end; nor has a mean that holds one.
//
// Where two means are compared, neither is assumed to scatter as the other.
package verdict

import (
	"math"

	"humdiff/report/result"
	"humdiff/report/session"
)

// Input is what a session is judged by.
type Input struct {
	Session  session.Session
	Runs     []Run // one for each of the session's runs, in its order
	Settings result.Settings
	Version  string
	Photos   []result.Photo
	Warnings []result.Warning // of the measuring
	Blind    bool             // the session's cables are letters
}

// Run is what was measured of one run.
type Run struct {
	Capture *result.Capture // of the cable's channel; nil: not measured
	Idle    *result.Capture // of the channel nothing was connected to; nil: none
	Why     string          // why it was not measured
}

// Judge judges a session.
func Judge(in Input) result.Session {
	b := newBench(in)
	out := b.state()
	out.Cells = b.cells()
	out.Exposures = b.exposures()
	out.Rankings = b.rankings()
	out.Findings = b.findings()
	out.Mechanisms = b.mechanisms()
	out.Playback, out.Audible = playback(in.Session.Playback), b.audible()
	out.Claims = b.claims()
	out.Objections = b.objections(out)
	out.Warnings = append([]result.Warning{}, in.Warnings...)
	return out
}

// tail is what either end of an interval leaves out.
func (b *bench) tail() float64 { return (1 - b.in.Settings.Confidence) / 2 }

// volts is a level in volts, None where the scale is unknown.
func (b *bench) volts(dbfs float64) result.Num {
	if !b.in.Settings.FullScaleVolts.Ok() {
		return result.None
	}
	return result.Of(float64(b.in.Settings.FullScaleVolts) * math.Pow(10, dbfs/20))
}

// inVolts is a range of levels in volts; a lower end that may be zero is zero.
func (b *bench) inVolts(r result.Interval, zero bool) result.Interval {
	v := result.Interval{Value: b.voltsOf(r.Value), Lo: b.voltsOf(r.Lo), Hi: b.voltsOf(r.Hi)}
	if zero && b.in.Settings.FullScaleVolts.Ok() {
		v.Lo = 0
	}
	return v
}

func (b *bench) voltsOf(n result.Num) result.Num {
	if !n.Ok() {
		return result.None
	}
	return b.volts(float64(n))
}
