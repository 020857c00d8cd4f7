package doc

import (
	"cmp"
	"fmt"
	"strings"

	"humdiff/report/model"
)

// runTable lists every run of a session, those that aren't used with the reason, near runs with
// what the quiet runs around each tell. link names the page of a run's own figures; empty: it
// has none.
func runTable(s model.Session, link func(run int) string) Table {
	type run struct {
		model.Run
		judged model.Repeat
	}
	judged := map[int]model.Repeat{}
	for _, c := range s.Cells {
		for _, r := range c.Repeats {
			if c.Quantity == (model.Quantity{}) {
				judged[r.Run] = r
			}
		}
	}
	rows := each(s.Runs, func(r model.Run) run {
		if of, is := judged[r.Number]; is {
			return run{r, of}
		}
		return run{r, model.Repeat{Drift: model.None}}
	})
	t := sorting(tableOf("allruns", "Runs", []field[run]{
		counts("run", func(r run) int { return r.Number }),
		named("cable", func(r run) string { return r.Cable }),
		worded("condition", func(r run) string { return condition(r.Condition) }),
		named("exposure", func(r run) string { return r.Exposure }),
		{Column: Column{Head: "termination"}, cell: func(r run) Cell { return Cell{Text: terminationOf(r.Run)} }},
		{Column: Column{Head: "repeat"}, cell: func(r run) Cell { return Cell{Text: repeatSaid(r.Run), Value: r.Repeat} }},
		{Column: Column{Head: "start"}, cell: func(r run) Cell { return Cell{Text: dated(r.Start)} }},
		{Column: Column{Head: "hum", Unit: "dBFS"}, cell: func(r run) Cell {
			if r.Capture == nil || !r.Capture.Hum.Level.Known() {
				return Cell{Text: unknown, Value: model.None}
			}
			return Cell{Text: levelShort(r.Capture.Hum.Level), Value: value(r.Capture.Hum.Level)}
		}},
		estimates("near minus quiet", "dB", func(_ run, e model.Estimate) string { return changeCell(e).Text }, func(r run) model.Estimate { return r.judged.Delta }),
		estimates("pickup", "", func(_ run, e model.Estimate) string { return PickupSaid(s.Settings, e) }, func(r run) model.Estimate { return r.judged.Pickup }),
		numbers("quiet drifted", "dB", decimal(1), func(r run) model.Num { return r.judged.Drift }),
		worded("file", func(r run) string { return File(cmp.Or(r.Address, r.Measured)) }),
		worded("used", func(r run) string {
			if r.Used {
				return "yes"
			}
			return "no: " + whyNotUsed(r.Run)
		}),
	}, rows))
	for i, r := range s.Runs {
		t.Rows[i].Cells[0].Link = link(r.Number)
	}
	return t
}

