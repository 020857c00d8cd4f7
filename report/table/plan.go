package table

import (
	"fmt"
	"strings"

	"humdiff/report/result"
	"humdiff/report/words"
)

// PlanReach is what recordings of some lengths see.
func PlanReach(l result.PlanLength) Table {
	fields := []field[result.PlanTime, any]{
		{Column{Head: "recording", Plain: []string{"seconds"}}, func(t result.PlanTime) Cell {
			return Cell{Text: words.Duration(t.Seconds), Plain: []any{t.Seconds}, Value: t.Seconds}
		}, nil},
		{Column{Head: "share that finds it", Plain: []string{"share"}}, func(t result.PlanTime) Cell {
			return Cell{Text: words.Percent(t.Share), Plain: []any{result.Num(t.Share)}, Value: result.Num(t.Share)}
		}, nil},
		{Column{Head: "line", Plain: []string{"line_dbfs", "line_volts_rms"}}, func(t result.PlanTime) Cell {
			return Cell{Text: words.PlanLevel(t.Line, ""), Plain: []any{t.Line.DBFS, t.Line.Volts}}
		}, nil},
	}
	t := Table{Columns: columns(fields), Groups: []Group{{Title: "How long to record", Rows: rowsOf(append(l.Times[:len(l.Times):len(l.Times)], l.Reach...), fields)}}}
	t.Notes = []string{"Share that finds it: of recordings of that length, where the line is there. At 97.5 % the line is also the highest detection limit of a recording that doesn't find it."}
	return t
}

// PlanRepeats is how many repeats which power takes.
func PlanRepeats(p result.PlanRepeats) Table {
	fields := []field[result.PlanPower, any]{
		{Column{Head: "probability to tell them apart", Plain: []string{"power"}}, func(w result.PlanPower) Cell {
			return Cell{Text: words.Percent(w.Power), Plain: []any{result.Num(w.Power)}}
		}, nil},
		{Column{Head: "repeats of each cable", Plain: []string{"repeats"}}, func(w result.PlanPower) Cell {
			return Cell{Text: fmt.Sprint(w.Repeats), Plain: []any{w.Repeats}}
		}, nil},
	}
	return Table{Columns: columns(fields), Groups: []Group{{Title: "How many repeats", Rows: rowsOf(p.Powers, fields)}}}
}

// PlanOrder is the run order, a row for each cable's turn; as CSV a row for each
// capture.
func PlanOrder(o result.PlanOrder) Table {
	t := Table{Columns: []Column{{Head: "runs"}, {Head: "repeat"}, {Head: "far end"}, {Head: "cable"}, {Head: "plug"}, {Head: "captures, in this order"}},
		Groups: []Group{{Title: fmt.Sprintf("Run order, seed %d", o.Seed)}}}
	for _, b := range Turns(o) {
		first := b[0]
		repeat, plug := "", ""
		if first.Cable != "" {
			repeat = fmt.Sprint(lead(b).Repeat)
			plug = fmt.Sprint(lead(b).Plug)
		}
		row := Row{Shown: true}
		for _, text := range []string{runNumbers(b), repeat, words.PlanEnd(first), words.Printable(first.Cable), plug, captures(b)} {
			row.Cells = append(row.Cells, Cell{Text: text})
		}
		t.Groups[0].Rows = append(t.Groups[0].Rows, row)
	}
	return t
}

// PlanRuns is every capture, for CSV.
func PlanRuns(o result.PlanOrder) Table {
	var t Table
	for _, name := range []string{"number", "block", "condition", "cable", "termination_ohms", "open", "exposure", "repeat", "replaced", "plug", "file"} {
		t.Columns = append(t.Columns, Column{Plain: []string{name}})
	}
	var g Group
	for _, r := range o.Runs {
		var row Row
		for _, v := range []any{r.Number, r.Block, r.Condition, r.Cable, r.Termination, r.Open, r.Exposure, r.Repeat, r.Replaced, r.Plug, r.File} {
			row.Cells = append(row.Cells, Cell{Plain: []any{v}})
		}
		g.Rows = append(g.Rows, row)
	}
	t.Groups = []Group{g}
	return t
}

// Turns are the runs of each block.
func Turns(o result.PlanOrder) (all [][]result.PlanRun) {
	for i, r := range o.Runs {
		if i == 0 || r.Block != o.Runs[i-1].Block {
			all = append(all, nil)
		}
		all[len(all)-1] = append(all[len(all)-1], r)
	}
	return all
}

// lead is the first run of a block in which the lead is there.
func lead(block []result.PlanRun) result.PlanRun {
	for _, r := range block {
		if r.Plug > 0 {
			return r
		}
	}
	return block[0]
}

func runNumbers(block []result.PlanRun) string {
	first, last := block[0].Number, block[len(block)-1].Number
	if first == last {
		return fmt.Sprint(first)
	}
	return fmt.Sprintf("%d to %d", first, last)
}

// captures are a block's captures by what each needs.
func captures(block []result.PlanRun) string {
	said := ""
	for i, r := range block {
		if i > 0 {
			said += ", "
		}
		said += r.Condition
		if r.Condition == "near" {
			said += " " + words.Printable(r.Exposure)
		}
	}
	return said
}

// nears are a block's exposures, or what else it is.
func nears(block []result.PlanRun) string {
	var all []string
	for _, r := range block {
		switch {
		case r.Condition == "dead":
			all[len(all)-1] += " + dead"
		case r.Condition == "near":
			all = append(all, words.Printable(r.Exposure))
		case r.Cable == "":
			return r.Condition
		}
	}
	return strings.Join(all, ", ")
}

// PlanCard is the run order of a recording card: a row for each repeat under
// each termination, in which all cables have their turn.
func PlanCard(o result.PlanOrder) Table {
	t := Table{Columns: []Column{{Head: "repeat"}, {Head: "far end"}, {Head: "plug"}, {Head: "near, with quiet before, between and after"}, {Head: "cables in this order, with their runs"}}, Groups: []Group{{Title: "Run order"}}}
	rows := &t.Groups[0].Rows
	last := ""
	for _, b := range Turns(o) {
		turn := words.Printable(b[0].Cable) + " ☐ " + runNumbers(b)
		what, repeat, plug := nears(b), "", ""
		if b[0].Cable == "" {
			turn = "☐ " + runNumbers(b)
		} else {
			repeat, plug = fmt.Sprint(lead(b).Repeat), fmt.Sprint(lead(b).Plug)
			if b[0].Cable == o.Witness {
				repeat = "witness"
			}
		}
		turn = strings.NewReplacer(" to ", "\u2060–\u2060", " ", "\u00a0").Replace(turn)
		key := fmt.Sprint(repeat, words.PlanEnd(b[0]), plug, what)
		if key == last {
			cells := (*rows)[len(*rows)-1].Cells
			cells[len(cells)-1].Text += "; " + turn
			continue
		}
		last = key
		row := Row{Shown: true}
		for _, text := range []string{repeat, words.PlanEnd(b[0]), plug, what, turn} {
			row.Cells = append(row.Cells, Cell{Text: text})
		}
		*rows = append(*rows, row)
	}
	return t
}
