package verdict

import (
	"math"

	"humdiff/fft/mains"
	"humdiff/report/delta"
	"humdiff/report/result"
)

// span is a value that is known as a range. Ends may be infinite; mid is NaN
// where no value can be given.
type span struct{ lo, mid, hi float64 }

var unknown = span{math.Inf(-1), math.NaN(), math.Inf(1)}

// interval states a span.
func (s span) interval() result.Interval {
	return result.Interval{Value: result.Of(s.mid), Lo: result.Of(s.lo), Hi: result.Of(s.hi)}
}

// widen moves both ends outwards.
func (s span) widen(by float64) span { return span{s.lo - by, s.mid, s.hi + by} }

// reading is one run against the quiet runs around it.
type reading struct {
	near, before, after *run
	any                 []run // where the order is unknown, all that belong to it
	delta               span  // dB
	pickup              span  // dB re full scale
	state               string
	found               bool    // hum was found near
	drift               float64 // dB, after minus before; NaN where not measured
	spread              float64 // dB, what is added for quiet on one side only
}

// quiets are those the run was held against.
func (r reading) quiets() (out []run) {
	out = append(out, r.any...)
	for _, q := range []*run{r.before, r.after} {
		if q != nil {
			out = append(out, *q)
		}
	}
	return out
}

// runs are all that the reading stands on.
func (r reading) runs() []run { return append(r.quiets(), *r.near) }

// heldAgainst is a reading that isn't made yet. Where nobody knows the order of
// the runs, none is taken for the one before or after: any quiet run may be.
func (b *bench) heldAgainst(near run) reading {
	r := reading{near: &near, delta: unknown, pickup: unknown, drift: math.NaN()}
	if b.unordered {
		r.any = b.quietsOf(near)
	} else {
		r.before, r.after = b.quietsAround(near)
	}
	return r
}

// read holds a run against the quiet runs around it; false where it has none.
//
// Hum that is there anyway may have changed between them, so quiet is taken to
// be anywhere from the lower end of the lower to the upper end of the higher
// one. With quiet on one side only, the largest step between two successive
// quiet runs of the session stands in for what wasn't seen.
func (b *bench) read(near run, of result.Quantity) (reading, bool) {
	r := b.heldAgainst(near)
	quiets := r.quiets()
	if len(quiets) == 0 {
		return r, false
	}
	var sides []side
	for _, q := range quiets {
		sides = append(sides, b.compare(q, near, of))
	}
	switch {
	case len(quiets) == 1:
		r.spread = b.largestStep(of).db
	case !b.unordered:
		r.drift = b.change(quiets[0], quiets[1], of)
	}
	r.delta = hull(sides, func(s side) span { return s.delta }).widen(r.spread)
	r.pickup = pickupOf(sides, r.spread)
	r.state, r.found = stateOf(r.delta), sides[0].near.Detected
	return r, true
}

// side is what one pair says of a quantity.
type side struct {
	quiet, near mains.Level
	delta       span
}

// compare holds one run against another.
func (b *bench) compare(quiet, near run, of result.Quantity) side {
	return b.compared(quiet, near, false, of)
}

// compareIdle does so with the idle channel; false where one has none.
func (b *bench) compareIdle(quiet, near run) (side, bool) {
	if quiet.Got.Idle == nil || near.Got.Idle == nil {
		return side{}, false
	}
	return b.compared(quiet, near, true, result.Quantity{}), true
}

func (b *bench) compared(quiet, near run, idle bool, of result.Quantity) side {
	s := side{quiet: b.level(quiet, idle, of), near: b.level(near, idle, of), delta: unknown}
	if unlike(quiet, near) {
		return side{nothing, nothing, unknown}
	}
	s.delta = spanOf(delta.Levels(s.quiet, s.near))
	return s
}

// unlike says that two runs were made on mains of different frequencies, whose
// lines have nothing to do with each other.
func unlike(a, b run) bool {
	x, y := a.Got.Capture.Mains.NominalHz, b.Got.Capture.Mains.NominalHz
	return x.Ok() && y.Ok() && x != y
}

var nothing = mains.Level{Power: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), Limit: math.NaN()}

// spanOf is a delta as a span; an end that the delta doesn't have is infinite.
func spanOf(d result.Delta) span {
	s := unknown
	if d.LoDB.Ok() {
		s.lo = float64(d.LoDB)
	}
	if d.HiDB.Ok() {
		s.hi = float64(d.HiDB)
	}
	if d.DB.Ok() {
		s.mid = float64(d.DB)
	}
	return s
}

func stateOf(s span) string {
	lo, hi := !math.IsInf(s.lo, 0), !math.IsInf(s.hi, 0)
	switch {
	case lo && hi:
		return result.Measured
	case lo:
		return result.AtLeast
	case hi:
		return result.AtMost
	}
	return result.NotMeasurable
}

// hull holds the spans of all sides; its value is the mean of theirs.
func hull(sides []side, of func(side) span) span {
	h := span{math.Inf(1), 0, math.Inf(-1)}
	for _, s := range sides {
		x := of(s)
		h.lo, h.hi = math.Min(h.lo, x.lo), math.Max(h.hi, x.hi)
		h.mid += x.mid / float64(len(sides))
	}
	return h
}

// pickupOf is the pickup against all quiets, each of which may have been higher
// or lower by spread dB. Its value is what a right angle between old and new
// hum gives, near² − quiet²; it is also the middle of the range in dB.
func pickupOf(sides []side, spread float64) span {
	quiet := mains.Level{Detected: true, Lo: math.Inf(1)}
	mid := 0.0
	for _, s := range sides {
		lo, hi := ends(s.quiet)
		quiet.Lo, quiet.Hi = math.Min(quiet.Lo, lo), math.Max(quiet.Hi, hi)
		mid += 10 * math.Log10(s.near.Power-s.quiet.Power) / float64(len(sides))
	}
	by := math.Pow(10, spread/10)
	quiet.Lo, quiet.Hi = quiet.Lo/by, quiet.Hi*by
	lo, hi := delta.Pickup(quiet, sides[0].near)
	if math.IsNaN(lo) || math.IsNaN(hi) {
		return unknown
	}
	out := span{20 * math.Log10(lo), mid, 20 * math.Log10(hi)}
	if math.IsInf(out.lo, -1) || math.IsInf(mid, 0) {
		out.mid = math.NaN()
	}
	return out
}

// ends are a level's ends in power; an undetected one may be zero.
func ends(l mains.Level) (lo, hi float64) {
	if l.Detected {
		return l.Lo, l.Hi
	}
	return 0, l.Limit
}

// change is how many decibels a later run of the same bench lies above an
// earlier one; NaN where one of them isn't measured.
func (b *bench) change(earlier, later run, of result.Quantity) float64 {
	return b.compare(earlier, later, of).delta.mid
}
