package verdict

import (
	"math"
	"slices"
	"time"

	"humdiff/report/repeats"
	"humdiff/report/result"
	"humdiff/report/session"
)

// nearResidual is how far above the residual quiet may lie, in dB, for a rise
// over quiet to mean anything: at most twice the voltage. Common practice, no
// source.
const nearResidual = 6

// mostPlacements is beyond what anybody would record.
const mostPlacements = 60

func note(code string) result.Note {
	return result.Note{Code: code, Runs: []int{}, DB: result.None, Times: result.None}
}

func cableNote(code, cable string) result.Note {
	n := note(code)
	n.Cable = cable
	return n
}

func dbNote(code string, db float64) result.Note {
	n := note(code)
	n.DB = result.Of(db)
	return n
}

// claims judges all claims.
func (b *bench) claims() []result.ClaimResult {
	out := []result.ClaimResult{}
	for _, c := range b.in.Session.Claims {
		out = append(out, b.claim(c))
	}
	b.together(out)
	return out
}

// together says which verdicts still stand when all claims of the session are
// to be right at once.
func (b *bench) together(claims []result.ClaimResult) {
	p := make([]float64, len(claims))
	for i, c := range claims {
		if p[i] = 1; c.P.Ok() {
			p[i] = float64(c.P)
		}
	}
	for i, adjusted := range repeats.Holm(p) {
		claims[i].Together = claims[i].Verdict != result.Undecided && adjusted <= 1-b.in.Settings.Confidence
	}
}

func (b *bench) claim(c session.Claim) result.ClaimResult {
	out := result.ClaimResult{
		Name: c.Name, Says: c.Says, By: c.By, Written: instant(c.Written), Late: b.late(c.Written), Line: c.Line, P: result.None,
		Kind: string(c.Kind), Cable: c.Cable, Than: c.Than, DB: result.None, Volts: result.None,
		Termination: termination(c.Termination), Exposure: c.Exposure, Quantity: asked(c.Of),
		Verdict: result.Undecided, Parts: []result.ClaimPart{}, Reasons: []result.Note{},
	}
	if c.Kind == session.Below {
		out.Volts = result.Of(c.Volts)
	} else {
		out.DB = result.Of(c.DB)
	}
	tests := b.tests(c)
	for _, t := range tests {
		out.Parts = append(out.Parts, t.judge(b, len(tests)))
	}
	out.Verdict, out.P = b.whole(out.Parts, len(tests))
	if len(tests) == 0 {
		out.Reasons = append(out.Reasons, b.whyNothing(c))
	}
	return out
}

// whole is the verdict over all parts. A claim that is made of every part is
// refuted where any is, each at its share of the error, and supported where all
// are, each at the whole (an intersection of tests needs no more).
func (b *bench) whole(parts []result.ClaimPart, n int) (string, result.Num) {
	least, most, all := math.Inf(1), 0.0, n > 0
	for _, p := range parts {
		switch p.Verdict {
		case result.Refuted:
			least = math.Min(least, float64(p.P)*float64(n))
			all = false
		case result.Supported:
			most = math.Max(most, float64(p.P))
		default:
			all = false
		}
	}
	switch {
	case !math.IsInf(least, 1):
		return result.Refuted, result.Of(math.Min(1, least))
	case all:
		return result.Supported, result.Of(most)
	}
	return result.Undecided, result.None
}

// late says whether a claim was written after the runs began. One that is dated
// by the day alone, on the day of the runs, may be either.
func (b *bench) late(written time.Time) string {
	first := b.first()
	switch {
	case written.IsZero() || first.IsZero():
		return result.LateUnknown
	case written.Truncate(24*time.Hour).Equal(written) && sameDay(written, first):
		return result.LateUnknown
	case written.After(first):
		return result.LateYes
	}
	return result.LateNo
}

func sameDay(a, b time.Time) bool {
	return a.Format(time.DateOnly) == b.Format(time.DateOnly)
}

// test is a claim at one place: y ≥ at, y known by what its lower and upper
// ends are estimated to be. Claims that something stays below a value are
// tested with its negative.
type test struct {
	claim    session.Claim
	where    result.Where
	of       result.Quantity
	cell     *cell
	than     *cell // for less
	lo, hi   repeats.Estimate
	mid      float64
	at       float64
	negative bool
	only     []span // placements by themselves, of y; nil where they don't count
}

