package doc

import (
	"fmt"
	"slices"

	"humdiff/report/model"
)

// Links names the file beside the page that has a run's own figures; empty where a
// run has none.
type Links func(run int) string

// Session tells a judged session.
func Session(s model.Session, links Links) Document {
	if links == nil {
		links = func(int) string { return "" }
	}
	d := Document{Title: sessionHeadline(s, mostAnswered), Gate: gate(s.MayPublish), Lead: tellOne("session.lead", s), Footer: madeBy(s.Head)}
	d.Sections = filled(
		firstFigure(s),
		sessionPublish(s),
		sessionSure(s),
		Section{ID: "figures", Title: "Cables and exposures", Blocks: sessionFigures(s)},
		Section{ID: "claims", Title: "Claims", Blocks: []Block{claimTable(s)}},
		passportSection(s),
		objectionSection(s),
		sessionWarnings(s),
		mechanismSection(s),
		listeners(s),
		sessionNext(s),
		claimDetails(s),
		mechanismEvidence(s),
		sessionRepeats(s),
		Section{ID: "runs", Title: "Every run", Folded: true, Blocks: []Block{runTable(s, links), List{Kind: Notes, Items: tell("session.run_notes", map[string]any{"session": s,
			"linked": slices.ContainsFunc(s.Runs, func(r model.Run) bool { return links(r.Number) != "" })})}}},
		benchSection(s),
		Section{ID: "method", Title: "How it was judged", Folded: true, Blocks: []Block{List{Items: tell("session.method", s)}}},
		sessionHashes(s),
	)
	return d
}

// How much the short form has of each list.
const (
	mostFound  = 8
	mostGrave  = 3
	mostWanted = 3
)

func sessionSure(s model.Session) Section {
	flat, grave, stands := flatExposures(s), graveFindings(s), sessionStandsOn(s)
	brief := slices.Concat(first(append(sessionFound(s), flat...), mostFound), first(grave, mostGrave), stands[:1])
	return Section{ID: "sure", Title: "How sure", Short: shortSure, Blocks: []Block{
		List{Items: slices.Concat(first(flat, mostFound), first(grave, 2*mostGrave), stands), Brief: brief}}}
}

// sessionPublish has findings in full: a finding's reason names the cable, the place
// and the runs.
func sessionPublish(s model.Session) Section {
	return publishSection(s.Head, SessionCaption(s), func(w model.Note) string {
		for _, f := range s.Findings {
			if f.Code == w.Code {
				return Finding(f)
			}
		}
		return said(w)
	})
}

// SessionCaption is what to print below a session's figure.
func SessionCaption(s model.Session) string {
	said := sessionHeadline(s, mostNamed)
	if len(s.Claims) > 0 && len(s.Rankings) > 0 {
		said += " " + rankingSaid(s.Settings, s.Rankings[0])
	}
	return said + " " + sessionStandsOn(s)[0] + " " + madeBy(s.Head)
}

// firstFigure is the one that stands in the first screen.
func firstFigure(s model.Session) Section {
	for _, r := range s.Rankings {
		if len(r.Places) > 0 {
			return Section{ID: "figure", Title: "Pickup of each cable", Blocks: []Block{Figure{Name: "article"}}}
		}
	}
	return Section{}
}

func sessionFigures(s model.Session) []Block {
	var out []Block
	for i, r := range s.Rankings {
		if len(r.Places) > 0 {
			out = append(out, Figure{Name: "ranking", Index: i})
		}
		out = append(out, placesTable(s, i, r))
	}
	return out
}

// passportSection is what a known source shows of the session's cables.
func passportSection(s model.Session) Section {
	sec := Section{ID: "passport", Title: "The cables' own numbers, by a known source"}
	if s.Passport != nil {
		p := model.Passport{Bench: s.Bench, CableNumbers: *s.Passport}
		sec.Blocks = []Block{passportTable(p), budgetTable(p)}
	}
	return sec
}

// objectionSection is what a hostile reader would raise, as a table.
func objectionSection(s model.Session) Section {
	t := Table{ID: "objectiontable", Columns: []Column{
		{Head: "objection", Left: true}, {Head: "status", Left: true}, {Head: "evidence", Left: true}, {Head: "next step", Left: true}}}
	for _, o := range s.Objections {
		t.Rows = append(t.Rows, textRow(objects(o), tellOne("objection_state", o.State), answered(o), settle(o)))
	}
	return Section{ID: "objections", Title: "What could still explain it", Blocks: []Block{t}}
}

