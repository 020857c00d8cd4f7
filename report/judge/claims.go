package judge

import (
	"math"
	"time"

	"humdiff/fft/note"
	"humdiff/report/model"
)

// claims judges all claims.
func (b *bench) claims() []model.Claim {
	out := []model.Claim{}
	for _, c := range b.Claims {
		out = append(out, b.claim(c))
	}
	b.together(out)
	return out
}

// together says which verdicts still stand when all claims of the session are to be
// right at once.
func (b *bench) together(claims []model.Claim) {
	p := make([]float64, len(claims))
	for i, c := range claims {
		if p[i] = 1; c.P.Ok() {
			p[i] = float64(c.P)
		}
	}
	for i, adjusted := range holm(p) {
		claims[i].Together = claims[i].Verdict != model.Undecided && adjusted <= b.alpha()
	}
}

func (b *bench) claim(c model.Claim) model.Claim {
	c.ClaimFound = model.ClaimFound{Late: late(c.Written, b.first()), Parts: []model.ClaimPart{}, Reasons: []note.Note{}}
	if c.Kind == model.ClaimBelow {
		c.DB = model.None
	} else {
		c.Volts = model.None
	}
	var tests []test
	var nothing note.Note
	if c.Kind == model.ClaimCoupling {
		c.DB, c.Late = model.None, late(c.Written.Truncate(day), b.driven(c.Cable))
		tests, nothing = b.coupled(c), say(model.NoPassport)
	} else {
		c.Limit = model.NoLimit()
		tests, nothing = b.tests(c), b.whyNothing(c)
	}
	for _, t := range tests {
		c.Parts = append(c.Parts, t.judge(b, len(tests)))
	}
	c.Verdict, c.P = whole(c.Parts)
	if len(tests) == 0 {
		c.Reasons = append(c.Reasons, nothing)
	}
	if c.Kind == model.ClaimBelow && c.Verdict == model.Undecided {
		c.Reasons = append(c.Reasons, b.predicted(c)...)
	}
	return c
}

// whole is the verdict over all parts. A claim that is made of every part is refuted
// where any is, each at its share of the error, and supported where all are, each at
// the whole (an intersection of tests needs no more).
func whole(parts []model.ClaimPart) (string, model.Num) {
	least, most, all := math.Inf(1), 0.0, len(parts) > 0
	for _, p := range parts {
		switch p.Verdict {
		case model.Refuted:
			least, all = math.Min(least, float64(p.P)*float64(len(parts))), false
		case model.Supported:
			most = math.Max(most, float64(p.P))
		default:
			all = false
		}
	}
	switch {
	case !math.IsInf(least, 1):
		return model.Refuted, chance(math.Min(1, least))
	case all:
		return model.Supported, chance(most)
	}
	return model.Undecided, model.None
}

const day = 24 * time.Hour

// late says whether a claim was written after the runs began. One that is dated by the
// day alone, on the day of the runs, may be either.
func late(written, first time.Time) string {
	switch {
	case written.IsZero() || first.IsZero():
		return model.LateUnknown
	case written.Truncate(day).Equal(written) && written.Format(time.DateOnly) == first.Format(time.DateOnly):
		return model.LateUnknown
	case written.After(first):
		return model.LateYes
	}
	return model.LateNo
}

// about says that a claim is about a place.
func about(c model.Claim, w model.Where) bool {
	return (!c.Termination.Stated() || c.Termination.Same(w.Termination)) && (c.Exposure == "" || c.Exposure == w.Exposure)
}

// whyNothing says why a claim has no place to be tested at.
func (b *bench) whyNothing(c model.Claim) note.Note {
	for _, w := range b.places() {
		if about(c, w) && b.cellAt(c.Cable, w, model.Quantity{}) != nil && !b.delivered(w) {
			return say(model.NotDelivered)
		}
	}
	return say(model.NoRuns)
}

// test is a claim at one place, or on a passport: y ≥ at, y known by what its lower and
// upper ends are estimated to be, dB. Claims that something stays below a value are tested
// with its negative.
type test struct {
	claim    model.Claim
	where    model.Where
	cells    []*cell // of the cable, and of the other one; none where a passport is the ground
	runs     []int
	unit     string
	lo, hi   student
	mid, at  float64
	negative bool
	only     []ends                       // placements by themselves, of y; nil where they don't count
	linear   func(db ends) model.Estimate // in unit, where that isn't dB

	// Of a passport: the value as it has it, whether that stands on one placement, and the
	// least chance of error that a bound without a value has.
	said  model.Estimate
	once  bool
	least float64
}

// compares says that a claim is about two cables.
func compares(c model.Claim) bool { return c.Kind == model.ClaimLess || c.Kind == model.ClaimSame }

