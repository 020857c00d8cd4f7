package doc

import (
	"fmt"
	"math"
	"strings"

	"humdiff/report/model"
)

// Plan tells how long and how often to record, and in which order.
func Plan(r model.Plan) Document {
	t := tellPlan(r)
	d := Document{Title: t.headline(), Footer: madeBy(r.Head)}
	d.Sections = filled(
		Section{ID: "found", Title: "How long, and how often", Short: shortSure, Blocks: []Block{List{Items: t.found[min(1, len(t.found)):]}}},
		Section{ID: "stands", Title: "What it stands on", Short: shortPublish, Blocks: []Block{List{Items: t.standsOn}}},
		openSection([]told{t}),
		Section{ID: "tables", Title: "In tables", Short: shortLines, Blocks: planTables(r)},
		warningSection(r.Warnings),
	)
	return d
}

func tellPlan(r model.Plan) told {
	t := told{found: planLength(r.Length)}
	repeats := r.Order != nil || r.Repeats.Why != model.RepeatsUnknown
	if repeats {
		t.found = append(t.found, planRepeats(r.Repeats)...)
	}
	if o := r.Order; o != nil {
		t.found = append(t.found, fmt.Sprintf("There are %s of %s each, %s of recording without what lies between.", Count(len(o.Runs), "capture"),
			Duration(model.Num(o.Seconds)), Duration(model.Num(o.Seconds*float64(len(o.Runs))))))
		t.standsOn = planSeed(*o)
	}
	if r.Length != nil {
		t.standsOn = append(t.standsOn, planFloor(*r.Length)...)
		t.notShown = []string{
			"The times hold for hum that keeps its phase to the mains, and for a floor that stays as it is.",
			"The shorter ones hold where a stronger line shows the mains' frequency.",
			"Saying --mains doesn't shorten them: the frequency isn't known to a hundredth of a hertz."}
	}
	if repeats && r.Repeats.Why == model.RepeatsUnknown {
		t.next = []string{"Once you know by how much repeats of one cable spread, give --difference and --spread. The number that it takes follows from them."}
	}
	return t
}

func planLength(l *model.PlanLength) (said []string) {
	if l == nil {
		return nil
	}
	if len(l.Times) == 0 {
		for _, t := range l.Reach {
			said = append(said, fmt.Sprintf("A recording of %s finds a line of %s in %s of cases.", Duration(t.Seconds), planLevel(t.Line, ""), Percent(t.Share)))
		}
		return said
	}
	for _, t := range l.Times {
		long := "six hours don't do"
		if t.Seconds.Ok() {
			long = "record " + Duration(t.Seconds)
		}
		said = append(said, fmt.Sprintf("To find a line of %s in %s of recordings, %s.", planLevel(t.Line, ""), Percent(t.Share), long))
	}
	for _, t := range l.Alone[max(0, len(l.Alone)-1):] {
		long := "six hours may not do"
		if t.Seconds.Ok() {
			long = "it takes up to " + Duration(t.Seconds)
		}
		said = append(said, fmt.Sprintf("Without a stronger line for the mains' frequency %s (%s of recordings, harmonics 1 to 3).", long, Percent(t.Share)))
	}
	if l.Times[len(l.Times)-1].Seconds.Ok() {
		said = append(said, "One of the longest of these that doesn't find it puts its detection limit there or lower.")
	}
	return said
}

func planFloor(l model.PlanLength) []string {
	from := "as stated"
	if l.FloorOf != "" {
		from = fmt.Sprintf("measured beside harmonic %d in %s, channel %d", l.FloorHarmonic, File(l.FloorOf), l.FloorChannel)
	}
	return []string{fmt.Sprintf("This stands on a floor of %s, %s.", planLevel(l.Floor, "/Hz"), from),
		fmt.Sprintf("It holds for %s looked for together, with false alarms in %s of captures.", Count(l.Lines, "line"), Percent(l.FalseAlarmShare))}
}

func planLevel(l model.PlanLevel, per string) string {
	var parts []string
	if l.DBFS.Ok() {
		parts = append(parts, DBFS(l.DBFS)+per)
	}
	if l.Volts.Ok() {
		v := SI(l.Volts, "V")
		if per != "" {
			v += "/√Hz"
		}
		parts = append(parts, v)
	}
	if len(parts) == 2 {
		return parts[0] + " (" + parts[1] + ")"
	}
	return strings.Join(parts, "")
}

