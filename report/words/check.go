package words

import (
	"fmt"
	"strings"

	"humdiff/report/result"
)

// Check says in sentences how many files can be used, and which can't.
func Check(r result.Check) []string {
	var bad, warned []string
	for _, f := range r.Files {
		switch {
		case f.Problem.What != "":
			bad = append(bad, File(f.File))
		case hasWarnings(r.Warnings, f.File):
			warned = append(warned, File(f.File))
		}
	}
	said := []string{fmt.Sprintf("%s: %d can be measured.", Count(len(r.Files), "file"), len(r.Files)-len(bad))}
	if len(bad) > 0 {
		said = append(said, "Not usable: "+strings.Join(bad, ", ")+".")
	}
	if len(warned) > 0 {
		said = append(said, "With warnings: "+strings.Join(warned, ", ")+".")
	}
	return said
}

func hasWarnings(all []result.Warning, file string) bool {
	for _, w := range all {
		if w.File == file {
			return true
		}
	}
	return false
}

// CheckedFormat says what a file is, in one line each: how its samples are
// written and how many there are, when it says it was recorded, what else it says.
func CheckedFormat(f result.CheckedFile) []string {
	if !f.RateHz.Ok() {
		return nil
	}
	said := fmt.Sprintf("%s, %s, %s, %s", writtenAs(f), Hz(f.RateHz), Count(int(f.Count), "channel"), Seconds(float64(f.FileS)))
	if f.StartS > 0 || f.EndS < f.FileS {
		said += fmt.Sprintf("; of these %s to %s", Seconds(float64(f.StartS)), Seconds(float64(f.EndS)))
	}
	lines := []string{said}
	if m := f.Metadata; m.Recorded != "" {
		lines = append(lines, fmt.Sprintf("recorded %s by the recorder's clock (%s)", strings.Replace(m.Recorded, "T", " ", 1), Printable(m.Source)))
	}
	for _, t := range f.Metadata.Texts {
		lines = append(lines, Printable(t.Name)+": "+shortened(Printable(t.Value)))
	}
	return lines
}

// writtenAs is how samples are written, and in what, e.g. "24-bit PCM, WAV".
func writtenAs(f result.CheckedFile) string {
	switch f.Container {
	case "FLAC": // which the format says
		return f.Format
	case "RIFF":
		return f.Format + ", WAV"
	}
	return f.Format + ", " + f.Container
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
