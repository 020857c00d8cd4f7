package doc

import (
	"fmt"
	"iter"

	"humdiff/report/model"
)

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
	return func(yield func(Table) bool) {
		for i, c := range r.Captures {
			if !yield(trendTable(i, c, lv, scale)) {
				return
			}
		}
	}
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
