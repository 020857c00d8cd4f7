package doc

import (
	"fmt"
	"slices"

	"humdiff/report/model"
)

// sessionWarnings are findings and warnings by kind: a sentence for the first of each
// with how many more say the same, and on which runs. The rest stands folded.
func sessionWarnings(s model.Session) Section {
	var kinds []string
	of := map[string][]model.Finding{}
	for _, f := range s.Findings {
		if of[f.Code] == nil {
			kinds = append(kinds, f.Code)
		}
		of[f.Code] = append(of[f.Code], f)
	}
	var items, brief []string
	for _, code := range kinds {
		item := Finding(of[code][0])
		if n := len(of[code]); n > 1 {
			item += " " + likewise(of[code])
		}
		items = append(items, item)
		if !slices.Contains(besideAnswer, code) && code != model.NoDifference { // else the short form has it above
			brief = append(brief, cut(item, briefly))
		}
	}
	runs := runsOfFiles(s)
	list := kindsOf(s.Warnings, runs)
	items = append(items, list...)
	brief = append(brief, byKind(s.Warnings)...)
	if len(items) == 0 {
		return Section{ID: "warnings", Title: "Warnings", Blocks: []Block{List{Items: []string{"No warnings."}}}}
	}
	return Section{ID: "warnings", Title: "Warnings", Short: shortWarnings, Blocks: []Block{List{Kind: Warnings, Items: items, Brief: first(brief, mostKinds)}}}
}

func likewise(all []model.Finding) string {
	var of []int
	for _, f := range all[1:] {
		of = append(of, f.Runs...)
	}
	if len(of) == 0 {
		return fmt.Sprintf("Likewise in %s.", Count(len(all)-1, "other place"))
	}
	return fmt.Sprintf("Likewise in %s (%s).", Count(len(all)-1, "other case"), runs(of, mostCited))
}

// kindsOf is one sentence for each kind of warning, with the runs it is of.
func kindsOf(all []model.Warning, runsOf map[string][]int) []string {
	var kinds []string
	of := map[string][]model.Warning{}
	for _, w := range all {
		if of[w.Code] == nil {
			kinds = append(kinds, w.Code)
		}
		of[w.Code] = append(of[w.Code], w)
	}
	var out []string
	for _, code := range kinds {
		out = append(out, kindSaid(of[code], runsOf))
	}
	return out
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
