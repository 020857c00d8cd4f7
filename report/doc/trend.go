package doc

import (
	"fmt"
	"math"

	"humdiff/report/model"
)

// Trend tells hum against time, with levels in a unit.
func Trend(r model.Trend, u Unit) Document {
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
		d.Title, d.Lead = trendHeadline(c, r.Settings), captureTitle(c.Side)
		for i := 1; i < len(r.Captures); i++ {
			all[i].sure = append([]string{trendHeadline(r.Captures[i], r.Settings)}, all[i].sure...)
		}
	}
	spans := linesSection(trendTables(r, u), r.Settings, u)
	spans.Title = "Span by span"
	if n := len(spans.Blocks); n > 0 {
		spans.Blocks[n-1] = List{Kind: Notes, Items: append(tell("trend.notes", r.Settings), voltsNotes(r.Settings)...), Brief: []string{}}
	}
	sure := append(sureSections(all), Section{})
	d.Sections = filled(
		Section{ID: "figures", Title: "Hum against time", Blocks: figures},
		publishSection(r.Head, "", said),
		sure[0],
		sure[1],
		spans,
		nextSection(once(all, func(t told) []string { return each(t.open, func(q question) string { return q.next }) })),
		warningSection(unsaid(r.Warnings, r.Head)),
	)
	return d
}

// trendSaid is a capture's trend with what its sentences have besides.
type trendSaid struct {
	model.TrendCapture
	Set     model.Settings
	Still   int // spans in which hum stands still
	Loudest *model.TrendSpan
	Weakest *model.TrendSpan // the still span with the least hum, where it isn't the loudest
	Summed  int              // lines
}

// Of is a level, in volts too where they are known.
func (c trendSaid) Of(level model.Estimate) string { return levelOn(c.Set, model.ForAll, level) }

// NoHum begins what is said where nothing was found.
func (c trendSaid) NoHum() string { return noHumOf(c.Set.Mains) }

// Throughout says that hum stands still from end to end; a reference has the capture cut into
// parts all the same.
func (c trendSaid) Throughout() bool {
	if c.Set.Reference == 0 || c.Still != len(c.Spans) {
		return len(c.Spans) == 1 && c.Still == 1
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, x := range c.Spans {
		if v, ok := x.Hum.Value(); ok {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	return hi-lo < standsWithin
}

// standsWithin is by how much hum differs that stands still, dB.
const standsWithin = 2

func trendOf(c model.TrendCapture, set model.Settings) trendSaid {
	said := trendSaid{TrendCapture: c, Set: set, Still: stillSpans(c), Summed: c.Lines - len(c.LeftOut)}
	if x, ok := loudest(c); ok {
		said.Loudest = &x
	}
	if quiet := quietest(c); quiet >= 0 && quiet != c.Loudest {
		said.Weakest = &c.Spans[quiet]
	}
	return said
}

// trendHeadline is the one sentence that says where hum stands still in a capture
// and where it is strongest.
func trendHeadline(c model.TrendCapture, set model.Settings) string {
	return tellOne("trend.headline", trendOf(c, set))
}

// tellTrend says what following hum through a capture shows and what it doesn't.
func tellTrend(c model.TrendCapture, set model.Settings) told {
	said := trendOf(c, set)
	return told{sure: tell("trend.sure", said), found: tell("trend.found", said), open: questions(tell("trend.open", said))}
}

func stillSpans(c model.TrendCapture) int {
	return count(c.Spans, func(x model.TrendSpan) bool { return x.State == model.Still })
}

// loudest is the span in which hum is strongest; false where a result names none.
func loudest(c model.TrendCapture) (model.TrendSpan, bool) {
	if c.Loudest < 0 || c.Loudest >= len(c.Spans) {
		return model.TrendSpan{}, false
	}
	return c.Spans[c.Loudest], true
}

// quietest is the still span with the least hum, by what it is or by its limit.
func quietest(c model.TrendCapture) int {
	best, least := -1, math.Inf(1)
	for i, x := range c.Spans {
		v, ok := x.Hum.Value()
		if !ok {
			v, ok = x.Hum.Upper()
		}
		if x.State == model.Still && ok && v < least {
			best, least = i, v
		}
	}
	return best
}

// quoted is an address as a command line takes it.
func quoted(address string) string {
	if address == "" {
		return ""
	}
	return `"` + Printable(address) + `"`
}

// trendTables are the tables of captures' spans: where hum stands still, how strong
// it is there, and the address to compare.
func trendTables(r model.Trend, u Unit) (all []Table) {
	scale, _ := r.Settings.ScaleOf(model.ForAll)
	top := 0.0
	for _, c := range r.Captures {
		for _, x := range c.Spans {
			for _, e := range append([]model.Estimate{x.Hum}, x.Lines...) {
				top = highest(top, scale.InVolts(e))
			}
		}
	}
	lv := levels{Unit: u, prefix: PrefixFor(model.Num(top))}
	for i, c := range r.Captures {
		all = append(all, trendTable(i, c, lv, scale))
	}
	return all
}

// numbered is a span with its place in the list.
type numbered struct {
	model.TrendSpan
	index int
}

func trendTable(i int, c model.TrendCapture, lv levels, scale model.Scale) Table {
	spans := make([]numbered, len(c.Spans))
	for k, x := range c.Spans {
		spans[k] = numbered{x, k}
	}
	return tableOf(fmt.Sprintf("spans%d", i+1), captureTitle(c.Side), trendFields(c, lv, scale), spans).upTo(keyFiles, "span")
}

func trendFields(c model.TrendCapture, lv levels, scale model.Scale) []field[numbered] {
	level := func(head string, spare int, of func(numbered) model.Estimate) field[numbered] {
		return field[numbered]{Column: Column{Head: head, Unit: lv.head(), Level: true, Spare: spare}, cell: func(x numbered) Cell { return lv.cell(of(x), scale) }}
	}
	fields := []field[numbered]{
		counts("span", func(x numbered) int { return x.index + 1 }),
		numbers("from", "s", decimal(1), func(x numbered) model.Num { return x.StartS }),
		numbers("to", "s", decimal(1), func(x numbered) model.Num { return x.EndS }),
		level("hum", 0, func(x numbered) model.Estimate { return x.Hum }),
	}
	for i, h := range c.Harmonics {
		fields = append(fields, level(fmt.Sprintf("harmonic %d", h), spareVoltage, func(x numbered) model.Estimate { return nth(x.Lines, i) }))
	}
	return append(append(fields, referredFields(c, scale)...),
		worded("hum is", func(x numbered) string { return stands(c, x) }),
		worded("address to compare", func(x numbered) string { return quoted(x.Address) }))
}

func nth(all []model.Estimate, i int) model.Estimate {
	if i < len(all) {
		return all[i]
	}
	return model.Estimate{}
}

func stands(c model.TrendCapture, x numbered) string {
	switch {
	case x.State != model.Still:
		return "changing"
	case x.index == c.Loudest:
		return "steady, strongest"
	}
	return "steady"
}
