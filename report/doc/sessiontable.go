package doc

import (
	"fmt"
	"iter"
	"slices"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// SessionRuns lists every run of a session, those that aren't used with the reason.
// link names the page of a run's own figures; empty: it has none.
func SessionRuns(s model.Session, link func(run int) string) Table {
	t := Table{ID: "allruns", Title: "Runs", Sorts: true, Columns: []Column{
		{Head: "run", Plain: []string{"run"}},
		{Head: "cable", Plain: []string{"cable"}, Left: true},
		{Head: "condition", Plain: []string{"condition"}, Left: true},
		{Head: "exposure", Plain: []string{"exposure"}, Left: true},
		{Head: "termination", Plain: []string{"termination_ohms", "open"}},
		{Head: "repeat", Plain: []string{"repeat", "lead_replaced", "plug", "lead_loaded", "load_amps", "far_device_bonded"}},
		{Head: "start", Plain: []string{"start"}},
		{Head: "hum", Unit: "dBFS", Plain: levelPlain("hum_", "dbfs")},
		{Head: "file", Plain: []string{"file", "measured", "sha256"}, Left: true},
		{Head: "used", Plain: []string{"used", "left_out", "note"}, Left: true},
	}}
	for _, r := range s.Runs {
		cells := runCells(r)
		cells[0].Link = link(r.Number)
		t.Rows = append(t.Rows, Row{Shown: true, Cells: cells})
	}
	return t
}

func runCells(r model.Run) []Cell {
	hum, sha := estimate.None(""), ""
	if r.Capture != nil {
		hum, sha = r.Capture.Hum.Level, r.Capture.SHA256
	}
	used, where, file := "yes", Termination(r.Termination), r.Address
	if !r.Used {
		used = "no: " + whyNotUsed(r)
	}
	if r.Condition == model.Residual && !r.Termination.Ohms.Ok() {
		where = ""
	}
	if file == "" {
		file = r.Measured
	}
	shown := condition(r.Condition)
	return []Cell{
		countCell(r.Number), worded(r.Cable),
		{Text: shown, Plain: []any{r.Condition}}, worded(r.Exposure),
		{Text: where, Plain: []any{r.Termination.Ohms, r.Termination.Open}},
		{Text: repeatSaid(r), Plain: []any{r.Repeat, r.Replaced, r.Plug, r.Loaded, r.LoadAmps, r.Bonded}, Value: r.Repeat},
		{Text: dated(r.Start), Plain: []any{stamp(r.Start)}},
		{Text: humSaid(hum), Plain: levelNumbers(hum), Value: value(hum)},
		{Text: File(file), Plain: []any{r.Address, r.Measured, sha}},
		{Text: used, Plain: []any{r.Used, r.LeftOut, r.Note}},
	}
}

func humSaid(e model.Estimate) string {
	if !e.Known() {
		return unknown
	}
	return levelShort(e)
}

func repeatSaid(r model.Run) string {
	switch {
	case r.Repeat == 0:
		return ""
	case r.Condition == model.Near && r.Repeat > 1 && !r.Replaced:
		return fmt.Sprintf("%d, lead not replaced", r.Repeat)
	}
	return fmt.Sprint(r.Repeat)
}

func worded(s string) Cell { return Cell{Text: Printable(s), Plain: []any{s}} }

func yesNo(b bool) Cell {
	return Cell{Text: map[bool]string{true: "yes", false: "no"}[b], Plain: []any{b}}
}

var placeNames = []string{"exposure", "termination_ohms", "open", "lead_loaded", "far_device_bonded"}

func placeOf(w model.Where) []any {
	return []any{w.Exposure, w.Termination.Ohms, w.Termination.Open, w.Loaded, w.Bonded}
}

func whereCell(w model.Where) Cell { return Cell{Text: Where(w), Plain: placeOf(w)} }

func intervalNames(of, unit string) []string {
	return []string{of + "_" + unit, of + "_lo_" + unit, of + "_hi_" + unit}
}

func three(e model.Estimate) []any {
	lo, hi := ends(e)
	return []any{value(e), lo, hi}
}

var pickupNames = append(intervalNames("pickup", "dbfs"), intervalNames("pickup", "volts")...)

// pickupOf is a pickup in volts where the scale is known; in volts a lower end that
// isn't known is zero.
func pickupOf(set model.Settings, e model.Estimate) Cell {
	volts := three(PickupVolts(set, e))
	if hi, ok := volts[2].(model.Num); ok && hi.Ok() && !volts[1].(model.Num).Ok() {
		volts[1] = model.Num(0)
	}
	return Cell{Text: PickupSaid(set, e), Plain: append(three(e), volts...), Value: sortedBy(e)}
}

// sortedBy is what a column goes by: the value, or the end there is.
func sortedBy(e model.Estimate) model.Num {
	v, lo, hi := e.Numbers()
	for _, x := range []float64{v, hi, lo} {
		if n := model.Of(x); n.Ok() {
			return n
		}
	}
	return model.None
}

func changeCell(e model.Estimate) Cell {
	return Cell{Text: withoutUnit(dbSaid(e)), Plain: three(e), Value: sortedBy(e)}
}

// withoutUnit takes the unit out of a text whose column names it.
func withoutUnit(s string) string { return strings.ReplaceAll(s, " dB", "") }

// SessionRepeats lists every near run with its quiet runs, for every quantity; the
// hum total alone is printed.
func SessionRepeats(s model.Session) Table {
	t := Table{ID: "repeats", Title: "Each near run compared with the quiet runs around it", Sorts: true, Columns: []Column{
		{Head: "cable", Plain: []string{"cable"}, Left: true},
		{Head: "place", Plain: placeNames, Left: true},
		{Plain: []string{"harmonic", "a_weighted"}},
		{Head: "run", Plain: []string{"run", "quiet_before", "quiet_after", "held_against"}},
		{Head: "placement", Plain: []string{"repeat", "placement", "plug"}},
		{Head: "near minus quiet", Unit: "dB", Plain: intervalNames("delta", "db")},
		{Head: "pickup", Plain: pickupNames},
		{Head: "quiet drifted", Unit: "dB", Plain: []string{"drift_db", "spread_db"}},
	}}
	for _, c := range s.Cells {
		for _, r := range c.Repeats {
			t.Rows = append(t.Rows, Row{Shown: c.Quantity == (model.Quantity{}), Cells: []Cell{
				worded(c.Cable), whereCell(c.Where),
				{Plain: []any{c.Quantity.Harmonic, c.Quantity.AWeighted}},
				{Text: fmt.Sprint(r.Run), Plain: []any{r.Run, r.Before, r.After, strings.Trim(fmt.Sprint(r.Against), "[]")}, Value: r.Run},
				{Text: fmt.Sprint(r.Placement), Plain: []any{r.Repeat, r.Placement, r.Plug}, Value: r.Placement},
				changeCell(r.Delta), pickupOf(s.Settings, r.Pickup),
				{Text: Fixed(r.Drift, 1), Plain: []any{r.Drift, r.Spread}, Value: r.Drift},
			}})
		}
	}
	return t
}

// SessionMeans lists the means over placements.
func SessionMeans(s model.Session) Table {
	t := Table{ID: "means", Title: "Means over placements", Sorts: true, Columns: []Column{
		{Head: "cable", Plain: []string{"cable"}, Left: true},
		{Head: "place", Plain: placeNames, Left: true},
		{Head: "of", Plain: []string{"harmonic", "a_weighted"}, Left: true},
		{Head: "placements", Plain: []string{"placements", "near_runs"}},
		{Head: "near minus quiet", Unit: "dB", Plain: intervalNames("delta", "db")},
		{Head: "pickup", Plain: pickupNames},
		{Head: "standard deviation, single placement", Unit: "dB", Plain: []string{"sd_db"}},
		{Head: "rose", Plain: []string{"rose"}},
	}}
	for _, c := range s.Cells {
		t.Rows = append(t.Rows, Row{Shown: true, Cells: []Cell{
			worded(c.Cable), whereCell(c.Where),
			{Text: humOver(c.Quantity), Plain: []any{c.Quantity.Harmonic, c.Quantity.AWeighted}},
			{Text: fmt.Sprint(c.Placements), Plain: []any{c.Placements, len(c.Repeats)}, Value: c.Placements},
			changeCell(c.Delta), pickupOf(s.Settings, c.Pickup), numberCell(c.SD, 1), yesNo(c.Rose),
		}})
	}
	return t
}

// SessionDifferences are every two cables of each ranking.
func SessionDifferences(s model.Session) iter.Seq[Table] {
	return inTurn(s.Rankings, differencesTable)
}

func differencesTable(i int, r model.Ranking) Table {
	t := Table{ID: fmt.Sprintf("differences%d", i+1), Title: upperFirst(Where(r.Where)), Sorts: true, Columns: []Column{
		{Plain: placeNames},
		{Head: "cable", Plain: []string{"cable"}, Left: true},
		{Head: "compared with", Plain: []string{"against"}, Left: true},
		{Head: "picks up more", Unit: "dB", Plain: intervalNames("difference", "db")},
		{Head: "p", Plain: []string{"p"}},
		{Head: "p over all pairs", Plain: []string{"holm_p"}},
		{Head: "told apart", Plain: []string{"apart"}},
	}}
	for _, p := range r.Pairs {
		t.Rows = append(t.Rows, Row{Shown: true, Cells: []Cell{
			{Plain: placeOf(r.Where)}, worded(p.B), worded(p.A), // B lies higher
			changeCell(p.DB), pCell(p.P), pCell(p.HolmP), yesNo(p.Apart),
		}})
	}
	return t
}

func pCell(p model.Num) Cell {
	return Cell{Text: strings.TrimPrefix(pAtMost(p), "p "), Plain: []any{p}, Value: p}
}

// SessionPlaces are the cables of each ranking, least pickup first.
func SessionPlaces(s model.Session) iter.Seq[Table] {
	return inTurn(s.Rankings, func(i int, r model.Ranking) Table { return placesTable(s, i, r) })
}

func placesTable(s model.Session, i int, r model.Ranking) Table {
	t := Table{ID: fmt.Sprintf("places%d", i+1), Title: upperFirst(Where(r.Where)), Sorts: true, Columns: []Column{
		{Plain: placeNames},
		{Plain: []string{"place"}},
		{Head: "cable", Plain: []string{"cable"}, Left: true},
		{Head: "pickup", Plain: pickupNames},
		{Head: "from positive control", Unit: "dB", Plain: intervalNames("against_witness", "db")},
		{Head: "placements", Plain: []string{"placements"}},
		{Head: "can't be told apart from", Plain: []string{"alike"}, Left: true},
		{Head: "in doubt", Plain: []string{"doubts"}, Left: true},
	}}
	if !slices.ContainsFunc(r.Places, func(p model.Place) bool { return len(p.Doubts) > 0 }) {
		t.Columns[len(t.Columns)-1].Head = "" // for CSV alone
	}
	t.Notes = tell("unranked", r.LeftOut)
	for k, p := range r.Places {
		control := changeCell(p.AgainstWitness)
		switch {
		case p.Cable == s.Control:
			control.Text = "the positive control"
		case !p.AgainstWitness.Known():
			control.Text = ""
		}
		t.Rows = append(t.Rows, Row{Shown: true, Cells: []Cell{
			{Plain: placeOf(r.Where)}, countCell(k + 1), worded(p.Cable), pickupOf(s.Settings, p.Pickup), control,
			countCell(p.Placements), worded(alike(r, p.Cable)), worded(tellOne("doubts", p.Doubts)),
		}})
	}
	return t
}

// alike names the cables that one can't be told apart from.
func alike(r model.Ranking, cable string) string {
	if len(r.Places) < 2 {
		return ""
	}
	if with := alikeWith(r, cable); len(with) > 0 {
		return names(with)
	}
	return "none"
}

// SessionClaims lists claims with their verdicts, a row a part.
func SessionClaims(s model.Session) Table {
	t := Table{ID: "claimtable", Columns: []Column{
		{Head: "claim", Plain: []string{"claim", "says", "quantity", "by", "written", "late"}, Left: true},
		{Head: "verdict", Plain: []string{"verdict", "p", "together"}, Left: true},
		{Head: "where", Plain: placeNames, Left: true},
		{Plain: []string{"verdict_there"}},
		{Head: "measured", Plain: []string{"unit", "value", "lo", "hi"}},
		{Head: "what would decide it", Left: true},
	}}
	for _, c := range s.Claims {
		parts := c.Parts
		if len(parts) == 0 {
			parts = []model.ClaimPart{{Where: model.Where{Termination: model.Termination{Ohms: model.None}}}}
		}
		for i, p := range parts {
			t.Rows = append(t.Rows, Row{Shown: true, Key: true, Cells: claimCells(c, p, i)})
		}
	}
	return t
}

// claimCells are those of a claim's part; the claim's own words stand with its first.
func claimCells(c model.Claim, p model.ClaimPart, i int) []Cell {
	name, verdict := upperFirst(claimName(c)), c.Verdict
	if i == 0 {
		name += ": " + claimSays(c)
	}
	if len(c.Parts) > 1 {
		verdict = p.Verdict
	}
	if p.P.Ok() && len(c.Parts) > 0 && p.Verdict != model.Undecided {
		verdict += ", " + strings.ReplaceAll(pAtMost(p.P), " ", "\u00a0")
	}
	where, measured := "nowhere", ""
	if len(c.Parts) > 0 {
		where, measured = Where(p.Where), partSaid(p)
	}
	decide := each(p.Decide, decide)
	if len(c.Parts) == 0 {
		decide = append(decide, each(c.Reasons, reason)...)
	}
	return []Cell{
		{Text: name, Plain: []any{c.Name, claimSays(c), humOver(c.Quantity), c.By, stamp(c.Written), c.Late}},
		{Text: verdict, Plain: []any{c.Verdict, c.P, c.Together}},
		{Text: where, Plain: placeOf(p.Where)},
		{Plain: []any{p.Verdict}},
		{Text: measured, Plain: append([]any{p.Unit}, three(p.Value)...)},
		{Text: strings.Join(decide, " ")},
	}
}
