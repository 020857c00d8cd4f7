package doc

import (
	"fmt"
	"iter"
	"math"
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

// TrendHeadline is the one sentence that says where hum stands still in a capture
// and where it is strongest.
func TrendHeadline(c model.TrendCapture, set model.Settings) string {
	if len(c.Steps) == 0 {
		return noHumOf(set.Mains) + "."
	}
	still := stillSpans(c)
	if len(c.Spans) == 1 && still == 1 {
		return "Hum stands still throughout: " + LevelOn(set, model.ForAll, c.Spans[0].Hum) + "."
	}
	if x, ok := loudest(c); ok {
		return fmt.Sprintf("Hum is strongest from %s to %s: %s. It stands still in %s.",
			tenths(x.StartS.Float()), tenths(x.EndS.Float()), LevelOn(set, model.ForAll, x.Hum), Count(still, "span"))
	}
	return fmt.Sprintf("Hum stands still in %s.", Count(still, "span"))
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

// tellTrend says what following hum through a capture shows and what it doesn't.
func tellTrend(c model.TrendCapture, set model.Settings) told {
	t := told{standsOn: scaleSaid(set), next: wouldScale(set)}
	if len(c.Steps) == 0 {
		t.next = append([]string{"For upper limits say which mains you have: --mains 50 or --mains 60."}, t.next...)
		return t
	}
	t.standsOn = append([]string{fmt.Sprintf("This stands on %s of %s ms each.", Count(len(c.Steps), "step"), Fixed(c.StepS*1000, 0)),
		fmt.Sprintf("Hum is the sum of %s to %s.", Count(c.Lines-len(c.LeftOut), "line"), Hz(model.Num(set.UpToHz)))}, t.standsOn...)
	t.notShown = []string{"What made the hum change: compare two of the spans, or record them apart."}
	if len(c.Spans) == 1 && stillSpans(c) == 1 {
		t.notShown = []string{"Where the hum comes from."}
	}
	x, ok := loudest(c)
	if quiet := quietest(c); ok && quiet >= 0 && quiet != c.Loudest {
		t.next = append([]string{fmt.Sprintf("Compare it with the weakest: humdiff compare %s %s", quoted(c.Spans[quiet].Address), quoted(x.Address))}, t.next...)
	}
	if ok && Interval(x.Hum) != "" && x.Hum.Measured() {
		t.sure = []string{fmt.Sprintf("Where it is strongest, the %s interval from recording noise alone is %s.", Percent(set.Confidence), Interval(x.Hum)+"FS")}
	}
	return t
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

// quoted is an address as a command line takes it, without its folders.
func quoted(address string) string {
	if address == "" {
		return ""
	}
	return `"` + File(address) + `"`
}

// TrendTables are the tables of captures' spans: where hum stands still, how strong
// it is there, and the address to compare.
func TrendTables(r model.Trend, u Unit) iter.Seq[Table] {
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
	return inTurn(r.Captures, func(i int, c model.TrendCapture) Table { return trendTable(i, c, lv, scale) })
}

// numbered is a span with its place in the list.
type numbered struct {
	model.TrendSpan
	index int
}

func trendTable(i int, c model.TrendCapture, lv levels, scale model.Scale) Table {
	fields := trendFields(c, lv, scale)
	t := Table{ID: fmt.Sprintf("spans%d", i+1), Title: captureTitle(c.Side), Columns: columns(fields)}
	for k, x := range c.Spans {
		t.Rows = append(t.Rows, Row{Shown: true, Key: k < keyFiles, Cells: cellsOf(fields, numbered{x, k})})
	}
	t.Rest = more(len(c.Spans)-keyFiles, "span")
	return t
}

func trendFields(c model.TrendCapture, lv levels, scale model.Scale) []field[numbered] {
	level := func(e model.Estimate) Cell {
		out := lv.cell(e, scale)
		out.Plain = append(levelNumbers(e), value(scale.InVolts(e)))
		return out
	}
	plain := func(prefix string) []string { return append(levelPlain(prefix, "dbfs"), prefix+"volts_rms") }
	fields := []field[numbered]{
		hidden("file", func(numbered) any { return c.File }),
		hidden("channel", func(numbered) any { return c.Channel }),
		{Column: Column{Head: "span", Plain: []string{"span"}}, cell: func(x numbered) Cell { return countCell(x.index + 1) }},
		{Column: Column{Head: "from", Unit: "s", Plain: []string{"start_s"}}, cell: func(x numbered) Cell { return numberCell(x.StartS, 1) }},
		{Column: Column{Head: "to", Unit: "s", Plain: []string{"end_s"}}, cell: func(x numbered) Cell { return numberCell(x.EndS, 1) }},
		{Column: Column{Head: "hum", Unit: lv.head(), Level: true, Plain: plain("")}, cell: func(x numbered) Cell { return level(x.Hum) }},
	}
	for i, h := range c.Harmonics {
		fields = append(fields, field[numbered]{Column: Column{Head: fmt.Sprintf("harmonic %d", h), Unit: lv.head(), Level: true, Spare: spareVoltage, Plain: plain(fmt.Sprintf("h%d_", h))},
			cell: func(x numbered) Cell { return level(nth(x.Lines, i)) }})
	}
	return append(fields,
		field[numbered]{Column: Column{Head: "it", Left: true, Plain: []string{"state"}}, cell: func(x numbered) Cell {
			return Cell{Text: stands(c, x), Plain: []any{x.State}}
		}},
		field[numbered]{Column: Column{Head: "address to compare", Left: true, Plain: []string{"address"}}, cell: func(x numbered) Cell {
			return Cell{Text: quoted(x.Address), Plain: []any{x.Address}}
		}})
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
		return "changes"
	case x.index == c.Loudest:
		return "stands still, strongest"
	}
	return "stands still"
}

// TrendSteps is every step, for CSV: the sum, and each chosen line.
func TrendSteps(r model.Trend) Table {
	t := Table{ID: "steps", Columns: []Column{{Plain: []string{"file"}}, {Plain: []string{"channel"}}, {Plain: []string{"start_s"}}, {Plain: stepPlain("hum_")}}}
	scale, _ := r.Settings.ScaleOf(model.ForAll)
	if len(r.Captures) > 0 {
		for _, h := range r.Captures[0].Harmonics {
			t.Columns = append(t.Columns, Column{Plain: stepPlain(fmt.Sprintf("h%d_", h))})
		}
	}
	for _, c := range r.Captures {
		for _, s := range c.Steps {
			cells := []Cell{{Plain: []any{c.File}}, {Plain: []any{c.Channel}}, {Plain: []any{s.StartS}}, stepCell(s.Hum, scale)}
			for _, l := range s.Lines {
				cells = append(cells, stepCell(l, scale))
			}
			t.Rows = append(t.Rows, Row{Cells: cells})
		}
	}
	return t
}

func stepPlain(prefix string) []string {
	return append(append([]string{prefix + "state"}, levelPlain(prefix, "dbfs")...), prefix+"volts_rms", prefix+"limit_volts_rms")
}

func stepCell(e model.Estimate, scale model.Scale) Cell {
	volts := levelNumbers(scale.InVolts(e))
	return Cell{Plain: append(append([]any{levelState(e)}, levelNumbers(e)...), volts[0], volts[3])}
}
