package page

import (
	"fmt"
	"html/template"
	"strings"

	"humdiff/report/page/parts"
	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"
)

// Card is a recording card to print: what to record in which order, and what not
// to do. Its plan has an order.
func Card(r result.Plan) ([]byte, error) {
	o := *r.Order
	facts := []parts.Fact{
		{Name: "Captures", Value: fmt.Sprintf("%d of %s each", len(o.Runs), words.Duration(result.Num(o.Seconds)))},
		{Name: "Cables", Value: words.Printable(strings.Join(o.Cables, ", "))},
	}
	if o.Witness != "" {
		facts = append(facts, parts.Fact{Name: "Witness", Value: words.Printable(o.Witness)})
	}
	facts = append(facts, parts.Fact{Name: "Seed", Value: fmt.Sprint(o.Seed)})
	p := parts.Page{Title: "Recording card", Lead: "Date, place, who: ______________________________    Gain: __________    Spacing, length in parallel: __________", Compact: true,
		Sections: []parts.Section{
			{ID: "do", Title: "What to do", Body: []template.HTML{parts.Facts(facts...), parts.List(words.PlanSteps(o)...)}},
			{ID: "safety", Title: "Safety", Body: []template.HTML{parts.Caution("caution", "Before you go to the bench", words.Cautions...)}},
			{ID: "order", Title: "Run order", Body: []template.HTML{plain(table.PlanCard(o))}},
		},
		Footer: "Made by humdiff " + words.Printable(r.Tool.Version) + ".",
	}
	return p.HTML()
}

// plain is a table that nobody sorts.
func plain(t table.Table) template.HTML {
	s := parts.Table{Label: t.Groups[0].Title}
	for _, c := range t.Printed() {
		s.Columns = append(s.Columns, parts.Column{Head: c.Head, Unit: c.Unit})
	}
	for _, row := range t.Shown(t.Groups[0]) {
		s.Rows = append(s.Rows, parts.Row{Cells: cells(row)})
	}
	return parts.Sheet(s)
}
