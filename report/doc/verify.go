package doc

import (
	"fmt"
	"strconv"

	"humdiff/report/model"
)

// Verify tells whether a report stands, and lists what differs.
func Verify(v model.Verification) Document {
	edited := tell("verify.edited", v)
	list := func(id, title string, place int, items []string) Section {
		return Section{ID: id, Title: title, Short: place, Blocks: []Block{List{Items: items, Brief: first(items, 2*mostKinds)}}}
	}
	return Document{Title: tellOne("verify.headline", v), Lead: tellOne("verify.report", v), Footer: madeBy(v.Head), Sections: filled(
		heldBeside(v.Report),
		Section{ID: "found", Title: "What was found", Short: shortSure, Blocks: []Block{
			List{Items: append(edited, differencesSaid(v.Differences, listedDifferences)...), Brief: append(edited, differencesSaid(v.Differences, mostDiffering)...)}}},
		list("captures", "Captures", shortLines, capturesFound(v.Captures)),
		list("beside", "Files beside it", shortWarnings, filesBeside(v)),
		list("left", "What was not compared", shortNext, tell("verify.left", v)),
		list("close", "How closely it agrees", shortPublish, each(v.Worst, largestOf)),
	)}
}

// heldBeside is what a page or a screenshot has to show: its answer and its
// fingerprint.
func heldBeside(r model.VerifiedReport) Section {
	if r.Fingerprint == "" {
		return Section{}
	}
	return Section{ID: "beside-it", Title: "To compare with a page or a screenshot", Short: shortPublish, Blocks: []Block{
		Facts{Of: []Fact{{"Answer", r.Headline}, {"Fingerprint", Printable(r.Fingerprint)}}}}}
}

// listedDifferences is how many differences are written out, mostDiffering how many
// the short form has; JSON has all.
const (
	listedDifferences = 20
	mostDiffering     = 8
)

// largestOf is the largest difference of a kind, beside what is tolerated.
func largestOf(w model.VerifiedKind) string {
	return tellOne("verify.largest", map[string]any{"of": w, "tolerated": strconv.FormatFloat(w.Tolerance, 'f', -1, 64)})
}

// mostSound is how many captures that are as they should be are named one by one;
// JSON names all.
const mostSound = 8

func capturesFound(all []model.VerifiedCapture) []string {
	sound := count(all, func(c model.VerifiedCapture) bool { return c.State == model.Found })
	return tell("verify.captures", map[string]any{"all": all, "sound": sound, "many": sound > mostSound})
}

// filesBeside says what became of the page, tables and figures, state by state.
func filesBeside(v model.Verification) []string {
	of := map[string][]string{model.Same: nil, model.NotCompared: nil, model.OtherVersion: nil, model.Foreign: nil, model.Missing: nil}
	for _, f := range v.Files {
		of[f.State] = append(of[f.State], File(f.File))
	}
	return tell("verify.files", map[string]any{"of": of, "version": v.Tool.Version})
}

func differencesSaid(all []model.Difference, most int) []string {
	var said []string
	for i, d := range all {
		if i == most {
			return append(said, fmt.Sprintf("… and %d more; --format json has them all.", len(all)-i))
		}
		said = append(said, fmt.Sprintf("%s: reported %s, recomputed %s.", Printable(d.Where), reported(d.Reported), reported(d.Recomputed)))
	}
	return said
}

// reported is a value of a report as a reader would write it.
func reported(v any) string {
	if v == nil {
		return "nothing"
	}
	return Printable(fmt.Sprint(v))
}
