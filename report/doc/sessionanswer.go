package doc

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/report/model"
)

// SessionHeadline is a session's answer: the claims' verdicts where there are any,
// else the first ranking.
func SessionHeadline(s model.Session) string {
	switch n := len(s.Claims); {
	case n > 0 && n <= mostAnswered:
		var all []string
		for _, c := range s.Claims {
			all = append(all, fmt.Sprintf("%s: “%s”.", upperFirst(c.Verdict), ClaimSays(c)))
		}
		return strings.Join(all, " ")
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

func verdicts(s model.Session, verdict string) (n int) {
	for _, c := range s.Claims {
		if c.Verdict == verdict {
			n++
		}
	}
	return n
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
	used, nears, placements := 0, 0, 0
	for _, r := range s.Runs {
		if r.Used {
			used++
			if r.Condition == model.Near {
				nears++
			}
		}
	}
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