// tests are a claim at each place that it is about. Places where the exposure
// raised no cable say nothing, unless the claim names them.
func (b *bench) tests(c session.Claim) []test {
	var out []test
	for _, x := range b.gathered(asked(c.Of)) {
		if x.cable != c.Cable || !about(c, x.where) || (c.Exposure == "" && !b.delivered(x.where)) {
			continue
		}
		t := test{claim: c, where: x.where, of: x.of, cell: x}
		if c.Kind == session.Less {
			if t.than = b.cellAt(c.Than, x.where, x.of); t.than == nil {
				continue
			}
		}
		out = append(out, t.filled())
	}
	return out
}

func about(c session.Claim, w result.Where) bool {
	return (math.IsNaN(c.Termination) || sameTermination(termination(c.Termination), w.Termination)) &&
		(c.Exposure == "" || c.Exposure == w.Exposure)
}

// whyNothing says why a claim has no place to be tested at.
func (b *bench) whyNothing(c session.Claim) result.Note {
	for _, w := range b.places() {
		if about(c, w) && b.cellAt(c.Cable, w, result.Quantity{}) != nil && !b.delivered(w) {
			return note(result.NotDelivered)
		}
	}
	return note(result.NoRuns)
}

func (t test) filled() test {
	c := t.cell
	switch t.claim.Kind {
	case session.Less:
		d := less(c, t.than)
		t.lo, t.hi, t.mid, t.at = d.lo, d.hi, d.mid, t.claim.DB
	case session.Rise:
		t.negate(c.delta, t.claim.DB, func(r reading) span { return r.delta })
	case session.Below:
		t.negate(c.pickup, math.NaN(), func(r reading) span { return r.pickup })
	}
	return t
}

// negate tests y = −x against −at.
func (t *test) negate(x ends3, at float64, only func(reading) span) {
	lo, hi := x.lo.Estimate(), x.hi.Estimate()
	t.negative = true
	t.lo, t.hi = repeats.Estimate{Value: -hi.Value, U: hi.U, DOF: hi.DOF}, repeats.Estimate{Value: -lo.Value, U: lo.U, DOF: lo.DOF}
	t.mid, t.at = -x.mid.Value, -at
	for _, r := range t.cell.readings {
		s := only(r)
		t.only = append(t.only, span{-s.hi, -s.mid, -s.lo})
	}
}

// judge gives a test's verdict, as one of parts of a claim.
func (t test) judge(b *bench, parts int) result.ClaimPart {
	if t.claim.Kind == session.Below && b.in.Settings.FullScaleVolts.Ok() {
		t.at = -20 * math.Log10(t.claim.Volts/float64(b.in.Settings.FullScaleVolts))
	}
	out := result.ClaimPart{Where: t.where, Verdict: result.Undecided, Unit: "dB", Runs: numbers(t.runs()), P: result.None,
		Reasons: []result.Note{}, Decide: []result.Note{}}
	out.Value = t.value(b)
	if t.claim.Kind == session.Below {
		out.Unit = "V"
	}
	tail := b.tail()
	holds, breaks := t.lo.Above(t.at), t.hi.Below(t.at)
	switch {
	case holds <= tail:
		out.Verdict, out.P = result.Supported, result.Of(holds)
	case breaks <= tail/float64(parts):
		out.Verdict, out.P = result.Refuted, result.Of(breaks)
	}
	t.restrain(b, &out)
	if out.Verdict == result.Undecided {
		out.P = result.None
		if len(out.Reasons) == 0 {
			t.explain(b, tail/float64(parts), &out)
		}
	}
	return out
}

func (t test) runs() []run {
	out := t.cell.runs()
	if t.than != nil {
		out = append(out, t.than.runs()...)
	}
	return out
}

// value is what was measured, with its interval, in the claim's own unit.
func (t test) value(b *bench) result.Interval {
	lo, hi, mid := t.lo.Lower(b.tail()), t.hi.Upper(b.tail()), t.mid
	if t.negative {
		lo, hi, mid = -hi, -lo, -mid
	}
	v := result.Interval{Value: result.Of(mid), Lo: result.Of(lo), Hi: result.Of(hi)}
	if t.claim.Kind == session.Below {
		return b.inVolts(v, math.IsInf(lo, -1) && v.Hi.Ok())
	}
	return v
}

