package doc

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"humdiff/report/model"
)

// claimName is how a claim is cited.
func claimName(c model.Claim) string {
	if c.Name != "" {
		return Printable(c.Name)
	}
	return fmt.Sprintf("the claim in line %d", c.Line)
}

// claimSays is the claimant's own words, or ours where there are none.
func claimSays(c model.Claim) string {
	if c.Says != "" {
		return strings.TrimRight(Printable(c.Says), ".")
	}
	return tellOne("claim.core", c)
}

// partSaid is what was measured of a claim's part.
func partSaid(p model.ClaimPart) string {
	if p.Unit == "dB" {
		return dbSaid(p.Value)
	}
	return withEnds(p.Value, p.Unit)
}

// dated is a time without what a date alone doesn't have; empty where unknown.
func dated(t time.Time) string {
	return strings.TrimSuffix(stamp(t), "T00:00:00Z")
}

// stamp is a time as files have it (RFC 3339); empty where unknown.
func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}

// appendOnce adds to a list what isn't in it.
func appendOnce(list []string, more ...string) []string {
	for _, s := range more {
		if !slices.Contains(list, s) {
			list = append(list, s)
		}
	}
	return list
}

func claimDetails(s model.Session) Section {
	d := Section{ID: "tested", Title: "How each claim was tested", Folded: true}
	for i, c := range s.Claims {
		d.Blocks = append(d.Blocks, Heading{fmt.Sprintf("claim%d", i+1), upperFirst(claimName(c)) + ": " + c.Verdict}, List{Items: tell("claim.details", c)})
	}
	return d
}
