package doc

import (
	"fmt"
	"strings"

	"humdiff/report/model"
)

// Check tells what files are, and what is wrong with them.
func Check(r model.Check) Document {
	d := Document{Title: CheckHeadline(r), Gate: gate(r.MayPublish), Footer: madeBy(r.Head)}
	warnings := warningSection(r.Warnings)
	warnings.Short = 0 // the table has them in a word each
	d.Sections = filled(
		Section{ID: "files", Title: "Each file", Short: shortLines, Blocks: []Block{CheckTable(r)}},
		hintSection(r),
		warnings,
		Section{ID: "formats", Title: "What each file says", Folded: true, Blocks: fileFacts(r)},
	)
	return d
}

// CheckHeadline says how many files can be used.
func CheckHeadline(r model.Check) string {
	bad, spoilt, odd := 0, 0, 0
	for _, f := range r.Files {
		switch {
		case f.Problem.What != "" || len(f.Channels) == 0:
			bad++
		case spoiltBy(f):
			spoilt++
		case len(about(r.Warnings, f.File, 0)) > 0:
			odd++
		}
	}
	said := []string{}
	for _, c := range []struct {
		n    int
		what string
	}{
		{len(r.Files) - bad - spoilt - odd, "without a warning"}, {odd, "with warnings"},
		{spoilt, "clipped or silent"}, {bad, "not usable"},
	} {
		if c.n > 0 {
			said = append(said, fmt.Sprintf("%d %s", c.n, c.what))
		}
	}
	if len(said) == 0 {
		return "No file was looked at."
	}
	return Count(len(r.Files), "file") + ": " + strings.Join(said, ", ") + "."
}

// spoiltBy says that a channel is clipped or has nothing recorded.
func spoiltBy(f model.CheckedFile) bool {
	for _, c := range f.Channels {
		if c.Health.Clipped > 0 || c.Health.Silent {
			return true
		}
	}
	return false
}

// hintSection says what to do with files that can't be used.
func hintSection(r model.Check) Section {
	var items []string
	for _, f := range r.Files {
		if f.Problem.What == "" {
			continue
		}
		text := File(f.File) + ": " + Printable(f.Problem.What) + "."
		if f.Problem.Hint != "" {
			text += " What to do: " + Printable(f.Problem.Hint) + "."
		}
		items = append(items, text)
	}
	if len(items) == 0 {
		return Section{}
	}
	return Section{ID: "problems", Title: "Not usable", Short: shortNext, Blocks: []Block{List{Items: items, Brief: first(items, 3)}}}
}

// fileFacts say of each file how its samples are written and how many there are,
// when it says it was recorded, and what else it says.
func fileFacts(r model.Check) []Block {
	var blocks []Block
	for _, f := range r.Files {
		if !f.RateHz.Ok() {
			continue
		}
		blocks = append(blocks, Heading{Text: File(f.File)}, Facts{Of: factsOf(f)})
	}
	return blocks
}

func factsOf(f model.CheckedFile) []Fact {
	facts := []Fact{{"Format", fmt.Sprintf("%s, %s, %s, %s", writtenAs(f), Hz(f.RateHz), Count(wholeOf(f.Count), "channel"), Seconds(float64(f.FileS)))}}
	if f.StartS > 0 || f.EndS < f.FileS {
		facts = append(facts, Fact{"Read", Seconds(float64(f.StartS)) + " to " + Seconds(float64(f.EndS))})
	}
	if m := f.Metadata; m.Recorded != "" {
		facts = append(facts, Fact{"Recorded", fmt.Sprintf("%s by the recorder's clock (%s)", Printable(strings.Replace(m.Recorded, "T", " ", 1)), Printable(m.Source))})
	}
	for _, t := range f.Metadata.Texts {
		facts = append(facts, Fact{Printable(t.Name), shortened(Printable(t.Value))})
	}
	return facts
}

// wholeOf is a count as a whole number, 0 where it is none.
func wholeOf(n model.Num) int {
	if v, ok := asCount(n).(int64); ok {
		return int(v)
	}
	return 0
}

// writtenAs is how samples are written, and in what, e.g. "24-bit PCM, WAV".
func writtenAs(f model.CheckedFile) string {
	switch f.Container {
	case "FLAC": // which the format says
		return Printable(f.Format)
	case "RIFF":
		return Printable(f.Format) + ", WAV"
	}
	return Printable(f.Format) + ", " + Printable(f.Container)
}

// longestText is how much of a text is shown; JSON and CSV have it all.
const longestText = 200 // characters

func shortened(s string) string {
	runes := []rune(s)
	if len(runes) <= longestText {
		return s
	}
	return string(runes[:longestText]) + " …"
}