// Duration writes a time as people say it: 40 s, 12 min, 2 h 30 min, rounded up.
func Duration(v model.Num) string {
	s := math.Ceil(float64(v) - 1e-9)
	switch {
	case !v.Ok():
		return "over 6 h"
	case s < 300:
		return fmt.Sprintf("%.0f s", s)
	case s < 3600:
		return fmt.Sprintf("%.0f min", math.Ceil(s/60))
	}
	minutes := math.Ceil(s / 60)
	h, m := math.Floor(minutes/60), math.Mod(minutes, 60)
	if m == 0 {
		return fmt.Sprintf("%.0f h", h)
	}
	return fmt.Sprintf("%.0f h %.0f min", h, m)
}

func planRepeats(p model.PlanRepeats) (said []string) {
	if p.DifferenceDB.Ok() {
		for _, w := range p.Powers {
			n := "more repeats than anybody makes"
			if w.Repeats > 0 {
				n = fmt.Sprintf("%d repeats of each", w.Repeats)
			}
			said = append(said, fmt.Sprintf("To tell two cables apart by %s with a probability of %s takes %s.", DB(p.DifferenceDB), Percent(w.Power), n))
		}
		said = append(said, fmt.Sprintf("That is where single repeats, the lead taken away and put back, spread by %s (standard deviation).", DB(p.SpreadDB)),
			fmt.Sprintf("It goes by Student's two-sided test at %s %% for each of %s.", Fixed(model.Num(100*p.Alpha), 2), Count(p.Pairs, "pair")))
	}
	switch p.Why {
	case model.RepeatsUnknown:
		return append(said, fmt.Sprintf("Record %d repeats of each cable.", p.Chosen),
			"A mean of six is known to about one standard deviation of a single one, a mean of three only to 2.5.")
	case model.RepeatsPower:
		return append(said, fmt.Sprintf("Record %d repeats of each cable, an even number, so that the plug is each way round as often.", p.Chosen))
	}
	s := fmt.Sprintf("Record %d repeats of each cable, as asked for", p.Chosen)
	if p.Power.Ok() {
		s += fmt.Sprintf(": they tell the difference with a probability of %s %%", Fixed(100*p.Power, 0))
	}
	return append(said, s+".")
}

func planSeed(o model.PlanOrder) []string {
	said := []string{fmt.Sprintf("The order was shuffled with the seed %d: the same seed gives it again.", o.Seed)}
	if o.Blind {
		said = append(said, "Cables are letters. Which is which is in key.toml, whose SHA-256 is "+Printable(o.KeySHA256)+".")
	}
	return said
}

func planTables(r model.Plan) []Block {
	var all []Block
	if r.Order != nil {
		all = append(all, PlanOrder(*r.Order))
	}
	if r.Length != nil {
		all = append(all, PlanReach(*r.Length))
	}
	if len(r.Repeats.Powers) > 0 {
		all = append(all, PlanRepeats(r.Repeats))
	}
	return all
}

// PlanReach is what recordings of some lengths see.
func PlanReach(l model.PlanLength) Table {
	fields := []field[model.PlanTime]{
		{Column: Column{Head: "recording", Plain: []string{"seconds"}}, cell: func(t model.PlanTime) Cell {
			return Cell{Text: Duration(t.Seconds), Plain: []any{t.Seconds}, Value: t.Seconds}
		}},
		{Column: Column{Head: "share that finds it", Plain: []string{"share"}}, cell: func(t model.PlanTime) Cell {
			return Cell{Text: Percent(t.Share), Plain: []any{model.Num(t.Share)}, Value: model.Num(t.Share)}
		}},
		{Column: Column{Head: "line", Plain: []string{"line_dbfs", "line_volts_rms"}}, cell: func(t model.PlanTime) Cell {
			return Cell{Text: planLevel(t.Line, ""), Plain: []any{t.Line.DBFS, t.Line.Volts}}
		}},
	}
	return Table{ID: "reach", Title: "How long to record", Columns: columns(fields), Rows: rowsOf(append(l.Times[:len(l.Times):len(l.Times)], l.Reach...), fields),
		Notes: []string{"Share that finds it: of recordings of that length, where the line is there.",
			"At 97.5 % the line is also the highest detection limit of a recording that doesn't find it."}}
}

