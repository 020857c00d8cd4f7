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

// SessionHeadline is a session's answer: the claims' verdicts where there are any,
// else the first ranking.
func SessionHeadline(s model.Session) string {
	switch n := len(s.Claims); {
	case n > 0 && n <= mostAnswered:
		return strings.Join(each(s.Claims, func(c model.Claim) string { return fmt.Sprintf("%s: “%s”.", upperFirst(c.Verdict), ClaimSays(c)) }), " ")
	case n > 0:
		if named := claimsByVerdict(s); named != "" {
			return named
		}
		var all []string
		for _, v := range []string{model.Supported, model.Refuted, model.Undecided} {
			if k := verdicts(s, v); k > 0 {
				all = append(all, fmt.Sprintf("%d %s", k, v))
			}
		}
		return fmt.Sprintf("Of %d claims: %s.", n, and(all))
	case len(s.Rankings) > 0:
		return RankingSaid(s.Settings, s.Rankings[0])
	case len(s.Cells) == 0:
		return "No near run could be compared with a quiet one."
	}
	return "No exposure raised the hum of any cable: the session shows no difference."
}

// mostAnswered is how many claims the answer gives in full, mostNamed how many by
// their names.
const (
	mostAnswered = 2
	mostNamed    = 8
)

// claimsByVerdict names the claims under each verdict; empty where one has no name,
// or they are too many.
func claimsByVerdict(s model.Session) string {
	if len(s.Claims) > mostNamed {
		return ""
	}
	var said []string
	for _, v := range []string{model.Supported, model.Refuted, model.Undecided} {
		var of []string
		for _, c := range s.Claims {
			if c.Name == "" {
				return ""
			}
			if c.Verdict == v {
				of = append(of, ClaimName(c))
			}
		}
		if len(of) > 0 {
			said = append(said, upperFirst(v)+": "+and(of)+".")
		}
	}
	return strings.Join(said, " ")
}

func verdicts(s model.Session, verdict string) int {
	return count(s.Claims, func(c model.Claim) bool { return c.Verdict == verdict })
}

// RankingSaid is what a ranking finds.
func RankingSaid(set model.Settings, r model.Ranking) string {
	at := upperFirst(Where(r.Where))
	if len(r.Places) == 0 {
		return fmt.Sprintf("%s: no cable can be ranked, since each was placed once only.", at)
	}
	least, most := r.Places[0], r.Places[len(r.Places)-1]
	name, pickup := Printable(least.Cable), PickupSaid(set, least.Pickup)
	if len(r.Places) == 1 {
		return fmt.Sprintf("%s: %s picks up %s. No other cable can be compared with it.", at, name, pickup)
	}
	with := alikeWith(r, least.Cable)
	switch {
	case len(with) == len(r.Places)-1:
		return fmt.Sprintf("%s: %s can't be told apart from any other cable.", at, name)
	case len(with) == 0:
		return fmt.Sprintf("%s: %s picks up least, %s. %s picks up %s more.", at, name, pickup, Printable(most.Cable), apartBy(r, least.Cable, most.Cable))
	}
	return fmt.Sprintf("%s: %s picks up least, but can't be told apart from %s. %s picks up %s more than %s.", at, name, names(with),
		Printable(most.Cable), apartBy(r, least.Cable, most.Cable), name)
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
			return DBSaid(p.DB)
		}
	}
	return "an unknown amount"
}

