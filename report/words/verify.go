package words

import (
	"fmt"
	"strconv"

	"humdiff/report/result"
)

// listedDifferences is how many differences are written out; JSON has all.
const listedDifferences = 20

// Verify says in sentences whether a report stands, and lists what differs.
func Verify(v result.Verification) []string {
	said := append([]string{verdict(v)}, edited(v)...)
	for _, w := range v.Worst {
		said = append(said, largest(w))
	}
	said = append(said, captures(v.Captures)...)
	said = append(said, beside(v)...)
	if v.LeftOut > 0 {
		said = append(said, fmt.Sprintf("%s of captures that were not found could not be recomputed.", Count(v.LeftOut, "value")))
	}
	for _, key := range v.NotCompared {
		said = append(said, fmt.Sprintf("%s: this version recomputes nothing of that name.", Printable(key)))
	}
	return append(said, differences(v.Differences)...)
}

func verdict(v result.Verification) string {
	made := ""
	if v.Report.Version != "" {
		made = ", made by humdiff " + Printable(v.Report.Version)
	}
	of := fmt.Sprintf("%s (%s%s)", File(v.Report.File), Printable(v.Report.Schema), made)
	switch v.Verdict {
	case result.Stands:
		return fmt.Sprintf("The report stands: %s. %s were recomputed from the captures with an independent transform (%s), and all agree.",
			of, Count(v.Compared, "value"), v.Engine)
	case result.Differs:
		if len(v.Differences) == 0 {
			return fmt.Sprintf("The report does not stand: %s. The %s that could be recomputed agree, but what lies beside them is not what they make.",
				of, Count(v.Compared, "value"))
		}
		return fmt.Sprintf("The report does not stand: %s. %d of %s that were recomputed from the captures differ.",
			of, len(v.Differences), Count(v.Compared, "value"))
	case result.Incomplete:
		if v.Compared > 0 {
			return fmt.Sprintf("Undecided: %s. The %s that could be recomputed agree, but not all could be.", of, Count(v.Compared, "value"))
		}
	}
	return fmt.Sprintf("Undecided: %s. Nothing could be recomputed.", of)
}

// largest is the largest difference of a kind, beside what is tolerated.
func largest(w result.VerifiedKind) string {
	unit := " " + w.Kind
	if w.Kind == "relative" {
		unit = " relative"
	}
	s := fmt.Sprintf("Of %s the largest difference is %s%s, of %s tolerated", Count(w.Compared, "value"), small(float64(w.Largest)), unit, strconv.FormatFloat(w.Tolerance, 'f', -1, 64))
	if w.Where != "" {
		s += ": " + Printable(w.Where)
	}
	return s + "."
}

// small is a number of few digits that may be very small.
func small(x float64) string { return strconv.FormatFloat(x, 'g', 2, 64) }

// mostNamed is how many captures that are as they should be are named one by
// one; JSON names all.
const mostNamed = 8

func captures(all []result.VerifiedCapture) []string {
	var said []string
	sound := 0
	for _, c := range all {
		if c.State == result.Found {
			sound++
		}
	}
	if sound > mostNamed {
		said = append(said, fmt.Sprintf("%d captures were found and are unchanged.", sound))
	}
	for _, c := range all {
		if c.State == result.Found && sound > mostNamed {
			continue
		}
		name := File(c.File)
		switch {
		case c.State == result.Missing:
			said = append(said, name+" was not found, neither by its name nor by its content.")
		case c.State == result.Changed:
			said = append(said, fmt.Sprintf("%s is not what was measured: %s has other content, and no file with the right content was found.", name, File(c.At)))
		case c.At != c.File:
			said = append(said, fmt.Sprintf("%s is unchanged, and now lies at %s.", name, File(c.At)))
		default:
			said = append(said, name+" is unchanged.")
		}
	}
	return said
}

// edited names the files that aren't what the numbers make.
func edited(v result.Verification) (said []string) {
	for _, f := range v.Files {
		if f.State == result.Differs {
			said = append(said, File(f.File)+" is not what the report's numbers make: it was edited, or made from other numbers.")
		}
	}
	return said
}

// beside says what became of the page, tables and figures, state by state.
func beside(v result.Verification) (said []string) {
	names := map[string][]string{}
	for _, f := range v.Files {
		names[f.State] = append(names[f.State], File(f.File))
	}
	say := func(state, one, many string) {
		switch n := names[state]; len(n) {
		case 0:
		case 1:
			said = append(said, n[0]+" "+one)
		default:
			said = append(said, And(n)+" "+many)
		}
	}
	if n := len(names[result.Same]); n > 0 {
		said = append(said, Count(n, "file")+" beside it, page, tables and figures, to the byte what the report's numbers make.")
	}
	say(result.NotCompared, "shows whole spectra of captures that were not found: it was not compared.",
		"show whole spectra of captures that were not found: they were not compared.")
	if n := len(names[result.OtherVersion]); n > 0 {
		said = append(said, fmt.Sprintf("%s beside it made by another version than this one (%s): not compared.", Count(n, "file"), Printable(v.Tool.Version)))
	}
	say(result.Foreign, "lies beside it and is no file that the report wrote: it was not compared.",
		"lie beside it and are no files that the report wrote: they were not compared.")
	say(result.Missing, "is not there.", "are not there.")
	return said
}

func differences(all []result.Difference) []string {
	var said []string
	for i, d := range all {
		if i == listedDifferences {
			return append(said, fmt.Sprintf("... and %d more; --format json has them all.", len(all)-i))
		}
		said = append(said, fmt.Sprintf("%s: reported %s, recomputed %s.", Printable(d.Where), value(d.Reported), value(d.Recomputed)))
	}
	return said
}

// value is a value of a report as a reader would write it.
func value(v any) string {
	if v == nil {
		return "nothing"
	}
	return Printable(fmt.Sprint(v))
}
