package live

import (
	"html/template"
	"slices"

	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/page"
	"humdiff/report/wire"
)

// told is a result as the page shows it, made once.
type told struct {
	Headline, Lead, Gate string
	Unplugged            string        // what the unplugged-lead control says
	Found                template.HTML // the sections that are shown at the bench; the report has the rest
	Open                 template.HTML // what is not shown yet
}

// tell puts a result's document into the outcome.
func (o outcome) tell(d doc.Document, r wire.Result) outcome {
	o.told = told{Headline: d.Title, Lead: d.Lead, Gate: d.Gate}
	if o.unplugged != nil {
		o.told.Unplugged = doc.CompareHeadline(*o.unplugged)
	}
	var found, open []doc.Block
	for _, ids := range [][]string{{"sure"}, {"warnings"}, {"channels", "captures", "figure", "figures", "found", "lines"}} {
		for _, s := range d.Sections {
			if slices.Contains(ids, s.ID) {
				found = append(append(found, doc.Heading{Text: s.Title}), s.Blocks...)
			}
		}
	}
	for _, s := range d.Sections {
		if s.ID == "open" {
			open = s.Blocks
		}
	}
	draw := report.Drawn(r)
	if o.told.Found, o.err = page.Fragment(found, draw); o.err == nil {
		o.told.Open, o.err = page.Fragment(open, draw)
	}
	return o
}
