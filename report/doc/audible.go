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

// audibleTable is the lines at the listener against the threshold of hearing, those first that
// come nearest to it.
func audibleTable(a model.Audibility) Table {
	upper := func(l model.AudibleLine) model.Num { _, hi := ends(l.MarginDB); return hi }
	nearest := slices.SortedStableFunc(slices.Values(a.Lines), func(a, b model.AudibleLine) int { return cmp.Compare(upper(b), upper(a)) })
	t := tableOf("listener", "At the listener, near", audibleFields(), nearest[:min(mostAudible, len(nearest))])
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

func soundRange(e model.Estimate) string { return bare(e, "at least ", "below ", "", unknown) }

func audibleFields() []field[model.AudibleLine] {
	type line = model.AudibleLine
	sound := func(_ line, e model.Estimate) string { return soundRange(e) }
	return []field[line]{
		counts("harmonic", func(l line) int { return l.Harmonic }),
		numbers("frequency", "Hz", decimal(2), func(l line) model.Num { return l.Hz }),
		{Column: Column{Head: "at the input"}, cell: func(l line) Cell { return Cell{Text: Volts(l.Volts)} }},
		estimates("SPL", "dB", sound, func(l line) model.Estimate { return l.SPLDB }),
		numbers("threshold", "dB", decimal(1), func(l line) model.Num { return l.ThresholdDB }),
		estimates("margin", "dB", sound, func(l line) model.Estimate { return l.MarginDB }),
	}
}

// listeners compares each cable's hum at the listener with the threshold of hearing,
// where it comes nearest to it; CSV and JSON have every place.
func listeners(s model.Session) Section {
	var worst []model.SessionAudible
	var assumed []string
	for _, of := range grouped(s.Audible, func(a model.SessionAudible) string { return a.Cable }) {
		a := slices.MaxFunc(of, func(a, b model.SessionAudible) int { return cmp.Compare(loudness(a), loudness(b)) })
		if worst = append(worst, a); a.Audibility.Verdict != model.NotPlayed {
			assumed = tell("audible.assumed", a.Audibility)
		}
	}
	t := listenerTable(worst)
	if t.Notes = assumed; len(worst) > 0 {
		t.Notes = append([]string{"Each cable where its hum comes nearest to being heard, in silence."}, assumed...)
	}
	return Section{ID: "audible", Title: "Could it be heard", Blocks: []Block{t}}
}

// loudness is how near hum may come to being heard, dB over the threshold.
func loudness(a model.SessionAudible) float64 {
	if hi, ok := a.Audibility.Band.MarginDB.Upper(); ok {
		return hi
	}
	return math.Inf(1) // nothing bounds it
}

func listenerTable(all []model.SessionAudible) Table {
	type heardAt = model.SessionAudible
	sound := func(_ heardAt, e model.Estimate) string { return soundRange(e) }
	return tableOf("listeners", "", []field[heardAt]{
		named("cable", func(a heardAt) string { return a.Cable }),
		worded("place", func(a heardAt) string { return Where(a.Where) }),
		{Column: Column{Head: "run"}, cell: func(a heardAt) Cell { return Cell{Text: fmt.Sprint(a.Run)} }},
		{Column: Column{Head: "hum at the input"}, cell: func(a heardAt) Cell { return Cell{Text: Volts(a.Audibility.HumVolts)} }},
		estimates("below the programme", "dB", sound, func(a heardAt) model.Estimate { return a.Audibility.BelowProgrammeDB }),
		estimates("above hearing threshold", "dB", sound, func(a heardAt) model.Estimate { return a.Audibility.Band.MarginDB }),
		worded("heard", func(a heardAt) string { return heard[a.Audibility.Verdict] }),
	}, all)
}

// heard are verdicts on audibility in a few words. None says that hum can't be heard.
var heard = map[string]string{
	model.AboveThreshold: "by most listeners",
	model.BelowThreshold: "by few listeners",
	model.NearThreshold:  "not decided",
	model.NotPlayed:      "no loudspeaker or headphone was given",
}
