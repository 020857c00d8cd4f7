package doc

import (
	"fmt"
	"math"
	"slices"

	"humdiff/report/model"
)

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
			assumed = Assumptions(a.Audibility)
		}
		i := slices.IndexFunc(rows, func(x model.SessionAudible) bool { return x.Cable == a.Cable })
		switch {
		case i < 0:
			rows = append(rows, a)
		case loudness(a) > loudness(rows[i]):
			rows[i] = a
		}
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