// sessionFound is what a session says besides its answer, the most important first.
func sessionFound(s model.Session) []string {
	var out []string
	for _, c := range s.Claims {
		out = append(out, ClaimVerdict(c))
	}
	for i, r := range s.Rankings {
		if i > 0 || len(s.Claims) > 0 { // else it is the answer
			out = append(out, RankingSaid(s.Settings, r))
		}
	}
	for _, e := range s.Exposures {
		if len(e.Rose) == 0 {
			out = append(out, fmt.Sprintf("%s: no cable's hum rose. That shows no difference between them, and no claim stands on it.", upperFirst(Where(e.Where))))
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
	used := count(s.Runs, func(r model.Run) bool { return r.Used })
	nears := count(s.Runs, func(r model.Run) bool { return r.Used && r.Condition == model.Near })
	placements := 0
	for _, c := range s.Cells {
		if c.Quantity == (model.Quantity{}) {
			placements += c.Placements
		}
	}
	out := []string{fmt.Sprintf("This stands on %d of %s, %d of them near, with the lead placed %s.", used, Count(len(s.Runs), "run"), nears, times(placements))}
	return append(append(out, chancesOfRankings(s)...), chancesOfClaims(s)...)
}

func chancesOfRankings(s model.Session) []string {
	n := 0
	for _, r := range s.Rankings {
		n += min(1, len(r.Pairs)) // where one cable is ranked alone nothing is told apart
	}
	if n == 0 {
		return nil
	}
	alpha := 1 - s.Settings.Confidence
	said := fmt.Sprintf("In each ranking any two cables are wrongly told apart with a chance of at most %s", Percent(alpha))
	if n > 1 {
		said += fmt.Sprintf("; in all %d together, of at most %s", n, Percent(min(1, float64(n)*alpha)))
	}
	return []string{said + "."}
}

func chancesOfClaims(s model.Session) []string {
	n, tail := len(s.Claims), (1-s.Settings.Confidence)/2
	if n == 0 {
		return nil
	}
	out := []string{fmt.Sprintf("A verdict by itself is wrong with a chance of at most %s.", Percent(tail))}
	if n == 1 {
		return out
	}
	var falls []string
	for _, c := range s.Claims {
		if c.Verdict != model.Undecided && !c.Together {
			falls = append(falls, ClaimName(c))
		}
	}
	if len(falls) == 0 {
		return append(out, fmt.Sprintf("All verdicts also hold at %s joint confidence.", Percent(s.Settings.Confidence)))
	}
	return append(out, fmt.Sprintf("At %s joint confidence these would be undecided: %s.", Percent(s.Settings.Confidence), and(falls)))
}

// ChancesHold is the condition of every chance of error that a session states.
var ChancesHold = []string{
	"The chances of error given hold if each placement is an independent, random draw, scattered evenly in decibels.",
	"So the lead has to be put back without regard to what it did, and no run selected for its result.",
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
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

// Reason says why a verdict is not more than it is.
func Reason(n model.Note) string { return as("reason", n) }

// Decide says what would decide a claim.
func Decide(n model.Note) string {
	if n.Get("cable") == nil {
		return as("decide", n, "cable", "")
	}
	return as("decide", n)
}

// Objects is what a hostile reader would say; Settle what to record for it.
func Objects(code string) string { return as("objection", note.New(code)) }
func Settle(code string) string  { return as("settle", note.New(code)) }

// Answers is what runs say to an objection.
func Answers(o model.Objection) string {
	return strings.Join(each(o.Notes, func(n model.Note) string { return as("answer", n) }), " ")
}

// ObjectionState says how an objection stands.
func ObjectionState(state string) string {
	return map[string]string{model.Answered: "answered", model.Open: "not settled", model.Upheld: "upheld: the runs speak for it", model.NotTested: "not tested"}[state]
}

// isOpen says that something could still be recorded for an objection.
func isOpen(o model.Objection) bool { return o.State == model.NotTested || o.State == model.Open }

// DBSaid writes a value in dB with its interval, or what there is of it, e.g.
// "14.2 dB (13.1 to 15.3)", "−1.3 to 4.5 dB", "at most 3.1 dB". A range has no
// value, and is given none.
func DBSaid(e model.Estimate) string { return inDB(e, "dB") }

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

// VoltsSaid writes a voltage with its interval, or what there is of it.
func VoltsSaid(e model.Estimate) string {
	lo, hi := ends(e)
	v := value(e)
	switch {
	case lo.Ok() && hi.Ok() && v.Ok() && lo > 0:
		return SI(v, "V") + " (" + siRange(lo, hi, "V") + ")"
	case lo.Ok() && hi.Ok() && lo > 0:
		return siRange(lo, hi, "V")
	case hi.Ok():
		return "at most " + SI(hi, "V")
	case lo.Ok() && lo > 0:
		return "at least " + SI(lo, "V")
	case v.Ok():
		return SI(v, "V") + ", without an interval"
	}
	return "not known"
}

// PickupSaid writes a pickup in volts where the scale is known, else in dB re full
// scale.
func PickupSaid(set model.Settings, dbfs model.Estimate) string {
	volts := PickupVolts(set, dbfs)
	if _, ok := volts.Upper(); ok || volts.Measured() {
		return VoltsSaid(volts)
	}
	return inDB(dbfs, "dBFS")
}

// PickupVolts is a session's pickup in volts; unknown without a scale.
func PickupVolts(set model.Settings, dbfs model.Estimate) model.Estimate {
	return model.Scale{FullScaleVolts: set.FullScaleVolts}.InVolts(dbfs)
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

// PAtMost writes a p value as a bound: rounded up, and never as zero.
func PAtMost(p model.Num) string {
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
		return DBSaid(estimate.Between(lo, hi))
	}
	return DBSaid(estimate.Of(v, lo, hi))
}