// restrain takes back a verdict that the controls don't bear out, and says why.
func (t test) restrain(b *bench, p *result.ClaimPart) {
	undo := func(why result.Note, decide ...result.Note) {
		p.Verdict = result.Undecided
		p.Reasons, p.Decide = append(p.Reasons, why), append(p.Decide, decide...)
	}
	if t.claim.Kind == session.Below && !b.in.Settings.FullScaleVolts.Ok() {
		undo(note(result.ScaleUnknown), note(result.GiveScale))
		return
	}
	for _, c := range []*cell{t.cell, t.than} {
		if c != nil && c.n() < 2 {
			n := cableNote(result.MorePlacements, c.cable)
			n.Count = 3
			undo(cableNote(result.OnePlacement, c.cable), n)
		}
	}
	if p.Verdict == result.Undecided {
		return
	}
	// What the unplugged lead does too is no pickup of the mains. It can't make a
	// change smaller than it is, so a claim that there is little of it may stand.
	for _, c := range []*cell{t.cell, t.than} {
		if c == nil || (t.negative && p.Verdict == result.Supported) {
			continue
		}
		if d := b.dead(c); d.asHigh {
			n := cableNote(result.DeadAsHigh, c.cable)
			n.Runs = numbers(d.runs)
			undo(n, cableNote(result.ExplainDead, c.cable))
		}
	}
	if t.negative && p.Verdict == result.Supported {
		t.restrainAbsolute(b, undo)
		if answer, elsewhere := b.witness(t.where); elsewhere && answer == result.Yes {
			p.Reasons = append(p.Reasons, note(result.WitnessElsewhere))
		}
	}
	if t.claim.Kind == session.Less && p.Verdict == result.Supported && !t.cell.rose && !t.than.rose {
		undo(note(result.NotDelivered), note(result.StrongerLead))
	}
	if t.claim.Kind == session.Rise && p.Verdict == result.Refuted {
		t.explainNoise(b, p)
	}
}

// explainNoise says of a refuted rise why a noisy bench doesn't take it back. With
// x the pickup over quiet in amplitude, the rise is |1 + x·e^(iφ)|. Where that is
// above 1, x > −2cos φ, so its square's slope 2(cos φ + x) is positive: a quieter
// bench, which makes x larger, shows more of a rise, whatever the phase.
func (t test) explainNoise(b *bench, p *result.ClaimPart) {
	switch above, known := b.aboveResidual(t.cell, t.of); {
	case !known:
		p.Reasons = append(p.Reasons, note(result.NoisyRefutes))
	case above > nearResidual:
		p.Reasons = append(p.Reasons, dbNote(result.NoisyRefutes, above))
	}
}

// restrainAbsolute asks of a claim that there is little hum whether there would
// have been any to see.
func (t test) restrainAbsolute(b *bench, undo func(result.Note, ...result.Note)) {
	for _, s := range t.only {
		if s.hi < t.at {
			undo(note(result.PlacementBeyond), note(result.MorePlacements))
			break
		}
	}
	answer, _ := b.witness(t.where)
	switch answer {
	case "":
		undo(note(result.NoWitness), note(result.RecordWitness))
	case result.No:
		undo(note(result.WitnessDidNot), note(result.StrongerLead))
	}
	if t.claim.Kind != session.Rise {
		return
	}
	switch above, known := b.aboveResidual(t.cell, t.of); {
	case !known:
		undo(note(result.NoResidual), note(result.RecordResidual))
	case above > nearResidual:
		undo(dbNote(result.NoisyBench, above), dbNote(result.QuieterBench, above-nearResidual))
	}
}

// aboveResidual is how far quiet may lie above the residual, dB: the upper end
// over all quiet runs of a cell, each against the residual run nearest to it.
// Quiet without hum lies at the residual.
func (b *bench) aboveResidual(c *cell, of result.Quantity) (db float64, known bool) {
	residuals := b.each(func(r run) bool { return r.Condition == session.Residual })
	if len(residuals) == 0 {
		return 0, false
	}
	db = math.Inf(-1)
	for _, r := range c.readings {
		for _, q := range r.quiets() {
			near := slices.MinFunc(residuals, func(x, y run) int { return abs(x.at-q.at) - abs(y.at-q.at) })
			s := b.compare(near, q, of)
			switch {
			case !s.quiet.Detected && !s.near.Detected:
				db = math.Max(db, 0)
			default:
				db = math.Max(db, s.delta.hi)
			}
		}
	}
	if math.IsInf(db, 1) {
		// The residual has no hum: only its limit is known.
		db = b.aboveLimit(c, residuals, of)
	}
	return db, true
}

