package table

import (
	"fmt"

	"humdiff/report/result"
	"humdiff/report/words"
)

// Trend is the table of a capture's spans: where hum stands still, how strong it
// is there, and the address to compare. Its CSV has the spans, too; the steps
// are in TrendSteps.
func Trend(r result.Trend, u Unit) Table {
	var totals []result.HumSide
	for _, c := range r.Captures {
		for _, x := range c.Spans {
			totals = append(append(totals, x.Hum), x.Lines...)
		}
	}
	lv := prefixed(u, nil, totals...)
	t := Table{Columns: []Column{
		{Plain: []string{"file"}}, {Plain: []string{"channel"}},
		{Head: "span", Plain: []string{"span"}},
		{Head: "from", Unit: "s", Plain: []string{"start_s"}},
		{Head: "to", Unit: "s", Plain: []string{"end_s"}},
		{Head: "hum", Unit: lv.head(), Level: true, Plain: levelPlain("")},
	}}
	for _, h := range chosen(r) {
		t.Columns = append(t.Columns, Column{Head: fmt.Sprintf("harmonic %d", h), Unit: lv.head(), Level: true, Plain: levelPlain(fmt.Sprintf("h%d_", h))})
	}
	t.Columns = append(t.Columns, Column{Head: "it", Plain: []string{"state"}}, Column{Head: "address to compare", Plain: []string{"address"}})
	for _, c := range r.Captures {
		t.Groups = append(t.Groups, trendGroup(c, lv))
	}
	t.Notes = []string{
		fmt.Sprintf("Hum is the mean of a span, behind it its %s interval from recording noise alone. \"Below\": none was found, and it lies below its detection limit.", words.Percent(r.Settings.Confidence)),
		"A span stands still where hum neither changes by 2 dB nor drifts by 1.5 dB, for 2 s or more; a compare asks for 10 s and more to see weak lines. 0 dBFS is the rms of a full-scale sine (AES17).",
	}
	for _, k := range words.Scales(r.Settings) {
		t.Notes = append(t.Notes, "Volts: "+k+".")
	}
	t.Footers = Warnings(r.Warnings)
	return t
}

func trendGroup(c result.TrendCapture, lv levels) Group {
	m := c.Mains
	g := Group{Title: fmt.Sprintf("%s, channel %d", words.File(c.File), c.Channel), Conditions: []string{
		fmt.Sprintf("%s, %s, %s; %s", words.Span(c.Side), words.Hz(result.Num(c.RateHz)), words.Format(c.Side), words.Mains(m.Detected, m.Hz, m.U95Hz))}}
	for i, x := range c.Spans {
		it := "stands still"
		if x.State != result.Still {
			it = "changes"
		}
		if i == c.Loudest {
			it = "stands still, strongest"
		}
		cells := []Cell{{Plain: []any{c.File}}, {Plain: []any{c.Channel}}, harmonicCell(i + 1),
			numberCell(x.StartS, 1), numberCell(x.EndS, 1), spanCell(lv, x.Hum)}
		for _, l := range x.Lines {
			cells = append(cells, spanCell(lv, l))
		}
		g.Rows = append(g.Rows, Row{Shown: true, Cells: append(cells,
			Cell{Text: it, Plain: []any{x.State}}, Cell{Text: quoted(x.Address), Plain: []any{x.Address}})})
	}
	return g
}

// levelPlain are the columns that a span's level has in CSV.
func levelPlain(prefix string) []string {
	names := []string{"dbfs", "lo_dbfs", "hi_dbfs", "limit_dbfs", "volts_rms"}
	for i := range names {
		names[i] = prefix + names[i]
	}
	return names
}

func spanCell(lv levels, h result.HumSide) Cell {
	c := lv.cell(h)
	c.Plain = []any{h.DBFS, h.LoDBFS, h.HiDBFS, h.LimitDBFS, h.Volts}
	return c
}

// quoted is an address as a command line takes it.
func quoted(address string) string {
	if address == "" {
		return ""
	}
	return fmt.Sprintf("%q", words.Printable(address))
}

// TrendSteps is every step, for CSV: the sum, and each chosen line.
func TrendSteps(r result.Trend) Table {
	t := Table{Columns: []Column{{Plain: []string{"file"}}, {Plain: []string{"channel"}}, {Plain: []string{"start_s"}}, {Plain: stepPlain("hum_")}}}
	for _, h := range chosen(r) {
		t.Columns = append(t.Columns, Column{Plain: stepPlain(fmt.Sprintf("h%d_", h))})
	}
	for _, c := range r.Captures {
		var g Group
		for _, s := range c.Steps {
			cells := []Cell{{Plain: []any{c.File}}, {Plain: []any{c.Channel}}, {Plain: []any{s.StartS}}, stepCell(s.Hum)}
			for _, l := range s.Lines {
				cells = append(cells, stepCell(l))
			}
			g.Rows = append(g.Rows, Row{Cells: cells})
		}
		t.Groups = append(t.Groups, g)
	}
	return t
}

func chosen(r result.Trend) []int {
	if len(r.Captures) == 0 {
		return nil
	}
	return r.Captures[0].Harmonics
}

func stepPlain(prefix string) []string {
	names := []string{"state", "dbfs", "lo_dbfs", "hi_dbfs", "limit_dbfs", "volts_rms", "limit_volts_rms"}
	for i := range names {
		names[i] = prefix + names[i]
	}
	return names
}

func stepCell(l result.StepLevel) Cell {
	return Cell{Plain: []any{l.State, l.DBFS, l.LoDBFS, l.HiDBFS, l.LimitDBFS, l.Volts, l.LimitVolts}}
}