// PlanRepeats is how many repeats which power takes.
func PlanRepeats(p model.PlanRepeats) Table {
	fields := []field[model.PlanPower]{
		{Column: Column{Head: "probability to tell them apart", Plain: []string{"power"}}, cell: func(w model.PlanPower) Cell {
			return Cell{Text: Percent(w.Power), Plain: []any{model.Num(w.Power)}}
		}},
		{Column: Column{Head: "repeats of each cable", Plain: []string{"repeats"}}, cell: func(w model.PlanPower) Cell { return countCell(w.Repeats) }},
	}
	return Table{ID: "repeats", Title: "How many repeats", Columns: columns(fields), Rows: rowsOf(p.Powers, fields)}
}

// PlanOrder is the run order, a row for each cable's turn.
func PlanOrder(o model.PlanOrder) Table {
	t := Table{ID: "order", Title: fmt.Sprintf("Run order, seed %d", o.Seed), Columns: []Column{
		{Head: "runs", Left: true}, {Head: "repeat"}, {Head: "far end"}, {Head: "cable", Left: true}, {Head: "plug"}, {Head: "captures, in this order", Left: true}}}
	for i, b := range turns(o) {
		repeat, plug := "", ""
		if b[0].Cable != "" {
			repeat, plug = fmt.Sprint(withLead(b).Repeat), fmt.Sprint(withLead(b).Plug)
		}
		t.Rows = append(t.Rows, textRow(runNumbers(b), repeat, planEnd(b[0]), Printable(b[0].Cable), plug, capturesOf(b)))
		t.Rows[i].Key = i < mostTurns
	}
	if left := len(t.Rows) - mostTurns; left > 0 {
		t.Rest = more(left, "turn")
	}
	return t
}

// mostTurns is how many turns the short form has.
const mostTurns = 10

func textRow(texts ...string) Row {
	return Row{Shown: true, Cells: each(texts, func(s string) Cell { return Cell{Text: s} })}
}

// PlanRuns is every capture, for CSV.
func PlanRuns(o model.PlanOrder) Table {
	t := Table{ID: "runs"}
	for _, name := range []string{"number", "block", "condition", "cable", "termination_ohms", "open", "exposure", "repeat", "replaced", "plug", "file"} {
		t.Columns = append(t.Columns, Column{Plain: []string{name}})
	}
	for _, r := range o.Runs {
		plain := []any{r.Number, r.Block, r.Condition, r.Cable, r.Termination, r.Open, r.Exposure, r.Repeat, r.Replaced, r.Plug, r.File}
		t.Rows = append(t.Rows, Row{Cells: each(plain, func(v any) Cell { return Cell{Plain: []any{v}} })})
	}
	return t
}

// turns are the runs of each block.
func turns(o model.PlanOrder) (all [][]model.PlanRun) {
	for i, r := range o.Runs {
		if i == 0 || r.Block != o.Runs[i-1].Block {
			all = append(all, nil)
		}
		all[len(all)-1] = append(all[len(all)-1], r)
	}
	return all
}

// withLead is the first run of a block in which the lead is there.
func withLead(block []model.PlanRun) model.PlanRun {
	for _, r := range block {
		if r.Plug > 0 {
			return r
		}
	}
	return block[0]
}

func runNumbers(block []model.PlanRun) string {
	return between(fmt.Sprint(block[0].Number), fmt.Sprint(block[len(block)-1].Number))
}

func planEnd(r model.PlanRun) string {
	if !r.Open && !r.Termination.Ok() {
		return ""
	}
	return Termination(model.Termination{Ohms: r.Termination, Open: r.Open})
}

// capturesOf are a block's captures by what each needs.
func capturesOf(block []model.PlanRun) string {
	var all []string
	for _, r := range block {
		said := condition(r.Condition)
		if r.Condition == model.Near {
			said += " " + Printable(r.Exposure)
		}
		all = append(all, said)
	}
	return strings.Join(all, ", ")
}
