package doc

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/report/model"
)

// Places of sections in the short form, in which a reader's questions come: may I
// publish it, how sure, which lines, could it be heard, what is wrong, what to
// record next.
const (
	shortPublish = iota + 1
	shortSure
	shortLines
	shortHeard
	shortWarnings
	shortNext
)

// sureSections are how sure the answer is, and what it stands on: one section where
// one channel is told of, else one with a heading above each channel.
func sureSections(all []told) []Section {
	items := once(all, func(t told) []string { return t.sure })
	sure := Section{ID: "sure", Title: "How sure", Short: shortSure, Blocks: []Block{List{Kind: Prose, Items: items, Brief: briefSure(all, items)}}}
	if len(all) == 1 {
		sure.Blocks = append(sure.Blocks, List{Items: all[0].found, Brief: []string{}})
		return []Section{sure}
	}
	found := Section{ID: "found", Title: "What it stands on"}
	for _, t := range all {
		found.Blocks = append(found.Blocks, Heading{Text: t.of}, List{Items: t.found})
	}
	return []Section{sure, found}
}

// briefSure is the first of what is said of how sure, and of one channel what puts it
// in doubt.
func briefSure(all []told, items []string) []string {
	if len(all) != 1 || len(items) < 3 {
		return first(items, 2)
	}
	return append(items[:1:1], items[2:]...)
}

// openSection is what could still explain a result and what to record to tell, as a
// table; the short form has what to record.
func openSection(all []told) Section {
	asked := once(all, func(t told) []string { return each(t.open, func(q question) string { return q.what + " | " + q.next }) })
	t := Table{ID: "questions", Columns: []Column{{Head: "explanation", Left: true}, {Head: "how to tell", Left: true}}}
	var next []string
	for _, q := range questions(asked) {
		t.Rows = append(t.Rows, textRow(q.what, q.next))
		next = appendOnce(next, q.next)
	}
	return Section{ID: "open", Title: "What could still explain it", Short: shortNext,
		Blocks: []Block{List{Title: "What to record next", Brief: first(next, 3)}, t}}
}

// nextSection is what to record next, where nothing needs explaining.
func nextSection(next []string) Section {
	return Section{ID: "open", Title: "What to record next", Short: shortNext, Blocks: []Block{List{Items: next, Brief: first(next, 2)}}}
}

// unsaid are the warnings that don't stand already among what limits publishing.
func unsaid(all []model.Warning, head model.Head) []model.Warning {
	said := map[string]string{"one_placement": "one_placement", "scale_unknown": "relative_levels"}
	return slices.DeleteFunc(slices.Clone(all), func(w model.Warning) bool {
		return slices.ContainsFunc(head.MayPublish.Why, func(n model.Note) bool { return n.Code == said[w.Code] })
	})
}

// first is the first items, and of how many others there are more.
func first(items []string, n int) []string {
	if len(items) <= n+1 {
		return items
	}
	return append(items[:n:n], more(len(items)-n, ""))
}

// whose names whom a sentence is said of, or how many they are.
func whose(names []string) string {
	if len(names) > mostHeaded {
		return fmt.Sprintf("%s and %d more", names[0], len(names)-1)
	}
	return strings.Join(names, "; ")
}

// once gathers what is said of channels, each thing once, with the channels it is
// said of where it isn't said of all.
func once(all []told, part func(told) []string) (out []string) {
	type sentence struct{ said, of string }
	var every []sentence
	for _, t := range all {
		for _, s := range part(t) {
			every = append(every, sentence{s, t.of})
		}
	}
	for _, alike := range grouped(every, func(s sentence) string { return s.said }) {
		names := each(alike, func(s sentence) string { return s.of })
		if len(names) < len(all) {
			out = append(out, whose(names)+": "+lowerFirst(alike[0].said))
		} else {
			out = append(out, alike[0].said)
		}
	}
	return out
}

// WarningList writes a result's warnings, each once with all its places; the short
// form has the gravest kinds, each with its count.
func WarningList(all []model.Warning) List {
	return List{Kind: Warnings, Items: eachOnce(all), Brief: byKind(all)}
}

// eachOnce is each sentence with the files and channels it is said of.
func eachOnce(all []model.Warning) []string {
	out := []string{}
	for _, alike := range grouped(all, func(w model.Warning) string { return w.Code + " " + said(w.Note) }) {
		line := said(alike[0].Note) + " (" + Printable(alike[0].Code)
		if in := strings.Join(appendOnce(nil, add(nil, each(alike, place)...)...), "; "); in != "" {
			line += ": " + in
		}
		out = append(out, line+")")
	}
	return out
}

// grouped are things under one key together, in the order in which keys come first.
func grouped[T any](all []T, key func(T) string) (groups [][]T) {
	at := map[string]int{}
	for _, x := range all {
		k := key(x)
		i, seen := at[k]
		if !seen {
			i, groups = len(groups), append(groups, nil)
			at[k] = i
		}
		groups[i] = append(groups[i], x)
	}
	return groups
}

func codeOf(w model.Warning) string { return w.Code }

// mostKinds is how many kinds of warnings the short form has.
const mostKinds = 3

// byKind is one line for each code, those first that put levels in doubt.
func byKind(all []model.Warning) []string {
	kinds := grouped(all, codeOf)
	slices.SortStableFunc(kinds, func(a, b []model.Warning) int { return gravity(b[0].Code) - gravity(a[0].Code) })
	out := []string{}
	for _, kind := range kinds[:min(mostKinds, len(kinds))] {
		text := opening(said(kind[0].Note))
		if n := len(kind); n > 1 {
			text = fmt.Sprintf("%d times: ", n) + text
		} else if p := place(kind[0]); p != "" {
			text = shorten(p, longName) + ": " + text
		}
		out = append(out, text)
	}
	return add(out, more(len(kinds)-mostKinds, "kind"))
}

// opening is a text's first sentence.
func opening(s string) string {
	s, _, _ = strings.Cut(s, ". ")
	return strings.TrimSuffix(s, ".") + "."
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
	slight = []string{"one_placement", "relative_levels", "scale_unknown", "scale_uncertainty_unknown"}
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

// said is a note's sentence as it stands by itself.
func said(n model.Note) string {
	s := upperFirst(Printable(strings.TrimSpace(Says(n))))
	if strings.HasSuffix(s, ".") || strings.HasSuffix(s, "”") {
		return s
	}
	return s + "."
}
