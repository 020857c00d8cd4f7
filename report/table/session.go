package table

import (
	"fmt"
	"strings"

	"humdiff/report/result"
	"humdiff/report/words"
)

// SessionRuns lists every run of a session, those that aren't used with the
// reason.
func SessionRuns(s result.Session) Table {
	t := Table{Columns: []Column{
		{Head: "run", Plain: []string{"run"}},
		{Head: "cable", Plain: []string{"cable"}},
		{Head: "condition", Plain: []string{"condition"}},
		{Head: "exposure", Plain: []string{"exposure"}},
		{Head: "termination", Plain: []string{"termination_ohms", "open"}},
		{Head: "repeat", Plain: []string{"repeat", "lead_replaced", "plug", "lead_loaded", "load_amps", "far_device_bonded"}},
		{Head: "start", Plain: []string{"start"}},
		{Head: "hum", Unit: "dBFS", Plain: []string{"hum_dbfs", "hum_lo_dbfs", "hum_hi_dbfs", "hum_limit_dbfs"}},
		{Head: "file", Plain: []string{"file", "measured", "sha256"}},
		{Head: "used", Plain: []string{"used", "left_out", "note"}},
	}}
	g := Group{Title: "Runs"}
	for _, r := range s.Runs {
		g.Rows = append(g.Rows, Row{Shown: true, Cells: runCells(r)})
	}
	t.Groups = []Group{g}
	return t
}

func runCells(r result.SessionRun) []Cell {
	hum, sha := result.HumSide{DBFS: result.None, LoDBFS: result.None, HiDBFS: result.None, LimitDBFS: result.None}, ""
	if r.Capture != nil {
		hum, sha = r.Capture.Hum, r.Capture.SHA256
	}
	level := words.Fixed(hum.DBFS, 1)
	if hum.State != result.Detected && hum.LimitDBFS.Ok() {
		level = "below " + words.Fixed(words.Up(hum.LimitDBFS), 1)
	}
	used := "yes"
	if !r.Used {
		used = "no: " + words.LeftOut(r)
	}
	place := words.Termination(r.Termination)
	if r.Condition == "residual" {
		place = ""
	}
	file := r.Address
	if file == "" {
		file = r.Measured
	}
	return []Cell{
		{Text: fmt.Sprint(r.Number), Plain: []any{r.Number}, Value: r.Number},
		worded(r.Cable), worded(r.Condition), worded(r.Exposure),
		{Text: place, Plain: []any{r.Termination.Ohms, r.Termination.Open}},
		{Text: repeatText(r), Plain: []any{r.Repeat, r.Replaced, r.Plug, r.Loaded, r.LoadAmps, r.Bonded}, Value: r.Repeat},
		worded(r.Start),
		{Text: level, Plain: []any{hum.DBFS, hum.LoDBFS, hum.HiDBFS, hum.LimitDBFS}, Value: hum.DBFS},
		{Text: words.File(file), Plain: []any{r.Address, r.Measured, sha}},
		{Text: used, Plain: []any{r.Used, r.LeftOut, r.Note}},
	}
}

func repeatText(r result.SessionRun) string {
	switch {
	case r.Repeat == 0:
		return ""
	case r.Condition == "near" && r.Repeat > 1 && !r.Replaced:
		return fmt.Sprintf("%d, lead not replaced", r.Repeat)
	}
	return fmt.Sprint(r.Repeat)
}

func worded(s string) Cell { return Cell{Text: words.Printable(s), Plain: []any{s}} }

// SessionRepeats lists every near run against its quiet runs, for every
// quantity; the hum total alone is printed.
func SessionRepeats(s result.Session) Table {
	t := Table{Columns: []Column{
		{Head: "cable", Plain: []string{"cable"}},
		{Head: "place", Plain: placeNames},
		{Plain: []string{"harmonic", "a_weighted"}},
		{Head: "run", Plain: []string{"run", "quiet_before", "quiet_after", "held_against"}},
		{Head: "placement", Plain: []string{"repeat", "placement", "plug"}},
		{Head: "near minus quiet", Unit: "dB", Plain: interval("delta", "db")},
		{Head: "pickup", Plain: append(interval("pickup", "dbfs"), interval("pickup", "volts")...)},
		{Head: "quiet drifted", Unit: "dB", Plain: []string{"drift_db", "spread_db"}},
	}}
	g := Group{Title: "Each near run against the quiet runs around it"}
	for _, c := range s.Cells {
		for _, r := range c.Repeats {
			g.Rows = append(g.Rows, Row{Shown: c.Quantity == (result.Quantity{}), Cells: repeatCells(c, r)})
		}
	}
	t.Groups = []Group{g}
	return t
}

