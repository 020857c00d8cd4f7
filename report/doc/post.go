package doc

import (
	"fmt"
	"slices"

	"humdiff/report/model"
)

// MostPosted is how many lines the card to publish has at most.
const MostPosted = keyLines

// HasCard says that there is something to publish of a pair, and that it may be.
func HasCard(r model.Compare, p model.Pair) bool {
	state := r.MayPublish.State
	return (state == model.Ready || state == model.OnlyAs) && len(PostedRows(p, 1)) > 0
}

// PostedRows are the lines that matter most, at most n of them, by harmonic.
func PostedRows(p model.Pair, n int) []model.Row {
	key := keyOf(p, n)
	return slices.DeleteFunc(p.Rows(), func(l model.Row) bool { return !slices.Contains(key, l.Harmonic) })
}

// PostedDelta is a delta in as little room as may be: "+11.3", "≥2.0", "≤−1.5".
func PostedDelta(d model.Estimate) string {
	if v, ok := d.Value(); ok {
		return signed(1, v)
	}
	switch lo, hi := ends(d); {
	case lo.Ok() && hi.Ok():
		return Fixed(down(lo), 1) + " to " + Fixed(up(hi), 1)
	case lo.Ok():
		return "≥" + Fixed(down(lo), 1)
	case hi.Ok():
		return "≤" + Fixed(up(hi), 1)
	}
	return "?"
}

// CardText is the text of the card to publish, with so many of a pair's lines on it.
func CardText(r model.Compare, p model.Pair, shown int) FigureText {
	const name = 24 // characters of a file's
	file := func(s model.Side) string { return Printable(shorten(Base(s.File), name)) }
	found := CountLines(p)
	t := FigureText{
		Title: rise(p, r.Settings),
		Kind:  ofChannel(fmt.Sprintf("%s compared with %s, on one placement of the lead", file(p.Near.Side), file(p.Quiet.Side)), p),
		Desc:  headline(p, r.Settings) + " " + tellOne("pair.sure", pairOf(p, r.Settings)),
		Y:     fmt.Sprintf("near minus quiet, dB: the %d strongest and most changed of %s", shown, Count(len(p.Lines)-found.Neither, "line")),
		X:     "harmonic of the mains" + fundamental(p.NominalHz()),
	}
	hash := func(s model.Side) string { return file(s) + " " + Printable(s.SHA256[:min(len(s.SHA256), 16)]) + "…" }
	t.Caption = []string{"SHA-256 of " + and(slices.Compact([]string{hash(p.Near.Side), hash(p.Quiet.Side)}))}
	if r.Tool.Version != "" {
		t.Caption = append(t.Caption, "humdiff "+Printable(r.Tool.Version))
	}
	return t
}

// Caveats are what has to stand beside a finding wherever it is shown, each in a
// sentence, the weightiest first: at most three.
func Caveats(r model.Compare, p model.Pair) []string {
	all := each(r.MayPublish.Why, func(n model.Note) string { return opening(Says(n)) })
	all = slices.Insert(all, min(len(all), 2), tellOne("pair.not_shown", pairOf(p, r.Settings)))
	return all[:min(len(all), 3)]
}

// CaptionFile is what to print below a result and its figures, ready to copy; empty
// where it may not be published.
func CaptionFile(r model.Compare) string {
	if state := r.MayPublish.State; state != model.Ready && state != model.OnlyAs {
		return ""
	}
	return CompareCaption(r) + "\n"
}
