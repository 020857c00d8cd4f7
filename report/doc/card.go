package doc

import (
	"fmt"
	"strings"

	"humdiff/report/model"
)

// Card is a recording card to print: what to record in which order, and what not to
// do. Its plan has an order.
func Card(r model.Plan) Document {
	o := *r.Order
	return Document{
		Title: "Recording card", Compact: true, Footer: "Made by humdiff " + Printable(r.Tool.Version) + ".",
		Lead: "Date, place, who: ______________________________    Gain: __________    Spacing, length in parallel: __________",
		Sections: []Section{
			{ID: "do", Title: "What to do", Blocks: []Block{Facts{Of: factsOf(tell("card.facts", o))}, List{Items: tell("card.steps", o)}}},
			{ID: "safety", Title: "Safety", Blocks: []Block{cautionList()}},
			{ID: "order", Title: "Run order", Blocks: []Block{orderTable(o, "☐ ")}},
		},
	}
}

// orderTable is a run order: a row for each repeat under each termination, in which all
// cables have their turn, with a box to tick before its runs on a card.
func orderTable(o model.PlanOrder, box string) Table {
	t := Table{ID: "order", Title: fmt.Sprintf("Run order, seed %d", o.Seed), Columns: []Column{{Head: "repeat"}, {Head: "far end"}, {Head: "plug"},
		{Head: "near", Left: true}, {Head: "cables in this order, with their runs", Left: true}},
		Notes: []string{"Quiet is recorded before, between and after near captures."}}
	last := ""
	for _, b := range turns(o) {
		lead, repeat, plug := withLead(b), "", ""
		if lead.Cable != "" {
			repeat, plug = fmt.Sprint(lead.Repeat), fmt.Sprint(lead.Plug)
		}
		if lead.Cable != "" && lead.Cable == o.Witness {
			repeat = "positive control"
		}
		turn := strings.TrimSpace(Printable(lead.Cable) + " " + box + runNumbers(b))
		if box != "" { // paper breaks no line within a turn
			turn = strings.NewReplacer(" to ", "\u2060–\u2060", " ", "\u00a0").Replace(turn)
		}
		what := nears(b)
		key := fmt.Sprint(repeat, planEnd(b[0]), plug, what)
		if key == last {
			cells := t.Rows[len(t.Rows)-1].Cells
			cells[len(cells)-1].Text += "; " + turn
			continue
		}
		last = key
		t.Rows = append(t.Rows, textRow(repeat, planEnd(b[0]), plug, what, turn))
	}
	return withoutEmpty(t)
}

// nears are a block's exposures, or what else it is.
func nears(block []model.PlanRun) string {
	var all []string
	for _, r := range block {
		switch {
		case r.Condition == model.Unplugged && len(all) > 0:
			all[len(all)-1] += " + unplugged"
		case r.Condition == model.Near:
			all = append(all, Printable(r.Exposure))
		case r.Cable == "":
			return r.Condition
		}
	}
	return strings.Join(all, ", ")
}

// cautionList goes with any advice for the bench.
func cautionList() List {
	return List{Kind: Caution, Items: tell("cautions", nil), Brief: []string{}}
}

// Cautions are the safety words for a page that tells people what to do on the bench.
func Cautions() List { return cautionList() }