// numbers are runs in one cell.
func numbers(runs []int) string { return strings.Trim(fmt.Sprint(runs), "[]") }

var placeNames = []string{"exposure", "termination_ohms", "open", "lead_loaded", "far_device_bonded"}

func interval(of, unit string) []string {
	return []string{of + "_" + unit, of + "_lo_" + unit, of + "_hi_" + unit}
}

func place5(w result.Where) []any {
	return []any{w.Exposure, w.Termination.Ohms, w.Termination.Open, w.Loaded, w.Bonded}
}

func three(i result.Interval) []any { return []any{i.Value, i.Lo, i.Hi} }

func repeatCells(c result.Cell, r result.Repeat) []Cell {
	return []Cell{
		worded(c.Cable),
		{Text: words.Place(c.Where), Plain: place5(c.Where)},
		{Plain: []any{c.Quantity.Harmonic, c.Quantity.AWeighted}},
		{Text: fmt.Sprint(r.Run), Plain: []any{r.Run, r.Before, r.After, numbers(r.Against)}, Value: r.Run},
		{Text: fmt.Sprint(r.Placement), Plain: []any{r.Repeat, r.Placement, r.Plug}, Value: r.Placement},
		{Text: trimUnit(words.DBInterval(r.Delta)), Plain: three(r.Delta), Value: r.Delta.Value},
		{Text: words.PickupInterval(r.Pickup, r.Volts), Plain: append(three(r.Pickup), three(r.Volts)...), Value: r.Pickup.Value},
		{Text: words.Fixed(r.Drift, 1), Plain: []any{r.Drift, r.Spread}, Value: r.Drift},
	}
}

// SessionCells lists the means over placements.
func SessionCells(s result.Session) Table {
	t := Table{Columns: []Column{
		{Head: "cable", Plain: []string{"cable"}},
		{Head: "place", Plain: placeNames},
		{Head: "of", Plain: []string{"harmonic", "a_weighted"}},
		{Head: "placements", Plain: []string{"placements", "near_runs"}},
		{Head: "near minus quiet", Unit: "dB", Plain: interval("delta", "db")},
		{Head: "pickup", Plain: append(interval("pickup", "dbfs"), interval("pickup", "volts")...)},
		{Head: "spread of one", Unit: "dB", Plain: []string{"sd_db"}},
		{Head: "rose", Plain: []string{"rose"}},
	}}
	g := Group{Title: "Means over placements"}
	for _, c := range s.Cells {
		g.Rows = append(g.Rows, Row{Shown: true, Cells: []Cell{
			worded(c.Cable),
			{Text: words.Place(c.Where), Plain: place5(c.Where)},
			{Text: words.Quantity(c.Quantity), Plain: []any{c.Quantity.Harmonic, c.Quantity.AWeighted}},
			{Text: fmt.Sprint(c.Placements), Plain: []any{c.Placements, len(c.Repeats)}, Value: c.Placements},
			{Text: trimUnit(words.DBInterval(c.Delta)), Plain: three(c.Delta), Value: c.Delta.Value},
			{Text: words.PickupInterval(c.Pickup, c.Volts), Plain: append(three(c.Pickup), three(c.Volts)...), Value: c.Pickup.Value},
			{Text: words.Fixed(c.SD, 1), Plain: []any{c.SD}, Value: c.SD},
			{Text: map[bool]string{true: "yes", false: "no"}[c.Rose], Plain: []any{c.Rose}},
		}})
	}
	t.Groups = []Group{g}
	return t
}

// SessionPairs lists every two cables of each ranking.
func SessionPairs(s result.Session) Table {
	t := Table{Columns: []Column{
		{Plain: placeNames},
		{Head: "cable", Plain: []string{"a"}},
		{Head: "against", Plain: []string{"b"}},
		{Head: "picks up more", Unit: "dB", Plain: interval("difference", "db")},
		{Head: "p", Plain: []string{"p"}},
		{Head: "p over all pairs", Plain: []string{"holm_p"}},
		{Head: "told apart", Plain: []string{"apart"}},
	}}
	for _, r := range s.Rankings {
		g := Group{Title: words.Place(r.Where)}
		for _, p := range r.Pairs {
			g.Rows = append(g.Rows, Row{Shown: true, Cells: []Cell{
				{Plain: place5(r.Where)},
				worded(p.B), worded(p.A), // B lies higher
				{Text: trimUnit(words.DBInterval(p.DB)), Plain: three(p.DB), Value: p.DB.Value},
				{Text: words.P(p.P), Plain: []any{p.P}, Value: p.P},
				{Text: words.P(p.HolmP), Plain: []any{p.HolmP}, Value: p.HolmP},
				{Text: map[bool]string{true: "yes", false: "no"}[p.Apart], Plain: []any{p.Apart}},
			}})
		}
		t.Groups = append(t.Groups, g)
	}
	t.Columns[1].Plain, t.Columns[2].Plain = []string{"cable"}, []string{"against"}
	return t
}

