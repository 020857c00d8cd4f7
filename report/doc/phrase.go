package doc

import (
	"fmt"
	"regexp"
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

// were writes a number with its verb, e.g. "1 was", "12 were".
func were(n int) string {
	if n == 1 {
		return "1 was"
	}
	return fmt.Sprintf("%d were", n)
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
		case r == ' ' || unicode.IsPrint(r):
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, "<U+%04X>", r)
		}
	}
	return b.String()
}

// keptPoint stands for a point that Decimal leaves a point. It is of the private
// use area, which Printable lets no text from outside have.
const keptPoint = "\uE000"

// Verbatim is a text from outside, such as a file's name, made harmless by
// Printable and with points that Decimal takes for no decimal sign.
func Verbatim(s string) string { return strings.ReplaceAll(Printable(s), ".", keptPoint) }

var decimalPoint = regexp.MustCompile(`(\d)\.(\d)`)

// Decimal writes the numbers in a text with a comma as decimal sign, or leaves
// them with a point (ISO 80000-1 allows both), and undoes Verbatim.
func Decimal(s string, comma bool) string {
	if comma {
		s = decimalPoint.ReplaceAllString(s, "$1,$2")
	}
	return strings.ReplaceAll(s, keptPoint, ".")
}

// Shorten keeps the end of a long name in so many characters.
func Shorten(name string, n int) string {
	r := []rune(name)
	if len(r) <= n {
		return name
	}
	return "…" + string(r[len(r)-n+1:])
}

// Span writes which part of a file a side is, e.g. "90 s to 150 s".
func Span(s model.Side) string { return Seconds(s.StartS) + " to " + Seconds(s.EndS) }

// Averaged is a capture's span, with what is left out of it.
func Averaged(c model.Capture) string {
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
func Samples(s model.Side) string {
	if s.Float {
		return fmt.Sprintf("%d-bit float", s.Bits)
	}
	return fmt.Sprintf("%d bit", s.Bits)
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
	names := make([]string, 0, len(list))
	for _, h := range list[:min(mostListed, len(list))] {
		names = append(names, fmt.Sprint(h))
	}
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
