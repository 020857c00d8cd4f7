package doc

import (
	"fmt"
	"math"
	"slices"

	"humdiff/report/model"
)

// Plan tells how long and how often to record, and in which order.
func Plan(r model.Plan) Document {
	said := planSaid{Plan: r}
	if r.Order != nil {
		said.Recording = r.Order.Seconds * float64(len(r.Order.Runs))
	}
	if r.Length != nil && len(r.Length.Alone) > 0 {
		said.Alone = &r.Length.Alone[len(r.Length.Alone)-1]
	}
	found := slices.Concat(tell("plan.tones", r), tell("plan.length", said), tell("plan.repeats", said), tell("plan.order", said))
	d := Document{Title: "Nothing was asked.", Footer: madeBy(r.Head)}
	if len(found) > 0 {
		d.Title, found = found[0], found[1:]
	}
	d.Sections = filled(
		Section{ID: "found", Title: "How long, and how often", Short: shortSure, Blocks: []Block{List{Items: found}}},
		Section{ID: "stands", Title: "What it stands on", Short: shortPublish, Blocks: []Block{List{Items: tell("plan.stands", r)}}},
		nextSection(tell("plan.next", r)),
		Section{ID: "tables", Title: "In tables", Short: shortLines, Blocks: planTables(r)},
		warningSection(r.Warnings),
	)
	if r.Tones != nil {
		d.Sections = append(d.Sections, Section{ID: "caution", Title: "Before you go to the bench", Short: shortNext,
			Blocks: []Block{List{Kind: Caution, Items: slices.Concat(tell("driven.safety", nil), tell("cautions", nil)), Brief: tell("driven.safety", nil)}}})
	}
	return d
}

// planTones is what a known source plays.
func planTones(p model.PlanTones) Table {
	type tone = model.PlanTone
	in := func(unit string) func(model.Num) string { return func(v model.Num) string { return SI(v, unit) } }
	hz := func(v model.Num) string { return ToneHz(v.Float()) }
	return tableOf("tones", "What to play", []field[tone]{
		numbers("tone", "", hz, func(t tone) model.Num { return model.Num(t.Hz) }),
		numbers("from mains lines", "", hz, func(t tone) model.Num { return model.Num(t.ClearHz) }),
		numbers("level", "", DBFS, func(t tone) model.Num { return t.DBFS }),
		numbers("at the wire", "", in("V"), func(t tone) model.Num { return t.Volts }),
		numbers("couples like, at 50 Hz", "", in("V"), func(t tone) model.Num { return t.LikeVolts }),
		numbers("shows from", "", in("F"), func(t tone) model.Num { return t.SeesFarads }),
	}, p.Tones, "Shows from: the least capacitance that nine captures in ten show.")
}

// planSaid is a plan with what its sentences have besides.
type planSaid struct {
	model.Plan
	Alone     *model.PlanTime // the most certain of Length's
	Recording float64         // s, of all captures
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

// planLevel writes a level in what is known of it; per a hertz where that is said.
func planLevel(l model.PlanLevel, per bool) string {
	dbfs, volts := "", ""
	if l.DBFS.Ok() {
		dbfs = DBFS(l.DBFS)
	}
	if l.Volts.Ok() {
		volts = SI(l.Volts, "V")
	}
	if per {
		dbfs, volts = dbfs+"/Hz", volts+"/√Hz"
	}
	switch {
	case l.DBFS.Ok() && l.Volts.Ok():
		return dbfs + " (" + volts + ")"
	case l.Volts.Ok():
		return volts
	}
	return dbfs
}

func planTables(r model.Plan) []Block {
	var all []Block
	if r.Tones != nil {
		all = append(all, planTones(*r.Tones))
	}
	if r.Length != nil {
		all = append(all, planReach(*r.Length))
	}
	if len(r.Repeats.Powers) > 0 {
		all = append(all, planRepeats(r.Repeats))
	}
	if r.Order != nil {
		all = append(all, orderTable(*r.Order, "").upTo(mostTurns, "turn"))
	}
	return all
}

// planReach is what recordings of some lengths see.
func planReach(l model.PlanLength) Table {
	type time = model.PlanTime
	return tableOf("reach", "How long to record", []field[time]{
		{Column: Column{Head: "recording"}, cell: func(t time) Cell { return Cell{Text: Duration(t.Seconds), Value: t.Seconds} }},
		numbers("share that finds it", "", percent, func(t time) model.Num { return model.Num(t.Share) }),
		{Column: Column{Head: "line"}, cell: func(t time) Cell { return Cell{Text: planLevel(t.Line, false)} }},
	}, slices.Concat(l.Times, l.Reach), "Share that finds it: of recordings of that length, where the line is there.",
		"At 97.5 % the line is also the highest detection limit of a recording that doesn't find it.")
}

func percent(v model.Num) string { return Percent(v.Float()) }

// planRepeats is how many repeats which power takes.
func planRepeats(p model.PlanRepeats) Table {
	return tableOf("repeats", "How many repeats", []field[model.PlanPower]{
		numbers("probability", "", percent, func(w model.PlanPower) model.Num { return model.Num(w.Power) }),
		counts("repeats of each cable", func(w model.PlanPower) int { return w.Repeats }),
	}, p.Powers)
}

// mostTurns is how many turns the short form has.
const mostTurns = 10

func textRow(texts ...string) Row {
	return Row{Shown: true, Cells: each(texts, func(s string) Cell { return Cell{Text: s} })}
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
