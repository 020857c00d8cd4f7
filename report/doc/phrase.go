package doc

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"humdiff/report/model"
)

// Count writes a count with its noun, e.g. "1 line", "3 lines".
func Count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	if strings.HasSuffix(noun, "ch") {
		noun += "e"
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// and joins names, e.g. "a, b and c". It leaves them as they are.
func and(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// lowerFirst puts a sentence behind a colon.
func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// File writes a file's name without its folders, which may name people and their
// customers, and harmless.
func File(path string) string {
	name := Base(path)
	if name == "" {
		return "(no name)"
	}
	return Printable(name)
}

// Base is a path without its folders, whichever system it was written on.
func Base(path string) string {
	path = strings.TrimRight(path, `/\`)
	return path[strings.LastIndexAny(path, `/\`)+1:]
}

// Printable writes a text from outside so that it can neither command a terminal
// nor change the direction of the text around it: characters that print nothing
// are written as their code.
func Printable(s string) string {
	var b strings.Builder
	for _, r := range strings.ToValidUTF8(s, "\ufffd") {
		switch {
		case r == ' ' || r == '\u00a0' || unicode.IsPrint(r):
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, "<U+%04X>", r)
		}
	}
	return b.String()
}

// shorten keeps the end of a long name in so many characters.
func shorten(name string, n int) string {
	r := []rune(name)
	if len(r) <= n {
		return name
	}
	return "…" + string(r[len(r)-n+1:])
}

// Span writes which part of a file a side is, e.g. "90 s to 150 s".
func Span(s model.Side) string { return Seconds(s.StartS) + " to " + Seconds(s.EndS) }

// averaged is a capture's span, with what is left out of it.
func averaged(c model.Capture) string {
	if !(c.Health.LeftOutS > 0) {
		return Span(c.Side)
	}
	return Span(c.Side) + " without " + tenths(float64(c.Health.LeftOutS)) + " of bursts"
}

// length is how much of a capture its levels are made of.
func length(c model.Capture) string {
	seconds, left := c.EndS-c.StartS, float64(c.Health.LeftOutS)
	if !(left > 0) {
		return Seconds(seconds)
	}
	return fmt.Sprintf("%s (of %s; bursts are left out)", tenths(seconds-left), Seconds(seconds))
}

// Samples writes how a side's samples are written, e.g. "24 bit", "32-bit float".
func Samples(s model.Side) string { return bitsOf(s.Bits, s.Float) }

func bitsOf(bits int, float bool) string {
	if float {
		return fmt.Sprintf("%d-bit float", bits)
	}
	return fmt.Sprintf("%d bit", bits)
}

// mostListed is how many harmonics are named in one place.
const mostListed = 6

// harmonics names harmonics, e.g. "harmonics 1, 3 and 5", "harmonics 1, 2, 3, 4,
// 5, 6 and 9 more".
func harmonics(list []int) string {
	noun := "harmonics "
	if len(list) == 1 {
		noun = "harmonic "
	}
	names := each(list[:min(mostListed, len(list))], strconv.Itoa)
	if more := len(list) - mostListed; more > 0 {
		return noun + strings.Join(names, ", ") + fmt.Sprintf(" and %d more", more)
	}
	return noun + and(names)
}

// channels names the channels of a pair, e.g. "Channel 1".
func channels(p model.Pair) string {
	if p.Quiet.Channel == p.Near.Channel {
		return fmt.Sprintf("Channel %d", p.Near.Channel)
	}
	return fmt.Sprintf("Near channel %d, quiet channel %d", p.Near.Channel, p.Quiet.Channel)
}

// Run writes a run's number as it is cited everywhere.
func Run(n int) string { return fmt.Sprintf("run %d", n) }

// Runs cites runs, successive ones as a range, e.g. "runs 3, 5 to 9".
func Runs(list []int) string { return runs(list, len(list)) }

// mostCited is how many runs, or ranges of them, a sentence cites; a list of its own
// has them all.
const mostCited = 4

func runs(list []int, most int) string {
	sorted := slices.Compact(slices.Sorted(slices.Values(list)))
	switch len(sorted) {
	case 0:
		return "no run"
	case 1:
		return Run(sorted[0])
	}
	var spans []string
	said := 0
	for i := 0; i < len(sorted) && len(spans) < most; {
		j := i
		for j+1 < len(sorted) && sorted[j+1] == sorted[j]+1 {
			j++
		}
		switch j - i {
		case 0:
			spans = append(spans, fmt.Sprint(sorted[i]))
		case 1:
			spans = append(spans, fmt.Sprint(sorted[i]), fmt.Sprint(sorted[j]))
		default:
			spans = append(spans, fmt.Sprintf("%d to %d", sorted[i], sorted[j]))
		}
		i, said = j+1, j+1
	}
	if left := len(sorted) - said; left > 0 {
		return "runs " + strings.Join(spans, ", ") + fmt.Sprintf(" and %d more", left)
	}
	return "runs " + strings.Join(spans, ", ")
}

// cited is the runs that a note's arguments name, behind a space.
func cited(args arguments) string {
	list, ok := args["runs"].([]float64)
	if !ok || len(list) == 0 {
		return ""
	}
	return " " + runs(wholes(list), mostCited)
}

func wholes(list []float64) []int { return each(list, func(x float64) int { return int(x) }) }

func cite(args arguments) string {
	if s := cited(args); s != "" {
		return " (" + s[1:] + ")"
	}
	return ""
}

// listed says that an order is the list's, where nobody knows start times.
func listed(args arguments) string {
	if args["as_listed"] == 1.0 {
		return ", as listed"
	}
	return ""
}

// RunIs says which run of a session one is, e.g. "Run 5, unplugged lead: Grebe, laid
// beside, 20 Ω, repeat 1; compared with quiet, runs 2, 6."
func RunIs(r model.Run) string { return strings.TrimSuffix(tellOne("run", r), ".") + "." }

// condition is a run's, in words.
func condition(c string) string {
	if c == model.Unplugged {
		return "unplugged lead"
	}
	return Printable(c)
}

// whyNotUsed is why a run is not used; empty where it is.
func whyNotUsed(r model.Run) string { return tellOne("run.unused", r) }

// Termination writes how a far end is terminated, e.g. "20 Ω", "open".
func Termination(t model.Termination) string {
	switch {
	case t.Open:
		return "open"
	case !t.Ohms.Ok():
		return "termination not stated"
	}
	return Ohms(t.Ohms)
}

// farDevice writes how the far device is tied to the mains' earth.
var farDevice = map[string]string{model.Yes: "far device bonded", model.ClassTwo: "far device of class II", model.No: "far device isolated"}

// Where writes an exposure at a termination, e.g. "beside, 20 Ω, lead loaded".
func Where(w model.Where) string {
	out := []string{exposure(w.Exposure), Termination(w.Termination)}
	out = add(out, map[string]string{model.Yes: "lead loaded", model.No: "lead unloaded"}[w.Loaded],
		farDevice[w.Bonded])
	return strings.Join(out, ", ")
}

func exposure(name string) string {
	if name == "" {
		return "exposure not named"
	}
	return Printable(name)
}

func upperFirst(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// names joins names from outside, e.g. "Heron, Plover and Rail".
func names(all []string) string { return and(each(all, Printable)) }
