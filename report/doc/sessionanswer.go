package doc

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/fft/note"
	"humdiff/report/model"
)

// sessionHeadline is a session's answer: the claims' verdicts where there are any,
// so many in full and more by their names where they have some; else the first
// ranking.
func sessionHeadline(s model.Session, inFull int) string {
	said := map[string]any{"session": s, "full": len(s.Claims) <= inFull, "named": len(s.Claims) <= mostNamed, "ranking": ""}
	by := map[string][]string{model.Supported: nil, model.Refuted: nil, model.Undecided: nil}
	for _, c := range s.Claims {
		by[c.Verdict] = append(by[c.Verdict], claimName(c))
		if c.Name == "" {
			said["named"] = false
		}
	}
	if said["by"] = by; len(s.Rankings) > 0 {
		said["ranking"] = rankingSaid(s.Settings, s.Rankings[0])
	}
	return tellOne("session.headline", said)
}

// mostAnswered is how many claims the answer gives in full, mostNamed how many by
// their names; a caption gives as many in full.
const (
	mostAnswered = 2
	mostNamed    = 8
)

// rankingSaid is what a ranking finds.
func rankingSaid(set model.Settings, r model.Ranking) string {
	said := map[string]any{"at": upperFirst(Where(r.Where)), "ranked": len(r.Places)}
	if len(r.Places) > 0 {
		least, most := r.Places[0], r.Places[len(r.Places)-1]
		with := alikeWith(r, least.Cable)
		said["least"], said["most"], said["pickup"] = Printable(least.Cable), Printable(most.Cable), PickupSaid(set, least.Pickup)
		said["more"], said["with"], said["all"] = apartBy(r, least.Cable, most.Cable), names(with), len(with) == len(r.Places)-1
	}
	return tellOne("ranking", said)
}

// alikeWith are the cables that one can't be told apart from.
func alikeWith(r model.Ranking, cable string) []string {
	var out []string
	for _, p := range r.Pairs {
		switch {
		case p.Apart:
		case p.A == cable:
			out = append(out, p.B)
		case p.B == cable:
			out = append(out, p.A)
		}
	}
	return out
}

func apartBy(r model.Ranking, a, b string) string {
	for _, p := range r.Pairs {
		if p.A == a && p.B == b {
			return dbSaid(p.DB)
		}
	}
	return "an unknown amount"
}

// sessionFound is what a session says besides its answer, the most important first: on a page
// tables have it.
func sessionFound(s model.Session) []string {
	var out []string
	for _, c := range s.Claims {
		out = append(out, tellOne("claim.verdict", c))
	}
	for i, r := range s.Rankings {
		if i > 0 || len(s.Claims) > 0 { // else it is the answer
			out = append(out, rankingSaid(s.Settings, r))
		}
	}
	return out
}

// flatExposures are those at which nothing rose.
func flatExposures(s model.Session) (out []string) {
	for _, e := range s.Exposures {
		if len(e.Rose) == 0 {
			out = append(out, upperFirst(Where(e.Where))+": no cable's hum rose, which shows no difference.")
		}
	}
	return out
}

// besideAnswer are the findings that belong beside the answer.
var besideAnswer = []string{model.DeadAsHigh, model.IdleRises, model.BelowQuiet, model.InBlocks, model.NoOrder, model.QuietMoved, model.GainChanged, model.WitnessDidNot}

func graveFindings(s model.Session) []string {
	var out []string
	for _, f := range s.Findings {
		if slices.Contains(besideAnswer, f.Code) {
			out = append(out, Finding(f))
		}
	}
	return out
}

// sessionStandsOn is how many runs there are, and what the chances of error are.
func sessionStandsOn(s model.Session) []string {
	placements, rankings := 0, 0
	for _, c := range s.Cells {
		if c.Quantity == (model.Quantity{}) {
			placements += c.Placements
		}
	}
	for _, r := range s.Rankings {
		rankings += min(1, len(r.Pairs)) // where one cable is ranked alone nothing is told apart
	}
	var falls []string
	for _, c := range s.Claims {
		if c.Verdict != model.Undecided && !c.Together {
			falls = append(falls, claimName(c))
		}
	}
	alpha := 1 - s.Settings.Confidence
	return tell("session.stands", map[string]any{"session": s, "placements": placements, "rankings": rankings, "falls": falls,
		"used":  count(s.Runs, func(r model.Run) bool { return r.Used }),
		"nears": count(s.Runs, func(r model.Run) bool { return r.Used && r.Condition == model.Near }),
		"alpha": alpha, "tail": alpha / 2, "together": min(1, float64(rankings)*alpha)})
}

