package doc

import (
	"fmt"
	"strconv"

	"humdiff/report/model"
)

// Verify tells whether a report stands, and lists what differs.
func Verify(v model.Verification) Document {
	brief := append(editedFiles(v), differencesSaid(v.Differences, mostDiffering)...)
	wrong := append(editedFiles(v), differencesSaid(v.Differences, listedDifferences)...)
	var close []string
	for _, w := range v.Worst {
		close = append(close, largestOf(w))
	}
	return Document{Title: verifyHeadline(v), Lead: verifiedReport(v), Footer: madeBy(v.Head), Sections: filled(
		heldBeside(v.Report),
		Section{ID: "found", Title: "What was found", Short: shortSure, Blocks: []Block{List{Items: wrong, Brief: brief}}},
		listSection("captures", "Captures", shortLines, capturesFound(v.Captures)),
		listSection("beside", "Files beside it", shortWarnings, filesBeside(v)),
		listSection("left", "What was not compared", shortNext, notCompared(v)),
		listSection("close", "How closely it agrees", shortPublish, close),
	)}
}

// heldBeside is what a page or a screenshot has to show: its answer and its
// fingerprint.
func heldBeside(r model.VerifiedReport) Section {
	if r.Fingerprint == "" {
		return Section{}
	}
	return Section{ID: "beside-it", Title: "To hold beside a page or a screenshot", Short: shortPublish, Blocks: []Block{
		Facts{Of: []Fact{{"Answer", r.Headline}, {"Fingerprint", Printable(r.Fingerprint)}}}}}
}

func listSection(id, title string, place int, items []string) Section {
	return Section{ID: id, Title: title, Short: place, Blocks: []Block{List{Items: items, Brief: first(items, 2*mostKinds)}}}
}

// listedDifferences is how many differences are written out, mostDiffering how many
// the short form has; JSON has all.
const (
	listedDifferences = 20
	mostDiffering     = 8
)

func verifiedReport(v model.Verification) string {
	made := ""
	if v.Report.Version != "" {
		made = ", made by humdiff " + Printable(v.Report.Version)
	}
	return fmt.Sprintf("%s (%s%s)", File(v.Report.File), Printable(v.Report.Schema), made)
}

func verifyHeadline(v model.Verification) string {
	n := Count(v.Compared, "value")
	switch {
	case v.Verdict == model.Stands:
		return fmt.Sprintf("The report stands. %s were recomputed from the captures with an independent transform (%s), and all agree.", n, v.Engine)
	case v.Verdict == model.Differs && len(v.Differences) == 0:
		return fmt.Sprintf("The report does not stand. The %s that could be recomputed agree, but what lies beside them is not what they make.", n)
	case v.Verdict == model.Differs:
		return fmt.Sprintf("The report does not stand. %d of %s that were recomputed from the captures differ.", len(v.Differences), n)
	case v.Verdict == model.Older:
		return fmt.Sprintf("Undecided. The report has the older schema %s, which this humdiff doesn't make again; the one that made it can.", Printable(v.Report.Schema))
	case v.Compared > 0:
		return fmt.Sprintf("Undecided. The %s that could be recomputed agree, but not all could be.", n)
	}
	return "Undecided. Nothing could be recomputed."
}

// largestOf is the largest difference of a kind, beside what is tolerated.
func largestOf(w model.VerifiedKind) string {
	s := fmt.Sprintf("Of %s the largest difference is %s %s, of %s tolerated", Count(w.Compared, "value"), digits(2, float64(w.Largest)), w.Kind, strconv.FormatFloat(w.Tolerance, 'f', -1, 64))
	if w.Where != "" {
		s += ": " + Printable(w.Where)
	}
	return s + "."
}

// mostSound is how many captures that are as they should be are named one by one;
// JSON names all.
const mostSound = 8

func capturesFound(all []model.VerifiedCapture) []string {
	var said []string
	sound := count(all, func(c model.VerifiedCapture) bool { return c.State == model.Found })
	if sound > mostSound {
		said = append(said, fmt.Sprintf("%d captures were found and are unchanged.", sound))
	}
	for _, c := range all {
		if c.State != model.Found || sound <= mostSound {
			said = append(said, captureFound(c))
		}
	}
	return said
}

func captureFound(c model.VerifiedCapture) string {
	name := File(c.File)
	switch {
	case c.State == model.Missing:
		return name + " was not found, neither by its name nor by its content."
	case c.State == model.Changed:
		return fmt.Sprintf("%s is not what was measured: %s has other content, and no file with the right content was found.", name, File(c.At))
	case c.At != c.File:
		return fmt.Sprintf("%s is unchanged, and now lies at %s.", name, File(c.At))
	}
	return name + " is unchanged."
}

// editedFiles names the files that aren't what the numbers make.
func editedFiles(v model.Verification) (said []string) {
	for _, f := range v.Files {
		if f.State == model.Differs {
			said = append(said, File(f.File)+" is not what the report's numbers make: it was edited, or made from other numbers.")
		}
	}
	return said
}

// filesBeside says what became of the page, tables and figures, state by state.
func filesBeside(v model.Verification) (said []string) {
	of := map[string][]string{}
	for _, f := range v.Files {
		of[f.State] = append(of[f.State], File(f.File))
	}
	say := func(state, one, many string) {
		switch n := of[state]; len(n) {
		case 0:
		case 1:
			said = append(said, n[0]+" "+one)
		default:
			said = append(said, and(n)+" "+many)
		}
	}
	if n := len(of[model.Same]); n > 0 {
		said = append(said, Count(n, "file")+" beside it, page, tables and figures, to the byte what the report's numbers make.")
	}
	say(model.NotCompared, "shows whole spectra of captures that were not found: it was not compared.",
		"show whole spectra of captures that were not found: they were not compared.")
	if n := len(of[model.OtherVersion]); n > 0 {
		said = append(said, fmt.Sprintf("%s beside it made by another version than this one (%s): not compared.", Count(n, "file"), Printable(v.Tool.Version)))
	}
	say(model.Foreign, "lies beside it and is no file that the report wrote: it was not compared.",
		"lie beside it and are no files that the report wrote: they were not compared.")
	say(model.Missing, "is not there.", "are not there.")
	return said
}

func notCompared(v model.Verification) (said []string) {
	if v.LeftOut > 0 {
		said = append(said, fmt.Sprintf("%s of captures that were not found could not be recomputed.", Count(v.LeftOut, "value")))
	}
	for _, key := range v.NotCompared {
		said = append(said, fmt.Sprintf("%s: this version recomputes nothing of that name.", Printable(key)))
	}
	return said
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
