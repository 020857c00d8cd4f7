package doc

import (
	"fmt"
	"slices"

	"humdiff/report/model"
)

// Trend tells hum against time, with levels in dBFS.
func Trend(r model.Trend) Document { return TrendIn(r, InDBFS) }

// TrendIn is Trend with levels in a unit.
func TrendIn(r model.Trend, u Unit) Document {
	d := Document{Title: "Nothing was followed.", Gate: gate(r.MayPublish), Footer: madeBy(r.Head)}
	all := make([]told, len(r.Captures))
	var figures []Block
	for i, c := range r.Captures {
		all[i] = tellTrend(c, r.Settings)
		if len(r.Captures) > 1 {
			all[i].of = fmt.Sprintf("Channel %d", c.Channel)
		}
		figures = append(figures, Figure{Name: "trend", Index: i})
	}
	if len(r.Captures) > 0 {
		c := r.Captures[0]
		d.Title, d.Lead = TrendHeadline(c, r.Settings), captureTitle(c.Side)
		for i := 1; i < len(r.Captures); i++ {
			all[i].sure = append([]string{TrendHeadline(r.Captures[i], r.Settings)}, all[i].sure...)
		}
	}
	spans := linesSection(slices.Collect(TrendTables(r, u)), r.Settings, u)
	spans.Title = "Span by span"
	if n := len(spans.Blocks); n > 0 {
		spans.Blocks[n-1] = List{Kind: Notes, Items: trendNotes(r.Settings), Brief: []string{}}
	}
	d.Sections = filled(
		Section{ID: "figures", Title: "Hum against time", Blocks: figures},
		sureSection(all),
		foundSection(all),
		spans,
		openSection(all),
		warningSection(r.Warnings),
	)
	return d
}

func trendNotes(set model.Settings) []string {
	out := []string{
		fmt.Sprintf("Hum is the mean of a span, behind it its %s interval from recording noise alone.", Percent(set.Confidence)),
		"“Below”: none was found, and it lies below this upper limit.",
		"A span stands still where hum neither changes by 2 dB nor drifts by 1.5 dB, for 2 s or more.",
		"A comparison asks for 10 s and more to see weak lines.",
		"0 dBFS is the rms of a full-scale sine (AES17).",
	}
	for _, k := range Scales(set) {
		out = append(out, "Volts: "+k+".")
	}
	return out
}