// as is what a note says in a role: "finding", "reason", "decide", "answer". Texts
// from outside are made harmless here, once.
func as(role string, n model.Note, more ...any) string {
	args := slices.Concat(n.Args, note.New("", more...).Args)
	for i, a := range args {
		if s, ok := a.Value.(string); ok {
			args[i].Value = Printable(s)
		}
	}
	return Says(note.Note{Code: role + "." + n.Code, Args: args})
}

// Finding says a finding, with the runs it is of.
func Finding(f model.Finding) string {
	return as("finding", f.Note, "at", upperFirst(Where(f.Where)), "cable", f.Cable, "runs", f.Runs, "change", changeIn(f.Note))
}

// reason says why a verdict is not more than it is.
func reason(n model.Note) string { return as("reason", n) }

// decide says what would decide a claim.
func decide(n model.Note) string {
	if n.Get("cable") == nil {
		return as("decide", n, "cable", "")
	}
	return as("decide", n)
}

// objects is what a hostile reader would say.
func objects(o model.Objection) string { return as("objection", note.New(o.Code)) }

// settle is what to record for an objection that is open: not what was recorded already.
func settle(o model.Objection) string {
	if !isOpen(o) {
		return ""
	}
	var answers []any
	for _, n := range o.Notes {
		answers = append(answers, n.Code, true)
	}
	return as("settle", note.New(o.Code), answers...)
}

// answered is what runs say to an objection.
func answered(o model.Objection) string {
	return strings.Join(each(o.Notes, func(n model.Note) string { return as("answer", n) }), " ")
}

// isOpen says that something could still be recorded for an objection.
func isOpen(o model.Objection) bool { return o.State == model.NotTested || o.State == model.Open }

// dbSaid writes a value in dB with its interval, or what there is of it, e.g.
// "14.2 dB (13.1 to 15.3)", "−1.3 to 4.5 dB", "at most 3.1 dB". A range has no
// value, and is given none.
func dbSaid(e model.Estimate) string { return inDB(e, "dB") }

func inDB(e model.Estimate, unit string) string {
	lo, hi := ends(e)
	v := value(e)
	switch {
	case lo.Ok() && hi.Ok() && v.Ok():
		return fmt.Sprintf("%s %s (%s to %s)", Fixed(v, 1), unit, Fixed(lo, 1), Fixed(hi, 1))
	case lo.Ok() && hi.Ok():
		return between(Fixed(lo, 1), Fixed(hi, 1)) + " " + unit
	case lo.Ok():
		return "at least " + Fixed(down(lo), 1) + " " + unit
	case hi.Ok():
		return "at most " + Fixed(up(hi), 1) + " " + unit
	case v.Ok():
		return Fixed(v, 1) + " " + unit + ", without an interval"
	}
	return "not known"
}

// PickupSaid writes a pickup in volts where the scale is known, else in dB re full
// scale.
func PickupSaid(set model.Settings, dbfs model.Estimate) string {
	volts := PickupVolts(set, dbfs)
	if _, ok := volts.Upper(); ok || volts.Measured() {
		return withEnds(volts, "V")
	}
	return inDB(dbfs, "dBFS")
}

// PickupVolts is a session's pickup in volts; unknown without a scale.
func PickupVolts(set model.Settings, dbfs model.Estimate) model.Estimate {
	scale, _ := set.ScaleOf(model.ForAll)
	scale.FullScaleVolts = set.FullScaleVolts
	return scale.InVolts(dbfs)
}

// humOver names the quantity that is judged.
func humOver(q model.Quantity) string {
	switch {
	case q.Harmonic > 0:
		return fmt.Sprintf("harmonic %d", q.Harmonic)
	case q.AWeighted:
		return "A-weighted hum"
	}
	return "hum"
}

// pAtMost writes a p value as a bound: rounded up, and never as zero.
func pAtMost(p model.Num) string {
	switch {
	case !p.Ok():
		return ""
	case p < 0.0001:
		return "p < 0.0001"
	case p < 0.01:
		return "p ≤ " + trimZeros(Fixed(roundedUp(p, 1e4), 4))
	}
	return "p ≤ " + trimZeros(Fixed(roundedUp(p, 100), 2))
}

func roundedUp(p model.Num, per float64) model.Num {
	return model.Num(math.Ceil(float64(p)*per-1e-9) / per)
}

// changeIn is a note's value in dB with its interval.
func changeIn(n model.Note) string {
	v, lo, hi := n.Num("db"), n.Num("lo_db"), n.Num("hi_db")
	if math.IsNaN(v) {
		return dbSaid(estimate.Between(lo, hi))
	}
	return dbSaid(estimate.Of(v, lo, hi))
}
