package doc

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/report/model"
)

// gate says in a line whether a result can be published; empty where nobody judged
// that.
func gate(m model.MayPublish) string {
	state := map[string]string{
		model.Ready:  "Yes, as it stands.",
		model.OnlyAs: "Only as it is worded here.",
		model.NotYet: "Not yet.",
	}[m.State]
	if state == "" {
		return ""
	}
	return "May I publish this? " + state
}

// publishSection says what limits publishing a result, and has the caption for it.
func publishSection(head model.Head, caption string, say func(model.Note) string) Section {
	s := Section{ID: "publish", Title: "To publish it"}
	list := List{Kind: Prose}
	for _, w := range head.MayPublish.Why {
		item := say(w)
		if !slices.ContainsFunc(list.Items, func(before string) bool { return strings.HasSuffix(before, item) }) {
			list.Items = append(list.Items, item)
		}
	}
	if len(list.Items) > 0 {
		list.Brief = first(briefs(list.Items), 1)
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
	p := r.Pairs[0]
	said := CompareHeadline(r)
	if d := p.Hum.Delta; len(r.Pairs) == 1 && d.Measured() && Interval(d) != "" {
		said += fmt.Sprintf(" %s interval from %s: %s.", Percent(r.Settings.Confidence), sources(r.Settings), Interval(asSaid(d)))
	}
	return said + fmt.Sprintf(" Compared: %s, %s of near, with %s, %s of quiet; hum to %s. %s",
		File(p.Near.File), length(p.Near), File(p.Quiet.File), length(p.Quiet), Hz(model.Num(p.Hum.UpToHz)), madeBy(r.Head))
}

// MeasureCaption is what to print below a measurement of one capture.
func MeasureCaption(r model.Measure) string {
	if len(r.Captures) != 1 {
		return ""
	}
	c := r.Captures[0]
	return fmt.Sprintf("%s Measured: %s, %s; hum to %s. %s", CaptureHeadline(c, r.Settings), File(c.File), length(c), Hz(model.Num(c.UpToHz)), madeBy(r.Head))
}

// madeBy names the program and the result's fingerprint.
func madeBy(h model.Head) string {
	said := "Made by humdiff " + Printable(h.Tool.Version)
	if h.Fingerprint != "" {
		said += ", " + FingerprintSaid(h.Fingerprint)
	}
	return said + "."
}

// What stands beside a page, for its footer.
const (
	BesideCompare = "The numbers are in compare.json and lines.csv beside this page."
	BesideSession = "This is one run of a session: report.html beside this page has all of them."
)

// FingerprintSaid is a fingerprint as pages, figures and cards have it.
func FingerprintSaid(mark string) string { return "fingerprint " + Printable(mark) }
