package doc

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/report/model"
)

// mechanismSection says how the hum gets into each cable, a row for each, and what
// would decide where something is open.
func mechanismSection(s model.Session) Section {
	if len(s.Mechanisms) == 0 {
		return Section{}
	}
	t := Table{ID: "mechanisms", Columns: []Column{{Head: "cable", Left: true}, {Head: "exposure", Left: true}, {Head: "how the hum gets in", Left: true},
		{Head: "capacitance, were all of it electric", Left: true}}}
	open := true
	var needs []string
	for _, m := range s.Mechanisms {
		open = open && mechanismVerdict(m.Verdict) == notDecided
		t.Rows = append(t.Rows, Row{Shown: true, Cells: []Cell{{Text: Printable(m.Cable)}, {Text: exposure(m.Exposure)}, {Text: mechanismVerdict(m.Verdict)}, {Text: capacitances(m)}}})
		for _, p := range m.Parts {
			for _, n := range p.Needs {
				needs = appendOnce(needs, mechanismNeeds[n])
			}
		}
	}
	sec := Section{ID: "mechanism", Title: "How the hum gets in", Folded: open, Blocks: []Block{t}}
	if len(needs) > 0 {
		sec.Blocks = append(sec.Blocks, List{Title: "What would decide it", Items: needs})
	}
	return sec
}

// mechanismEvidence is what speaks for each mechanism.
func mechanismEvidence(s model.Session) Section {
	var all []string
	for _, m := range s.Mechanisms {
		for _, e := range m.Evidence {
			all = append(all, fmt.Sprintf("%s, %s: %s", Printable(m.Cable), exposure(m.Exposure), sessionEvidence(e)))
		}
	}
	switch {
	case len(s.Mechanisms) == 0:
		return Section{}
	case len(all) == 0:
		all = []string{"No two sets of runs differ in one thing alone, so nothing tells mechanisms apart."}
	}
	return Section{ID: "evidence", Title: "What speaks for mechanisms", Folded: true, Blocks: []Block{List{Items: all}}}
}

// capacitances are those that would cause each pickup of a cable.
func capacitances(m model.SessionMechanism) string {
	var all []string
	for _, p := range m.Parts {
		if hi, ok := p.Farads.Upper(); ok && hi > 0 {
			all = append(all, farads(p.Farads)+" at "+Termination(p.Where.Termination))
		}
	}
	return strings.Join(all, "; ")
}

const notDecided = "not decided"

func mechanismVerdict(v string) string {
	if said, ok := map[string]string{
		model.Electric: "by the electric field of the lead's voltage", model.Magnetic: "by the magnetic field of the lead's current",
		model.Loop: "by current in a loop of earths", model.Mixed: "in more than one way",
	}[v]; ok {
		return said
	}
	return notDecided
}

// mechanismNeeds is what to record, for a mechanism that isn't decided.
var mechanismNeeds = map[string]string{
	"termination": "Record the same with two finite terminations far below the input's impedance, such as 20 Ω and 10 kΩ.",
	"load":        "Record the same with the lead loaded and unloaded, at a known current.",
	"bond":        "Record the same with the far device bonded and isolated.",
	"closer":      "Repeat what there is until its intervals are narrower.",
	"repeat":      "Record again: the runs contradict each other, so something else changed.",
}

func sessionEvidence(e model.SessionEvidence) string {
	what := map[string]string{"termination": "electric", "load": "magnetic", "bond": "loop"}[e.Kind]
	speaks := map[string]string{
		"part": "That is as if all of it were " + what + " pickup", "rest": "That is as if none of it were " + what + " pickup",
		"between": "That is as if some of it were " + what + " pickup",
		"outside": "That is more or less than either allows: parts in opposition, or a changed bench", "both": "That is too uncertain to tell",
	}[e.Speaks]
	out := fmt.Sprintf("From %s to %s pickup changed by %s.", Where(e.A), Where(e.B), DBSaid(e.DB))
	if e.If.Ok() && e.Else.Ok() {
		out += fmt.Sprintf(" Were all of it %s, it would be %s, and %s were none.", what, DB(e.If), DB(e.Else))
	}
	return out + fmt.Sprintf(" %s (%s).", speaks, runs(e.Runs, mostCited))
}

// farads writes a capacitance in picofarads.
func farads(e model.Estimate) string {
	p := Prefix{"p", 1e-12}
	lo, hi := ends(e)
	if !lo.Ok() || lo <= 0 {
		return "at most " + p.Digits(hi) + " pF"
	}
	return between(p.Digits(lo), p.Digits(hi)) + " pF"
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