// tests are a claim at each place that it is about. Places where the exposure raised no
// cable say nothing, unless the claim names them.
func (b *bench) tests(c model.Claim) []test {
	var out []test
	for _, x := range b.gathered(c.Quantity) {
		if x.cable != c.Cable || !about(c, x.where) || (c.Exposure == "" && !b.delivered(x.where)) {
			continue
		}
		cells := []*cell{x}
		if compares(c) {
			than := b.cellAt(c.Than, x.where, x.of)
			if than == nil {
				continue
			}
			cells = append(cells, than)
		}
		out = append(out, b.testOf(c, cells))
	}
	return out
}

func (b *bench) testOf(c model.Claim, cells []*cell) test {
	x := cells[0]
	t := test{claim: c, where: x.where, cells: cells, unit: "dB", at: c.DB.Float()}
	var all []*run
	for _, x := range cells {
		all = append(all, x.runs()...)
	}
	t.runs = numbers(all)
	switch c.Kind {
	case model.ClaimLess:
		t.between(less(x, cells[1]))
	case model.ClaimSame:
		t.between(paired(x, cells[1]))
	case model.ClaimRise:
		t.below(x, x.delta, 0, func(r reading) ends { return r.delta })
	case model.ClaimBelow:
		t.unit, t.at, t.linear = "V", 20*math.Log10((c.Volts/b.Settings.FullScaleVolts).Float()), b.inVolts
		t.below(x, x.pickup, b.scaleU(), func(r reading) ends { return r.pickup })
	}
	return t
}

func (t *test) between(d difference) { t.lo, t.hi, t.mid = d.lo, d.hi, d.mid }

// below tests y = −x against −at; u is the standard uncertainty of the scale.
func (t *test) below(c *cell, x means, u float64, only func(reading) ends) {
	t.negative = true
	t.lo, t.hi = x.hi.truth().negative().and(u), x.lo.truth().negative().and(u)
	t.mid, t.at = -x.mid.value, -t.at
	for _, r := range c.readings {
		s := only(r)
		t.only = append(t.only, ends{-s.hi, -s.mid, -s.lo})
	}
}

// judge gives a test's verdict, as one of parts of a claim.
func (t test) judge(b *bench, parts int) model.ClaimPart {
	out := model.ClaimPart{Where: t.where, Verdict: model.Undecided, Value: t.value(b), Unit: t.unit, Runs: t.runs, P: model.None, GuardBand: t.guardBand(b),
		Reasons: []note.Note{}, Decide: []note.Note{}}
	tail := t.tail(b)
	holds, breaks := t.chances(t.lo, t.hi)
	holds = math.Max(holds, t.least)
	switch {
	case holds <= tail:
		out.Verdict, out.P = model.Supported, chance(holds)
	case breaks <= b.tail()/float64(parts):
		out.Verdict, out.P = model.Refuted, chance(breaks)
	}
	t.restrain(b, &out)
	if out.Verdict == model.Undecided {
		out.P = model.None
		if len(out.Reasons) == 0 {
			t.explain(tail, b.tail()/float64(parts), &out)
		}
	}
	return out
}

// chances are those of a claim being supported, and refuted, though it doesn't hold, or
// does, of ends as they are known. Sameness within a margin takes two one-sided tests, of
// which both have to succeed (Schuirmann, Journal of Pharmacokinetics and
// Biopharmaceutics 15, 1987, 657).
func (t test) chances(lo, hi student) (holds, breaks float64) {
	if t.claim.Kind == model.ClaimSame {
		return math.Max(lo.above(-t.at), hi.below(t.at)), math.Min(lo.above(t.at), hi.below(-t.at))
	}
	return lo.above(t.at), hi.below(t.at)
}

// tail is what support may go wrong by. Each of two one-sided tests may take the whole
// 5 %, since a difference can't lie beyond both margins: that is the 90 % interval.
func (t test) tail(b *bench) float64 {
	if t.claim.Kind == model.ClaimSame {
		return b.alpha()
	}
	return b.tail()
}

// value is what was measured, with its interval, in the claim's own unit.
func (t test) value(b *bench) model.Estimate {
	v := ends{t.lo.lower(t.tail(b)), t.mid, t.hi.upper(t.tail(b))}
	if t.negative {
		v = ends{-v.hi, -v.mid, -v.lo}
	}
	switch {
	case t.said.Known():
		return t.said
	case t.linear != nil:
		return t.linear(v)
	}
	return v.estimate()
}

// guardBand is how far on its side of the limit a value has to lie for support.
func (t test) guardBand(b *bench) model.Num {
	db := t.mid - t.lo.lower(t.tail(b))
	if t.linear == nil {
		return decibels(db)
	}
	limit, _, _ := t.linear(ends{math.Inf(-1), -t.at, math.Inf(1)}).Numbers()
	return model.Of(model.Digits(limit*(1-amplitude(-db)), 4))
}
