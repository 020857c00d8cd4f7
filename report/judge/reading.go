package judge

import (
	"math"
	"math/cmplx"

	"humdiff/report/model"
)

// reading is one run against the quiet runs around it.
type reading struct {
	near, before, after *run
	any                 []*run     // where the order is unknown, all that belong to it
	delta               ends       // dB
	pickup              ends       // dB re full scale
	found               bool       // hum was found near
	known               bool       // the pickup's phase, by a reference, and the pickup stands
	turn                complex128 // the pickup's phase, as a phasor of length one; 0: unknown
	drift               float64    // dB, after minus before; NaN where not measured
	spread              float64    // dB, what is added for quiet on one side only
}

// quiets are those the run was held against.
func (r reading) quiets() (out []*run) {
	out = append(out, r.any...)
	for _, q := range []*run{r.before, r.after} {
		if q != nil {
			out = append(out, q)
		}
	}
	return out
}

// runs are all that the reading stands on.
func (r reading) runs() []*run { return append(r.quiets(), r.near) }

// heldAgainst is a reading that isn't made yet. Where nobody knows the order of the
// runs, none is taken for the one before or after: any quiet run may be.
func (b *bench) heldAgainst(near *run) reading {
	r := reading{near: near, delta: open, pickup: open, drift: math.NaN()}
	if b.OrderUnknown {
		r.any = b.quietsOf(near)
	} else {
		r.before, r.after = b.quietsAround(near)
	}
	return r
}

// read holds a run against the quiet runs around it; false where it has none.
//
// Hum that is there anyway may have changed between them, so quiet is taken to be
// anywhere from the lower end of the lower to the upper end of the higher one. With
// quiet on one side only, the largest step between two successive quiet runs of the
// session stands in for what wasn't seen.
func (b *bench) read(near *run, of model.Quantity) (reading, bool) {
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
	case !b.OrderUnknown:
		r.drift = b.change(quiets[0], quiets[1], of)
	}
	r.delta = hull(sides).widen(r.spread)
	r.pickup = pickupOf(sides, r.spread)
	r.found = sides[0].near.Measured()
	if by, ok := byReference(sides); ok {
		r.pickup, r.known = by, !math.IsNaN(by.mid)
		r.turn = turnOf(sides)
	}
	return r, true
}

// side is what one pair says of a quantity.
type side struct {
	quiet, near model.Estimate
	delta       ends
	pickup      model.Estimate // by a reference, re full scale; unknown without
}

// compare holds one run against another.
func (b *bench) compare(quiet, near *run, of model.Quantity) side {
	return b.compared(quiet, near, false, of)
}

// compareIdle does so with the idle channel; false where one has none.
func (b *bench) compareIdle(quiet, near *run) (side, bool) {
	if quiet.IdleCapture == nil || near.IdleCapture == nil {
		return side{}, false
	}
	return b.compared(quiet, near, true, model.Quantity{}), true
}

func (b *bench) compared(quiet, near *run, idle bool, of model.Quantity) side {
	if unlike(quiet, near) {
		return side{delta: open}
	}
	s := side{quiet: b.level(quiet, idle, of), near: b.level(near, idle, of)}
	s.delta, _ = minus(s.near, s.quiet)
	if !idle {
		s.pickup = b.byPhase(*quiet.Capture, *near.Capture, of)
	}
	return s
}

// unlike says that two runs were made on mains of different frequencies, whose lines
// have nothing to do with each other.
func unlike(a, b *run) bool {
	x, y := a.Capture.Mains.NominalHz, b.Capture.Mains.NominalHz
	return x.Ok() && y.Ok() && x != y
}

// change is how many decibels a later run of the same bench lies above an earlier
// one; NaN where one of them isn't measured.
func (b *bench) change(earlier, later *run, of model.Quantity) float64 {
	return b.compare(earlier, later, of).delta.mid
}

// hull holds the deltas of all sides; its value is the mean of theirs.
func hull(sides []side) ends {
	h := ends{math.Inf(1), 0, math.Inf(-1)}
	for _, s := range sides {
		h.lo, h.hi = math.Min(h.lo, s.delta.lo), math.Max(h.hi, s.delta.hi)
		h.mid += s.delta.mid / float64(len(sides))
	}
	return h
}

// pickupOf is the pickup against all quiets, each of which may have been higher or
// lower by spread dB. Its value is what a right angle between old and new hum gives,
// near² − quiet²; it is also the middle of the range in dB.
func pickupOf(sides []side, spread float64) ends {
	quiet, mid := ends{math.Inf(1), math.NaN(), math.Inf(-1)}, 0.0
	for _, s := range sides {
		if !s.quiet.Known() || !s.near.Known() {
			return open
		}
		q := endsOf(s.quiet)
		quiet.lo, quiet.hi = min(quiet.lo, q.lo), max(quiet.hi, q.hi)
		mid += 10 * math.Log10(power(endsOf(s.near).mid)-power(q.mid)) / float64(len(sides))
	}
	lo, hi := apart(quiet.widen(spread), endsOf(sides[0].near))
	out := ends{20 * math.Log10(lo), mid, 20 * math.Log10(hi)}
	if math.IsInf(out.lo, -1) || math.IsInf(mid, 0) {
		out.mid = math.NaN()
	}
	return out
}

// byPhase is a quantity's pickup by the reference, relative to full scale; unknown where
// there is none.
func (b *bench) byPhase(quiet, near model.Capture, of model.Quantity) (pickup model.Estimate) {
	if quiet.Reference == nil || near.Reference == nil {
		return pickup
	}
	one := model.Step{}
	if h := of.Harmonic; h > 0 {
		if p, ok := phasorOf(one, quiet.Line(h), near.Line(h), turned(quiet, near)); ok {
			return p.estimate(1)
		}
		return pickup
	}
	set := b.set
	if of.AWeighted {
		set = aWeighted(set)
	}
	pickup, _ = sumByPhase(one, quiet, near, set)
	return pickup
}

// turnOf is the phase of the pickup against all quiets, as a phasor of length one; 0 where
// one doesn't tell it.
func turnOf(sides []side) (turn complex128) {
	for _, s := range sides {
		phase, _, ok := s.pickup.Phase()
		if !ok {
			return 0
		}
		turn += cmplx.Rect(1, phase)
	}
	return turn / complex(cmplx.Abs(turn), 0)
}

// byReference is the pickup against all quiets, of which each gives one by phase; not ok
// where one doesn't.
func byReference(sides []side) (p ends, ok bool) {
	p = ends{math.Inf(1), 0, math.Inf(-1)}
	for _, s := range sides {
		if !s.pickup.Known() {
			return open, false
		}
		of := endsOf(s.pickup.Map(func(v float64) float64 { return 20 * math.Log10(v) }))
		p.lo, p.hi, p.mid = min(p.lo, of.lo), max(p.hi, of.hi), p.mid+of.mid/float64(len(sides))
	}
	return p, true
}
