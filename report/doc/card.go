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
	facts := []Fact{
		{"Captures", fmt.Sprintf("%d of %s each", len(o.Runs), Duration(model.Num(o.Seconds)))},
		{"Cables", Printable(strings.Join(o.Cables, ", "))},
	}
	if o.Witness != "" {
		facts = append(facts, Fact{"Positive control", Printable(o.Witness)})
	}
	facts = append(facts, Fact{"Seed", fmt.Sprint(o.Seed)})
	return Document{
		Title: "Recording card", Compact: true, Footer: "Made by humdiff " + Printable(r.Tool.Version) + ".",
		Lead: "Date, place, who: ______________________________    Gain: __________    Spacing, length in parallel: __________",
		Sections: []Section{
			{ID: "do", Title: "What to do", Blocks: []Block{Facts{Of: facts}, List{Items: planSteps(o)}}},
			{ID: "safety", Title: "Safety", Blocks: []Block{cautionList()}},
			{ID: "order", Title: "Run order", Blocks: []Block{CardOrder(o)}},
		},
	}
}

func planSteps(o model.PlanOrder) []string {
	return []string{
		fmt.Sprintf("Record %s each time, at one gain throughout, in this order. File names have the run's number and what it is: run003-quiet.wav.", Duration(model.Num(o.Seconds))),
		"Quiet: all as for near, the lead out of the room. Near: the lead live in its place, which names the exposure.",
		"Unplugged lead (“dead” in file names): the lead unplugged at the wall, without moving it.",
		"Residual: the input shorted at its connector, or closed with the source's resistance, which at 10 kΩ is the floor. Calibration: a tone of known voltage. Write both captures with its voltage into session.toml.",
		"Plug 1 and plug 2 are the two ways round; mark the plug. For each near take the lead away and put it back anew. Between captures of one cable touch nothing but the lead.",
		"Write start, and anything out of the ordinary, into runs.csv. If a capture failed, record it again under the same name, and note it.",
	}
}

// CardOrder is the run order of a recording card: a row for each repeat under each
// termination, in which all cables have their turn.
func CardOrder(o model.PlanOrder) Table {
	t := Table{ID: "cardorder", Columns: []Column{{Head: "repeat"}, {Head: "far end"}, {Head: "plug"},
		{Head: "near, with quiet before, between and after", Left: true}, {Head: "cables in this order, with their runs", Left: true}}}
	last := ""
	for _, b := range turns(o) {
		turn := Printable(b[0].Cable) + " ☐ " + runNumbers(b)
		what, repeat, plug := nears(b), "", ""
		if b[0].Cable == "" {
			turn = "☐ " + runNumbers(b)
		} else {
			repeat, plug = fmt.Sprint(withLead(b).Repeat), fmt.Sprint(withLead(b).Plug)
			if b[0].Cable == o.Witness {
				repeat = "positive control"
			}
		}
		turn = strings.NewReplacer(" to ", "\u2060–\u2060", " ", "\u00a0").Replace(turn)
		key := fmt.Sprint(repeat, planEnd(b[0]), plug, what)
		if key == last {
			cells := t.Rows[len(t.Rows)-1].Cells
			cells[len(cells)-1].Text += "; " + turn
			continue
		}
		last = key
		t.Rows = append(t.Rows, textRow(repeat, planEnd(b[0]), plug, what, turn))
	}
	return t
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

// Cautions go with any advice for the bench.
var Cautions = []string{
	"Work near mains can kill. Use only intact, certified leads with their insulation whole, the free end touch-proof.",
	"Open nothing that is plugged in.",
	"Never connect a measuring input to the mains.",
	"Never remove a protective earth. To break a loop use battery power or a signal transformer: class II devices still leak.",
	"Use a residual-current device.",
	"For a mains phase reference use only a certified isolated low-voltage AC adapter.",
	"Mute loudspeakers before unplugging a signal cable.",
	"Work under your local electrical codes, and leave mains wiring to licensed people.",
}

func cautionList() List {
	return List{Kind: Caution, ID: "caution", Title: "Before you go to the bench", Items: Cautions}
}