func terminationOf(r model.Run) string {
	if r.Condition == model.Residual && !r.Termination.Ohms.Ok() {
		return ""
	}
	return Termination(r.Termination)
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

// changes is a column of changes in dB, pickups one of pickups.
func changes[R any](head string, of func(R) model.Estimate) field[R] {
	return field[R]{Column: Column{Head: head, Unit: "dB"}, cell: func(r R) Cell { return changeCell(of(r)) }}
}

func changeCell(e model.Estimate) Cell {
	return Cell{Text: strings.ReplaceAll(dbSaid(e), " dB", ""), Value: sortedBy(e)} // the column names the unit
}

func pickups[R any](set model.Settings, of func(R) model.Estimate) field[R] {
	return field[R]{Column: Column{Head: "pickup"}, cell: func(r R) Cell { return Cell{Text: PickupSaid(set, of(r)), Value: sortedBy(of(r))} }}
}

// yesNo is a column of what is so or not.
func yesNo[R any](head string, of func(R) bool) field[R] {
	return field[R]{Column: Column{Head: head}, cell: func(r R) Cell { return Cell{Text: map[bool]string{true: "yes", false: "no"}[of(r)]} }}
}

// sorting is a table that a page lets the reader sort.
func sorting(t Table) Table {
	t.Sorts = true
	return t
}

// meansTable lists the means over placements.
func meansTable(s model.Session) Table {
	type cell = model.Cell
	return sorting(tableOf("means", "Means over placements", []field[cell]{
		named("cable", func(c cell) string { return c.Cable }),
		worded("place", func(c cell) string { return Where(c.Where) }),
		worded("of", func(c cell) string { return humOver(c.Quantity) }),
		counts("placements", func(c cell) int { return c.Placements }),
		changes("near minus quiet", func(c cell) model.Estimate { return c.Delta }),
		pickups(s.Settings, func(c cell) model.Estimate { return c.Pickup }),
		{Column: Column{Head: "standard deviation, single placement", Unit: "dB"}, cell: func(c cell) Cell { return numberCell(c.SD, 1) }},
		yesNo("rose", func(c cell) bool { return c.Rose }),
	}, s.Cells))
}

// cellBudgets are the budgets of uncertainty of pickups of the hum total, a row each.
func cellBudgets(s model.Session) Table {
	type cell = model.Cell
	fields := []field[cell]{
		named("cable", func(c cell) string { return c.Cable }),
		worded("place", func(c cell) string { return Where(c.Where) }),
	}
	for _, what := range []string{model.PartRecording, model.PartPhase, model.PartScale, model.PartPlacement, model.PartDay} {
		fields = append(fields, numbers(tellOne("passport.part", what), "dB", decimal(3), func(c cell) model.Num {
			for _, p := range c.Budget.Parts {
				if p.What == what {
					return p.UDB
				}
			}
			return model.None
		}))
	}
	fields = append(fields,
		numbers("all together", "dB", decimal(3), func(c cell) model.Num { return c.Budget.UDB }),
		numbers("degrees of freedom", "", decimal(1), func(c cell) model.Num { return c.Budget.DOF }),
		numbers("factor for 95 %", "", decimal(2), func(c cell) model.Num { return c.Budget.K }))
	var all []cell
	for _, c := range s.Cells {
		if c.Quantity == (model.Quantity{}) && c.Budget.UDB.Ok() {
			all = append(all, c)
		}
	}
	return tableOf("budgets", "Standard uncertainty of each pickup, one budget", fields, all, tell("session.budgets", nil)...)
}

// differencesTable is every two cables of a ranking.
func differencesTable(i int, r model.Ranking) Table {
	type two = model.Contrast
	p := func(head string, of func(two) model.Num) field[two] {
		return field[two]{Column: Column{Head: head}, cell: func(x two) Cell { return Cell{Text: strings.TrimPrefix(pAtMost(of(x)), "p "), Value: of(x)} }}
	}
	return sorting(tableOf(fmt.Sprintf("differences%d", i+1), upperFirst(Where(r.Where)), []field[two]{
		named("cable", func(x two) string { return x.B }), // lies higher
		named("compared with", func(x two) string { return x.A }),
		changes("picks up more", func(x two) model.Estimate { return x.DB }),
		p("p", func(x two) model.Num { return x.P }),
		p("p over all pairs", func(x two) model.Num { return x.HolmP }),
		yesNo("told apart", func(x two) bool { return x.Apart }),
	}, r.Pairs))
}

// placesTable is the cables of a ranking, least pickup first.
func placesTable(s model.Session, i int, r model.Ranking) Table {
	type at = model.Place
	return sorting(withoutEmpty(tableOf(fmt.Sprintf("places%d", i+1), upperFirst(Where(r.Where)), []field[at]{
		named("cable", func(p at) string { return p.Cable }),
		pickups(s.Settings, func(p at) model.Estimate { return p.Pickup }),
		{Column: Column{Head: "from positive control", Unit: "dB"}, cell: func(p at) Cell {
			control := changeCell(p.AgainstWitness)
			switch {
			case p.Cable == s.Control:
				control.Text = "the positive control"
			case !p.AgainstWitness.Known():
				control.Text = ""
			}
			return control
		}},
		counts("placements", func(p at) int { return p.Placements }),
		worded("can't be told apart from", func(p at) string { return alike(r, p.Cable) }),
		worded("in doubt", func(p at) string { return tellOne("doubts", p.Doubts) }),
	}, r.Places, tell("unranked", r.LeftOut)...)))
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

// claimTable lists claims with their verdicts, a row a part.
func claimTable(s model.Session) Table {
	t := Table{ID: "claimtable", Columns: []Column{{Head: "claim", Left: true}, {Head: "verdict", Left: true}, {Head: "where", Left: true},
		{Head: "measured"}, {Head: "what would decide it", Left: true}}}
	for _, c := range s.Claims {
		if len(c.Parts) == 0 {
			t.Rows = append(t.Rows, claimRow(upperFirst(claimName(c))+": "+claimSays(c), c.Verdict, "nowhere", "", each(c.Reasons, reason)))
		}
		for i, p := range c.Parts {
			t.Rows = append(t.Rows, partRow(c, p, i == 0))
		}
	}
	return t
}

// partRow is a claim's part; the claim's own words stand with its first.
func partRow(c model.Claim, p model.ClaimPart, first bool) Row {
	name, verdict := upperFirst(claimName(c)), c.Verdict
	if first {
		name += ": " + claimSays(c)
	}
	if len(c.Parts) > 1 {
		verdict = p.Verdict
	}
	if p.P.Ok() && p.Verdict != model.Undecided {
		verdict += ", " + strings.ReplaceAll(pAtMost(p.P), " ", "\u00a0")
	}
	return claimRow(name, verdict, Where(p.Where), partSaid(p), each(p.Decide, decide))
}

func claimRow(name, verdict, where, measured string, decide []string) Row {
	row := textRow(name, verdict, where, measured, strings.Join(decide, " "))
	row.Key = true
	return row
}
