package doc

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"humdiff/report/model"
)

// ClaimName is how a claim is cited.
func ClaimName(c model.Claim) string {
	if c.Name != "" {
		return Printable(c.Name)
	}
	return fmt.Sprintf("the claim in line %d", c.Line)
}

// ClaimSays is the claimant's own words, or ours where there are none.
func ClaimSays(c model.Claim) string {
	if c.Says != "" {
		return strings.TrimRight(Printable(c.Says), ".")
	}
	return claimCore(c)
}

// ClaimMeans is a claim as it is tested.
func ClaimMeans(c model.Claim) string { return claimCore(c) + ", " + claimWhere(c) }

func claimCore(c model.Claim) string {
	cable := Printable(c.Cable)
	switch c.Kind {
	case model.ClaimLess:
		return fmt.Sprintf("%s picks up at least %s less %s than %s", cable, DB(c.DB), humOver(c.Quantity), Printable(c.Than))
	case model.ClaimBelow:
		return fmt.Sprintf("%s picks up less than %s of %s", cable, SI(c.Volts, "V"), humOver(c.Quantity))
	case model.ClaimRise:
		return fmt.Sprintf("%s of %s rises by at most %s above quiet", humOver(c.Quantity), cable, DB(c.DB))
	}
	return fmt.Sprintf("a claim on %s of the kind “%s”", cable, Printable(c.Kind))
}

func claimWhere(c model.Claim) string {
	given := c.Termination.Open || c.Termination.Ohms.Ok()
	switch {
	case c.Exposure != "" && given:
		return fmt.Sprintf("under exposure %s at %s", Printable(c.Exposure), Termination(c.Termination))
	case c.Exposure != "":
		return "under exposure " + Printable(c.Exposure)
	case given:
		return "at " + Termination(c.Termination)
	}
	return "wherever it was recorded and the exposure raised any cable"
}

// ClaimVerdict is a claim's verdict in one sentence. The claimant's own words may
// not say which hum is meant: a verdict on less than the total says so itself.
func ClaimVerdict(c model.Claim) string {
	said := fmt.Sprintf("%s (%s): “%s”", upperFirst(c.Verdict), ClaimName(c), ClaimSays(c))
	if c.Quantity != (model.Quantity{}) {
		said += ", tested on " + humOver(c.Quantity)
	}
	said += "."
	if len(c.Parts) == 1 {
		said += " Measured: " + PartSaid(c.Parts[0]) + "."
	}
	return said
}

// PartSaid is what was measured of a claim's part.
func PartSaid(p model.ClaimPart) string {
	if p.Unit == "V" {
		return VoltsSaid(p.Value)
	}
	return DBSaid(p.Value)
}

func claimDated(c model.Claim) string {
	by := ""
	if c.By != "" {
		by = " by " + Printable(c.By)
	}
	if c.Written.IsZero() {
		return "Not dated" + by + ": it may have been written after the runs were seen."
	}
	said := "Written " + dated(c.Written) + by
	switch c.Late {
	case model.LateYes:
		return said + ": after the runs began, so it may have been made to fit them."
	case model.LateUnknown:
		return said + ": it can't be told whether that was before the runs."
	}
	return said + ", before the runs."
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
		items := []string{"Claimed: " + ClaimSays(c) + ".", "Tested as: " + ClaimMeans(c) + ".", claimDated(c)}
		items = append(items, each(c.Reasons, Reason)...)
		for _, p := range c.Parts {
			said := fmt.Sprintf("%s: %s. Measured: %s (%s).", upperFirst(Where(p.Where)), p.Verdict, PartSaid(p), Runs(p.Runs))
			for _, n := range p.Reasons {
				said += " " + Reason(n)
			}
			items = append(items, said)
		}
		d.Blocks = append(d.Blocks, Heading{fmt.Sprintf("claim%d", i+1), upperFirst(ClaimName(c)) + ": " + c.Verdict}, List{Items: items})
	}
	return d
}