// aboveLimit is how far quiet's hum lies above the limit of residuals without any.
func (b *bench) aboveLimit(c *cell, residuals []run, of result.Quantity) float64 {
	most := math.Inf(-1)
	for _, r := range c.readings {
		for _, q := range r.quiets() {
			s := b.compare(residuals[0], q, of)
			_, hi := ends(s.near)
			_, limit := ends(s.quiet)
			most = math.Max(most, 10*math.Log10(hi/limit))
		}
	}
	return most
}

func abs(x int) int { return max(x, -x) }

// explain says why nothing follows from the numbers, and what it would take.
func (t test) explain(b *bench, tail float64, p *result.ClaimPart) {
	if math.IsInf(t.lo.Value, -1) && math.IsInf(t.hi.Value, 1) {
		p.Reasons, p.Decide = append(p.Reasons, note(result.Unbounded)), append(p.Decide, note(result.RecordRuns))
		return
	}
	p.Reasons = append(p.Reasons, note(result.Straddles))
	if n := t.placements(b.tail(), tail); n > 0 {
		d := note(result.MorePlacements)
		d.Count = n
		p.Decide = append(p.Decide, d)
		return
	}
	p.Decide = append(p.Decide, t.narrow()...)
}

// placements is how many of each cable would decide the claim, if they came out
// and scattered as those there are; 0 where no number would, as the range of
// the pickup itself holds what is claimed.
func (t test) placements(holds, breaks float64) int {
	n := t.cell.n()
	if t.than != nil {
		n = min(n, t.than.n())
	}
	for more := n + 1; more <= mostPlacements; more++ {
		grown := func(e repeats.Estimate) repeats.Estimate {
			return repeats.Estimate{Value: e.Value, U: e.U * math.Sqrt(float64(n)/float64(more)), DOF: float64(more - 1)}
		}
		if grown(t.lo).Above(t.at) <= holds || grown(t.hi).Below(t.at) <= breaks {
			return more
		}
	}
	return 0
}

// narrow says what would make the ranges narrower, where no number of
// placements decides: less hum without the lead where that is what makes them
// wide, a lower floor where one end is a detection limit, a steadier bench for
// a rise, which is as wide as quiet drifts.
func (t test) narrow() []result.Note {
	if t.claim.Kind == session.Rise {
		if math.IsInf(t.lo.Value, -1) {
			return []result.Note{note(result.FindQuiet)}
		}
		return []result.Note{note(result.SteadierBench)}
	}
	margin := math.Abs(t.mid - t.at)
	if t.than != nil {
		margin /= 2 // each of the two may take half
	}
	var out []result.Note
	for _, c := range []*cell{t.cell, t.than} {
		if c == nil {
			continue
		}
		if db := c.quietLowerBy(margin); db > 0 {
			n := cableNote(result.LowerQuiet, c.cable)
			n.DB = result.Of(db)
			out = append(out, n)
		}
	}
	if short := t.at - t.lo.Value; t.cell.unseen() && short > 0 && !math.IsInf(short, 0) {
		n := cableNote(result.LowerFloor, t.cell.cable)
		n.DB, n.Times = result.Of(short), result.Of(math.Pow(10, short/5))
		out = append(out, n)
	}
	if len(out) == 0 {
		out = append(out, note(result.MorePlacements))
	}
	return out
}

// unseen says that hum wasn't found near in some reading, so that the upper end
// is a detection limit. Beyond 10 s that falls with the square root of the
// recording's length in power, 5 dB for ten times as long.
func (c *cell) unseen() bool {
	return slices.ContainsFunc(c.readings, func(r reading) bool { return !r.found })
}

// quietLowerBy is by how many dB quiet has to be lower for the range of a
// pickup to reach no farther than margin below its value; 0 where it is already.
func (c *cell) quietLowerBy(margin float64) float64 {
	rise := c.delta.mid.Value
	share := 1 - math.Pow(10, -margin/20) // of near that quiet may be
	if math.IsNaN(rise) || !(share > 0) {
		return 0
	}
	return math.Max(0, -20*math.Log10(share)-rise)
}