// sessionNext is what to record next: what the claims lack, then what objections do.
func sessionNext(s model.Session) Section {
	var next []string
	for _, c := range s.Claims {
		for _, p := range c.Parts {
			for _, n := range p.Decide {
				next = appendOnce(next, fmt.Sprintf("To decide %s%s: %s", claimName(c), ofPart(c, p), lowerFirst(decide(n))))
			}
		}
	}
	for _, o := range s.Objections {
		next = appendOnce(next, add(nil, settle(o))...)
	}
	if len(next) == 0 {
		return Section{}
	}
	return Section{ID: "next", Title: "Before you go to the bench", Short: shortNext,
		Blocks: []Block{List{Title: "What to record next", Brief: first(next, mostWanted)}, cautionList()}}
}

// ofPart says which part of a claim is meant, where it has several.
func ofPart(c model.Claim, p model.ClaimPart) string {
	if len(c.Parts) < 2 {
		return ""
	}
	return " (" + Where(p.Where) + ")"
}

func sessionRepeats(s model.Session) Section {
	sec := Section{ID: "means", Title: "Means and differences", Folded: true}
	if len(s.Cells) == 0 {
		return sec
	}
	for i, r := range s.Rankings {
		if len(r.Pairs) > 0 {
			sec.Blocks = append(sec.Blocks, differencesTable(i, r))
		}
	}
	sec.Blocks = append(sec.Blocks, meansTable(s))
	if budgets := cellBudgets(s); len(budgets.Rows) > 0 {
		sec.Blocks = append(sec.Blocks, budgets)
	}
	sec.Blocks = append(sec.Blocks, List{Kind: Notes, Items: tell("session.repeat_notes", s)})
	return sec
}

func sessionHashes(s model.Session) Section {
	var all []side
	for _, r := range s.Runs {
		if r.Capture != nil {
			all = append(all, side{"", *r.Capture})
		}
	}
	return hashes(all)
}

func benchSection(s model.Session) Section {
	facts := append(factsOf(tell("session.bench", s)), settingsFacts(s.Settings).Of...)
	sec := Section{ID: "bench", Title: "The bench", Folded: true, Blocks: []Block{Facts{Of: facts}}}
	if len(s.Bench.Photos) > 0 {
		photos := each(s.Bench.Photos, func(p model.Photo) Fact { return Fact{File(p.File), Printable(p.SHA256)} })
		sec.Blocks = append(sec.Blocks, Heading{"photos", "Photos, by SHA-256"}, Facts{Hashes, photos})
	}
	return sec
}

// factsOf are facts told as lines of a name and a value, with a bar between.
func factsOf(lines []string) []Fact {
	return each(questions(lines), func(q question) Fact { return Fact{q.what, q.next} })
}

// sessionWarnings are findings and warnings by kind: a sentence for the first of each
// with how many more say the same, and on which runs. The rest stands folded.
func sessionWarnings(s model.Session) Section {
	var items, brief []string
	for _, alike := range grouped(s.Findings, func(f model.Finding) string { return f.Code }) {
		if alike[0].Code == model.NoDifference {
			continue // the summary has each
		}
		item, code := Finding(alike[0]), alike[0].Code
		if len(alike) > 1 {
			item += " " + likewise(alike)
		}
		items = append(items, item)
		if !slices.Contains(besideAnswer, code) { // else the short form has it above
			brief = append(brief, opening(item))
		}
	}
	runsOf, warnings := runsOfFiles(s), s.Warnings
	for _, alike := range grouped(warnings, codeOf) {
		items = append(items, kindSaid(alike, runsOf))
	}
	if len(items) == 0 {
		return warningSection(nil)
	}
	brief = append(brief, byKind(warnings)...)
	return Section{ID: "warnings", Title: "Warnings", Short: shortWarnings, Blocks: []Block{List{Kind: Warnings, Items: items, Brief: first(brief, mostKinds)}}}
}

func likewise(all []model.Finding) string {
	var of []int
	for _, f := range all[1:] {
		of = append(of, f.Runs...)
	}
	return tellOne("session.likewise", map[string]any{"others": len(all) - 1, "runs": of})
}

// kindSaid is the first of several warnings of one kind, and which runs they are of.
func kindSaid(all []model.Warning, runsOf map[string][]int) string {
	var which []int
	alike := true
	for _, w := range all {
		which = append(which, runsOf[w.File]...)
		alike = alike && said(w.Note) == said(all[0].Note)
	}
	item := said(all[0].Note)
	switch {
	case len(which) == 0 && all[0].File != "":
		return File(all[0].File) + ": " + item
	case len(which) == 0:
		return item
	case alike:
		return upperFirst(runs(which, mostCited)) + ": " + item
	}
	return upperFirst(runs(which, mostCited)) + " (here of the first): " + item
}

// runsOfFiles are the runs of each file that warnings name.
func runsOfFiles(s model.Session) map[string][]int {
	out := map[string][]int{}
	for _, r := range s.Runs {
		if r.Capture != nil && !slices.Contains(out[r.Capture.File], r.Number) {
			out[r.Capture.File] = append(out[r.Capture.File], r.Number)
		}
	}
	return out
}
