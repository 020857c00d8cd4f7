package doc

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"humdiff/report/model"
)

// audibleSaid says how hum at the input compares with a programme and with the
// threshold of hearing, always with what that assumes. It never says that hum can't
// be heard.
func audibleSaid(a model.Audibility) []string {
	said := tell("audible.hum", a)
	if a.Verdict == model.NotPlayed {
		return said
	}
	return slices.Concat(said, tell("audible.verdict", a), tell("audible.assumed", a))
}

// AudibleTable is the table of lines at the listener against the threshold of
// hearing; those are shown that come nearest to it.
func AudibleTable(a model.Audibility) Table {
	fields := audibleFields()
	t := Table{ID: "listener", Title: "At the listener, near", Columns: columns(fields)}
	least := leastMargin(a)
	for _, l := range a.Lines {
		_, hi := ends(l.MarginDB)
		t.Rows = append(t.Rows, Row{Shown: hi >= least, Line: l.Harmonic, Cells: cellsOf(fields, l)})
	}
	if left := len(a.Lines) - mostAudible; left > 0 {
		t.Notes = append(t.Notes, fmt.Sprintf("%s farther below the threshold are left out here.", Count(left, "line")))
	}
	if _, hi := ends(a.AWeightedDB); hi.Ok() {
		t.Notes = append(t.Notes, "All lines, A-weighted (IEC 61672-1): "+soundRange(a.AWeightedDB)+" dB SPL.")
	}
	return t
}

// mostAudible is how many lines are shown; CSV and JSON have them all.
const mostAudible = 12

// leastMargin is that of the last line that is shown.
func leastMargin(a model.Audibility) model.Num {
	all := each(a.Lines, func(l model.AudibleLine) model.Num {
		_, hi := ends(l.MarginDB)
		return hi
	})
	slices.Sort(all)
	if n := len(all); n > mostAudible {
		return all[n-mostAudible]
	}
	return model.Num(math.Inf(-1))
}

func soundRange(e model.Estimate) string { return bare(e, "at least ", "below ", "", unknown) }

func audibleFields() []field[model.AudibleLine] {
	sound := func(head, name string, of func(model.AudibleLine) model.Estimate) field[model.AudibleLine] {
		return field[model.AudibleLine]{Column: Column{Head: head, Unit: "dB", Plain: []string{name + "_lo_db", name + "_hi_db"}},
			cell: func(l model.AudibleLine) Cell {
				lo, hi := ends(of(l))
				return Cell{Text: soundRange(of(l)), Plain: []any{lo, hi}}
			}}
	}
	return []field[model.AudibleLine]{
		{Column: Column{Head: "harmonic", Plain: []string{"harmonic"}}, cell: func(l model.AudibleLine) Cell { return countCell(l.Harmonic) }},
		{Column: Column{Head: "frequency", Unit: "Hz", Plain: []string{"hz"}}, cell: func(l model.AudibleLine) Cell { return numberCell(l.Hz, 2) }},
		{Column: Column{Head: "at the input", Plain: []string{"lo_volts_rms", "hi_volts_rms"}}, cell: func(l model.AudibleLine) Cell {
			lo, hi := ends(l.Volts)
			return Cell{Text: Volts(l.Volts), Plain: []any{lo, hi}}
		}},
		sound("SPL", "spl", func(l model.AudibleLine) model.Estimate { return l.SPLDB }),
		{Column: Column{Head: "threshold", Unit: "dB", Plain: []string{"threshold_db"}}, cell: func(l model.AudibleLine) Cell { return numberCell(l.ThresholdDB, 1) }},
		sound("margin", "margin", func(l model.AudibleLine) model.Estimate { return l.MarginDB }),
	}
}

// listeners compares each cable's hum at the listener with the threshold of hearing,
// where it comes nearest to it; every place of each stands folded.
func listeners(s model.Session) (worst, every Section) {
	if len(s.Audible) == 0 {
		return worst, every
	}
	var rows []model.SessionAudible
	var assumed []string
	for _, a := range s.Audible {
		if a.Audibility.Verdict != model.NotPlayed {
			assumed = tell("audible.assumed", a.Audibility)
		}
	}
	for _, of := range grouped(s.Audible, func(a model.SessionAudible) string { return a.Cable }) {
		rows = append(rows, slices.MaxFunc(of, func(a, b model.SessionAudible) int { return cmp.Compare(loudness(a), loudness(b)) }))
	}
	worst = Section{ID: "audible", Title: "Could it be heard", Blocks: []Block{
		List{Items: []string{"Each cable where its hum comes nearest to being heard, in silence; the assumptions stand with every place."}}, listenerTable("listeners", rows)}}
	every = Section{ID: "everywhere", Title: "Heard: every place", Folded: true,
		Blocks: []Block{listenerTable("everywheretable", s.Audible), List{Kind: Notes, Items: assumed}}}
	return worst, every
}

// loudness is how near hum may come to being heard, dB over the threshold.
func loudness(a model.SessionAudible) float64 {
	if hi, ok := a.Audibility.Band.MarginDB.Upper(); ok {
		return hi
	}
	return math.Inf(1) // nothing bounds it
}

func listenerTable(id string, all []model.SessionAudible) Table {
	t := Table{ID: id, Columns: []Column{{Head: "cable", Left: true}, {Head: "place", Left: true}, {Head: "run"}, {Head: "hum at the input"},
		{Head: "below the programme", Unit: "dB"}, {Head: "above hearing threshold", Unit: "dB"}, {Head: "heard", Left: true}}}
	for _, a := range all {
		x := a.Audibility
		t.Rows = append(t.Rows, Row{Shown: true, Cells: []Cell{{Text: Printable(a.Cable)}, {Text: Where(a.Where)}, {Text: fmt.Sprint(a.Run)},
			{Text: Volts(x.HumVolts)}, {Text: soundRange(x.BelowProgrammeDB)}, {Text: soundRange(x.Band.MarginDB)}, {Text: heard[x.Verdict]}}})
	}
	return t
}

// heard are verdicts on audibility in a few words. None says that hum can't be heard.
var heard = map[string]string{
	model.AboveThreshold: "by most listeners",
	model.BelowThreshold: "by few listeners",
	model.NearThreshold:  "not decided",
	model.NotPlayed:      "no loudspeaker or headphone was given",
}