// SessionPlaces lists the cables of each ranking, least pickup first.
func SessionPlaces(s result.Session) Table {
	t := Table{Columns: []Column{
		{Plain: placeNames},
		{Head: "place", Plain: []string{"place"}},
		{Head: "cable", Plain: []string{"cable"}},
		{Head: "pickup", Plain: append(interval("pickup", "dbfs"), interval("pickup", "volts")...)},
		{Head: "against the witness", Unit: "dB", Plain: interval("against_witness", "db")},
		{Head: "placements", Plain: []string{"placements"}},
		{Head: "can't be told apart from", Plain: []string{"alike"}},
		{Head: "in doubt", Plain: []string{"doubts"}},
	}}
	for _, r := range s.Rankings {
		g := Group{Title: words.Place(r.Where)}
		for i, p := range r.Places {
			alike, doubts := words.Alike(r, p.Cable), words.Doubts(p)
			g.Rows = append(g.Rows, Row{Shown: true, Cells: []Cell{
				{Plain: place5(r.Where)},
				{Text: fmt.Sprint(i + 1), Plain: []any{i + 1}, Value: i + 1},
				worded(p.Cable),
				{Text: words.PickupInterval(p.Pickup, p.Volts), Plain: append(three(p.Pickup), three(p.Volts)...), Value: p.Pickup.Value},
				{Text: witnessText(s, p), Plain: three(p.AgainstWitness), Value: p.AgainstWitness.Value},
				{Text: fmt.Sprint(p.Placements), Plain: []any{p.Placements}, Value: p.Placements},
				worded(alike), worded(doubts),
			}})
		}
		for _, x := range r.LeftOut {
			g.Notes = append(g.Notes, words.Unranked(x))
		}
		t.Groups = append(t.Groups, g)
	}
	return t
}

func witnessText(s result.Session, p result.Place) string {
	switch {
	case p.Cable == s.Witness:
		return "the witness"
	case !p.AgainstWitness.Lo.Ok() && !p.AgainstWitness.Hi.Ok():
		return ""
	}
	return trimUnit(words.DBInterval(p.AgainstWitness))
}

// SessionClaims lists claims with their verdicts, a row a part.
func SessionClaims(s result.Session) Table {
	t := Table{Columns: []Column{
		{Head: "claim", Plain: []string{"claim", "says", "quantity", "by", "written", "late"}},
		{Head: "verdict", Plain: []string{"verdict", "p", "together"}},
		{Head: "where", Plain: placeNames},
		{Head: "there", Plain: []string{"verdict_there"}},
		{Head: "measured", Plain: []string{"unit", "value", "lo", "hi"}},
	}}
	g := Group{Title: "Claims"}
	for _, c := range s.Claims {
		whole := []Cell{
			{Text: words.ClaimName(c), Plain: []any{c.Name, words.ClaimSays(c), words.Quantity(c.Quantity), c.By, c.Written, c.Late}},
			{Text: c.Verdict, Plain: []any{c.Verdict, c.P, c.Together}},
		}
		for _, p := range c.Parts {
			g.Rows = append(g.Rows, Row{Shown: true, Cells: append(whole[:2:2],
				Cell{Text: words.Place(p.Where), Plain: place5(p.Where)},
				Cell{Text: p.Verdict, Plain: []any{p.Verdict}},
				Cell{Text: words.PartValue(p), Plain: append([]any{p.Unit}, three(p.Value)...)})})
		}
		if len(c.Parts) == 0 {
			none := result.Interval{Value: result.None, Lo: result.None, Hi: result.None}
			g.Rows = append(g.Rows, Row{Shown: true, Cells: append(whole[:2:2],
				Cell{Text: "nowhere", Plain: []any{"", result.None, false, "", ""}},
				Cell{Text: "", Plain: []any{""}},
				Cell{Text: "", Plain: append([]any{""}, three(none)...)})})
		}
	}
	t.Groups = []Group{g}
	return t
}

// trimUnit takes the unit off, which the column has.
func trimUnit(s string) string { return words.WithoutUnit(s, "dB") }
