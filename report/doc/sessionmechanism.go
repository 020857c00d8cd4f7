package doc

import (
	"fmt"
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
		{Head: "capacitance", Left: true}}}
	open := true
	var next []string
	for _, m := range s.Mechanisms {
		open = open && mechanismVerdict(m.Verdict) == notDecided
		t.Rows = append(t.Rows, Row{Shown: true, Cells: []Cell{{Text: Printable(m.Cable)}, {Text: exposure(m.Exposure)}, {Text: mechanismVerdict(m.Verdict)}, {Text: capacitances(m)}}})
		for _, p := range m.Parts {
			next = appendOnce(next, needs(p.Needs, p.Pickup)...)
		}
	}
	sec := Section{ID: "mechanism", Title: "How the hum gets in", Folded: open, Blocks: []Block{t}}
	if len(next) > 0 {
		sec.Blocks = append(sec.Blocks, List{Title: "What would decide it", Items: next})
	}
	return sec
}

// mechanismEvidence is what speaks for each mechanism.
func mechanismEvidence(s model.Session) Section {
	var all []string
	for _, m := range s.Mechanisms {
		for _, e := range m.Evidence {
			all = append(all, fmt.Sprintf("%s, %s: %s", Printable(m.Cable), exposure(m.Exposure), sessionEvidence(m, e)))
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

// capacitances are those of a cable that two terminations tell.
func capacitances(m model.SessionMechanism) string {
	var all, same []string
	for _, p := range m.Parts {
		if hi, ok := p.Farads.Upper(); ok && hi > 0 {
			same = appendOnce(same, fromTo(p.Farads, "F"))
			all = append(all, fromTo(p.Farads, "F")+" at "+Termination(p.Where.Termination))
		}
	}
	if len(same) == 1 {
		return same[0]
	}
	return strings.Join(all, "; ")
}

const notDecided = "not decided"

func mechanismVerdict(v string) string {
	by := tellOne("mechanism", v)
	switch {
	case v == model.Mixed:
		return "in more than one way"
	case by != "":
		return "by " + by
	}
	return notDecided
}

func sessionEvidence(m model.SessionMechanism, e model.Evidence) string {
	a, b := m.Parts[e.RunA], m.Parts[e.RunB]
	runs := slices.Concat(a.Runs, b.Runs)
	slices.Sort(runs)
	return tellOne("evidence", evidence{Changed: fmt.Sprintf("From %s to %s", Where(a.Where), Where(b.Where)), Kind: e.Kind, By: dbSaid(e.DB), If: e.IfDB, Else: e.ElseDB, Speaks: e.Speaks, Runs: slices.Compact(runs)})
}
