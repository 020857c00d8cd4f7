package doc

import (
	"fmt"
	"slices"

	"humdiff/report/model"
)

// mechanismSection says how the hum gets into each cable, as a table; the evidence
// stands folded in a section of its own.
func mechanismSection(s model.Session) Section {
	if len(s.Mechanisms) == 0 {
		return Section{}
	}
	t := Table{ID: "mechanisms", Columns: []Column{{Head: "cable", Left: true}, {Head: "exposure", Left: true}, {Head: "how the hum gets in", Left: true},
		{Head: "evidence", Left: true}, {Head: "what would decide it", Left: true}}}
	for _, m := range s.Mechanisms {
		var needs []string
		for _, p := range m.Parts {
			for _, n := range p.Needs {
				needs = appendOnce(needs, mechanismNeeds[n])
			}
		}
		t.Rows = append(t.Rows, Row{Shown: true, Cells: []Cell{{Text: Printable(m.Cable)}, {Text: exposure(m.Exposure)}, {Text: mechanismVerdict(m.Verdict)},
			{Text: evidenceBrief(m)}, {Text: and(needs)}}})
	}
	return Section{ID: "mechanism", Title: "How the hum gets in", Folded: undecidedAll(s), Blocks: append([]Block{t}, mechanismDetails(s)...)}
}

// undecidedAll says that nothing is known of any cable: then the section is folded.
func undecidedAll(s model.Session) bool {
	return !slices.ContainsFunc(s.Mechanisms, func(m model.SessionMechanism) bool { return mechanismVerdict(m.Verdict) != notDecided })
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

func evidenceBrief(m model.SessionMechanism) string {
	if len(m.Evidence) == 0 {
		return "no two sets of runs differ in one thing alone"
	}
	return Count(len(m.Evidence), "comparison")
}

// mechanismNeeds is what to record, for a mechanism that isn't decided.
var mechanismNeeds = map[string]string{
	"termination": "two finite terminations far below the input's impedance, such as 20 Ω and 10 kΩ",
	"load":        "the lead loaded and unloaded, at a known current",
	"bond":        "the far device bonded and isolated",
	"closer":      "repeats until the intervals are narrower",
	"repeat":      "the runs again: they contradict each other, so something else changed",
}

func mechanismDetails(s model.Session) []Block {
	var out []Block
	for i, m := range s.Mechanisms {
		var items []string
		for _, e := range m.Evidence {
			items = append(items, sessionEvidence(e)...)
		}
		for _, p := range m.Parts {
			if hi, ok := p.Farads.Upper(); ok && hi > 0 {
				items = append(items, fmt.Sprintf("%s: if all of it came by the electric field, through %s.", upperFirst(Where(p.Where)), farads(p.Farads)))
			}
		}
		if len(items) > 0 {
			out = append(out, Heading{fmt.Sprintf("mechanism%d", i+1), Printable(m.Cable) + ", " + exposure(m.Exposure)}, List{Items: items})
		}
	}
	return out
}

func sessionEvidence(e model.SessionEvidence) []string {
	what := map[string]string{"termination": "electric", "load": "magnetic", "bond": "loop"}[e.Kind]
	speaks := map[string]string{
		"part": "That is as if all of it were " + what + " pickup", "rest": "That is as if none of it were " + what + " pickup",
		"between": "That is as if some of it were " + what + " pickup",
		"outside": "That is more or less than either allows: parts in opposition, or a changed bench", "both": "That is too uncertain to tell",
	}[e.Speaks]
	out := []string{fmt.Sprintf("From %s to %s pickup changed by %s.", Where(e.A), Where(e.B), DBSaid(e.DB))}
	if e.If.Ok() && e.Else.Ok() {
		out = append(out, fmt.Sprintf("Were all of it %s, it would be %s, and %s were none.", what, DB(e.If), DB(e.Else)))
	}
	return append(out, fmt.Sprintf("%s (%s).", speaks, Runs(e.Runs)))
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

// listeners compares each cable's hum at the listener with the threshold of hearing.
func listeners(s model.Session) Section {
	if len(s.Audible) == 0 {
		return Section{}
	}
	t := Table{ID: "listeners", Columns: []Column{{Head: "cable", Left: true}, {Head: "place", Left: true}, {Head: "run"}, {Head: "hum at the input"},
		{Head: "below the programme", Unit: "dB"}, {Head: "above the threshold of hearing", Unit: "dB"}, {Head: "verdict", Left: true}}}
	var assumed []string
	for _, a := range s.Audible {
		x := a.Audibility
		if x.Verdict != model.NotPlayed {
			assumed = Assumptions(x)
		}
		t.Rows = append(t.Rows, Row{Shown: true, Cells: []Cell{{Text: Printable(a.Cable)}, {Text: Where(a.Where)}, {Text: fmt.Sprint(a.Run), Value: a.Run},
			{Text: Volts(x.HumVolts)}, {Text: soundRange(x.BelowProgrammeDB)}, {Text: soundRange(x.Band.MarginDB)}, {Text: heard[x.Verdict]}}})
	}
	sec := Section{ID: "audible", Title: "Could it be heard", Blocks: []Block{t}}
	if len(assumed) > 0 {
		sec.Blocks = append(sec.Blocks, List{Kind: Notes, Items: assumed})
	}
	return sec
}

// heard are verdicts on audibility in a few words. None says that hum can't be heard.
var heard = map[string]string{
	model.AboveThreshold: "most listeners would hear it in silence",
	model.BelowThreshold: "few listeners would hear it even in silence",
	model.NearThreshold:  "not decided",
	model.NotPlayed:      "no loudspeaker or headphone was given",
}
