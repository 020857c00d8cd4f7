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
	c.Late = b.late(c.Written)
	c.Parts, c.Reasons = []model.ClaimPart{}, []note.Note{}
	if c.Kind == model.ClaimBelow {
		c.DB = model.None
	} else {
		c.Volts = model.None
	}
	tests := b.tests(c)
	for _, t := range tests {
		c.Parts = append(c.Parts, t.judge(b, len(tests)))
	}
	c.Verdict, c.P = whole(c.Parts)
	if len(tests) == 0 {
		c.Reasons = append(c.Reasons, b.whyNothing(c))
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

// late says whether a claim was written after the runs began. One that is dated by the
// day alone, on the day of the runs, may be either.
func (b *bench) late(written time.Time) string {
	first := b.first()
	switch {
	case written.IsZero() || first.IsZero():
		return model.LateUnknown
	case written.Truncate(24*time.Hour).Equal(written) && written.Format(time.DateOnly) == first.Format(time.DateOnly):
		return model.LateUnknown
	case written.After(first):
		return model.LateYes
	}
	return model.LateNo
}

// about says that a claim is about a place.
func about(c model.Claim, w model.Where) bool {
	everyOne := !c.Termination.Open && !c.Termination.Ohms.Ok()
	return (everyOne || sameTermination(c.Termination, w.Termination)) && (c.Exposure == "" || c.Exposure == w.Exposure)
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

// test is a claim at one place: y ≥ at, y known by what its lower and upper ends are
// estimated to be. Claims that something stays below a value are tested with its
// negative.
type test struct {
	claim    model.Claim
	cell     *cell
	than     *cell // for less
	lo, hi   student
	mid      float64
	at       float64
	negative bool
	only     []ends // placements by themselves, of y; nil where they don't count
}

// tests are a claim at each place that it is about. Places where the exposure raised no
// cable say nothing, unless the claim names them.
func (b *bench) tests(c model.Claim) []test {
	var out []test
	for _, x := range b.gathered(c.Quantity) {
		if x.cable != c.Cable || !about(c, x.where) || (c.Exposure == "" && !b.delivered(x.where)) {
			continue
		}
		t := test{claim: c, cell: x}
		if c.Kind == model.ClaimLess || c.Kind == model.ClaimSame {
			if t.than = b.cellAt(c.Than, x.where, x.of); t.than == nil {
				continue
			}
		}
		out = append(out, t.filled(b.Settings.FullScaleVolts))
	}
	return out
}

func (t test) filled(fullScale model.Num) test {
	c := t.cell
	switch t.claim.Kind {
	case model.ClaimLess:
		d := less(c, t.than)
		t.lo, t.hi, t.mid, t.at = d.lo, d.hi, d.mid, t.claim.DB.Float()
	case model.ClaimSame:
		d := paired(c, t.than)
		t.lo, t.hi, t.mid, t.at = d.lo, d.hi, d.mid, t.claim.DB.Float()
	case model.ClaimRise:
		t.negate(c.delta, t.claim.DB.Float(), func(r reading) ends { return r.delta })
	case model.ClaimBelow:
		t.negate(c.pickup, 20*math.Log10((t.claim.Volts/fullScale).Float()), func(r reading) ends { return r.pickup })
	}
	return t
}

// negate tests y = −x against −at.
func (t *test) negate(x means, at float64, only func(reading) ends) {
	t.negative = true
	t.lo, t.hi = x.hi.truth().negative(), x.lo.truth().negative()
	t.mid, t.at = -x.mid.value, -at
	for _, r := range t.cell.readings {
		s := only(r)
		t.only = append(t.only, ends{-s.hi, -s.mid, -s.lo})
	}
}

// judge gives a test's verdict, as one of parts of a claim.
func (t test) judge(b *bench, parts int) model.ClaimPart {
	out := model.ClaimPart{Where: t.cell.where, Verdict: model.Undecided, Value: t.value(b), Unit: "dB", Runs: numbers(t.runs()), P: model.None,
		Reasons: []note.Note{}, Decide: []note.Note{}}
	if t.claim.Kind == model.ClaimBelow {
		out.Unit = "V"
	}
	tail := t.tail(b)
	holds, breaks := t.chances(t.lo, t.hi)
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

// cells are those that a test is about.
func (t test) cells() []*cell {
	if t.than == nil {
		return []*cell{t.cell}
	}
	return []*cell{t.cell, t.than}
}

func (t test) runs() (out []*run) {
	for _, c := range t.cells() {
		out = append(out, c.runs()...)
	}
	return out
}

// value is what was measured, with its interval, in the claim's own unit.
func (t test) value(b *bench) model.Estimate {
	v := ends{t.lo.lower(t.tail(b)), t.mid, t.hi.upper(t.tail(b))}
	if t.negative {
		v = ends{-v.hi, -v.mid, -v.lo}
	}
	if t.claim.Kind == model.ClaimBelow {
		return b.inVolts(v)
	}
	return v.estimate()
}
