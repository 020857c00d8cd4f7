package doc

import (
	"slices"
	"strings"

	"humdiff/report/model"
)

// gate says in a line whether a result can be published; empty where nobody judged
// that.
func gate(m model.MayPublish) string { return tellOne("gate", m.State) }

// publishSection says what limits publishing a result, and has the caption for it.
func publishSection(head model.Head, caption string, say func(model.Note) string) Section {
	s := Section{ID: "publish", Title: "To publish it"}
	why := slices.Clone(head.MayPublish.Why) // what holds of any result comes last
	slices.SortStableFunc(why, func(a, b model.Note) int { return min(0, gravity(b.Code)) - min(0, gravity(a.Code)) })
	list := List{Kind: Prose}
	for _, w := range why {
		item := say(w)
		if !slices.ContainsFunc(list.Items, func(before string) bool { return strings.HasSuffix(before, item) }) {
			list.Items = append(list.Items, item)
		}
	}
	if n := len(list.Items); n > 0 {
		list.Brief = each(list.Items[:min(2, n)], opening)
		if n > 2 {
			list.Brief = append(list.Brief, upperFirst(more(n-2, "reason"))+".")
		}
		s.Short, s.Blocks = shortPublish, []Block{list}
	}
	if m := head.MayPublish.State; (m == model.Ready || m == model.OnlyAs) && caption != "" {
		s.Blocks = append(s.Blocks, List{Kind: Prose, ID: "caption", Title: "Caption, ready to copy", Items: []string{caption}, Brief: []string{}})
	}
	return s
}

// CompareCaption is what to print below a comparison: the finding with what limits
// it, what was compared, and by what.
func CompareCaption(r model.Compare) string {
	if len(r.Pairs) == 0 {
		return ""
	}
	return tellOne("caption.compare", map[string]any{"answer": CompareHeadline(r), "pair": pairOf(r.Pairs[0], r.Settings), "alone": len(r.Pairs) == 1, "by": madeBy(r.Head)})
}

// MeasureCaption is what to print below a measurement of one capture.
func MeasureCaption(r model.Measure) string {
	if len(r.Captures) != 1 {
		return ""
	}
	return tellOne("caption.measure", map[string]any{"capture": captureOf(r.Captures[0], r.Settings, model.ForAll, ""), "by": madeBy(r.Head)})
}

// madeBy names the program and the result's fingerprint.
func madeBy(h model.Head) string { return tellOne("made_by", h) }

// FingerprintSaid is a fingerprint as pages, figures and cards have it.
func FingerprintSaid(mark string) string { return "fingerprint " + Printable(mark) }
