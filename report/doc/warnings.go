package doc

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"humdiff/report/model"
)

// WarningList writes a result's warnings, each once with all its places; the short
// form has the gravest kinds, each with its count.
func WarningList(all []model.Warning) List {
	return List{Kind: Warnings, Items: eachOnce(all), Brief: byKind(all)}
}

// eachOnce is each sentence with the files and channels it is said of.
func eachOnce(all []model.Warning) []string {
	type key struct{ code, text string }
	places := map[key][]string{}
	var order []key
	for _, w := range all {
		k := key{w.Code, said(w.Note)}
		if _, seen := places[k]; !seen {
			order = append(order, k)
		}
		if p := place(w); !slices.Contains(places[k], p) {
			places[k] = append(places[k], p)
		}
	}
	out := make([]string, 0, len(order))
	for _, k := range order {
		line := k.text + " (" + Printable(k.code)
		if in := strings.Join(nonEmpty(places[k]), "; "); in != "" {
			line += ": " + in
		}
		out = append(out, line+")")
	}
	return out
}

// mostKinds is how many kinds of warnings the short form has.
const mostKinds = 3

// byKind is one line for each code, those first that put levels in doubt.
func byKind(all []model.Warning) []string {
	count := map[string]int{}
	first := map[string]model.Warning{}
	codes := []string{}
	for _, w := range all {
		if count[w.Code]++; count[w.Code] == 1 {
			codes, first[w.Code] = append(codes, w.Code), w
		}
	}
	slices.SortStableFunc(codes, func(a, b string) int { return gravity(b) - gravity(a) })
	out := []string{}
	for _, code := range codes[:min(mostKinds, len(codes))] {
		text := opening(said(first[code].Note))
		if n := count[code]; n > 1 {
			text = fmt.Sprintf("%d times: ", n) + text
		} else if p := place(first[code]); p != "" {
			text = Shorten(p, longName) + ": " + text
		}
		out = append(out, cut(text, briefly))
	}
	if left := more(len(codes)-mostKinds, "kind"); left != "" {
		out = append(out, left)
	}
	return out
}

// briefly is how much of a warning the short form has: a line of a usual terminal.
const briefly = 94 // characters

// opening is a text's first sentence.
func opening(s string) string {
	s, _, _ = strings.Cut(s, ". ")
	return strings.TrimSuffix(s, ".") + "."
}

// briefs are texts' first sentences, each in a line.
func briefs(all []string) []string {
	out := make([]string, len(all))
	for i, s := range all {
		out[i] = cut(opening(s), briefly)
	}
	return out
}

// cut keeps the beginning of a text, to a whole word.
func cut(s string, n int) string {
	if r := []rune(s); len(r) > n {
		s = string(r[:n])
		return s[:max(0, strings.LastIndex(s, " "))] + " …"
	}
	return s
}

// grave are codes of warnings after which a result can't be told as it is; slight
// ones are said elsewhere too.
var (
	grave = []string{"clipped", "same_recording", "spans_overlap", "mains_doubtful", "mains_ambiguous", "two_combs", "mains_differ",
		"gain_changed", "channels_swapped", "rate_label"}
	slight = []string{"one_placement", "scale_unknown", "scale_uncertainty_unknown"}
)

// IsGrave says that a warning of a code puts levels in doubt.
func IsGrave(code string) bool { return gravity(code) > 0 }

// gravity is higher for warnings that put more in doubt.
func gravity(code string) int {
	switch {
	case slices.Contains(grave, code):
		return 2
	case slices.ContainsFunc(doubts, func(d doubt) bool { return d.code == code }):
		return 1
	case slices.Contains(slight, code):
		return -1
	}
	return 0
}

func place(w model.Warning) string {
	switch {
	case w.File == "":
		return ""
	case w.Channel == 0:
		return File(w.File)
	}
	return captureTitle(model.Side{File: w.File, Channel: w.Channel})
}

func nonEmpty(all []string) []string {
	return slices.DeleteFunc(slices.Clone(all), func(s string) bool { return s == "" })
}

// said is a note's sentence as it stands by itself.
func said(n model.Note) string {
	s := Printable(strings.TrimSpace(Says(n)))
	if first, size := utf8.DecodeRuneInString(s); size > 0 {
		s = string(unicode.ToUpper(first)) + s[size:]
	}
	if strings.HasSuffix(s, ".") || strings.HasSuffix(s, "”") {
		return s
	}
	return s + "."
}
