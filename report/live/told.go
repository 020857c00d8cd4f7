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

// atTheBench are the sections of documents that the page shows, in its order.
var atTheBench = []string{"sure", "figure", "claims", "warnings", "channels", "captures", "figures", "found", "lines"}

// tell puts a result's document into the outcome.
func (o outcome) tell(d doc.Document, r wire.Result) outcome {
	o.told = told{Headline: d.Title, Lead: d.Lead, Gate: d.Gate}
	if o.unplugged != nil {
		o.told.Unplugged = doc.CompareHeadline(*o.unplugged)
	}
	var found, open []doc.Block
	for _, id := range atTheBench {
		for _, s := range d.Sections {
			if s.ID == id {
				found = append(append(found, doc.Heading{Text: s.Title}), s.Blocks...)
			}
		}
	}
	for _, s := range d.Sections {
		if s.ID == "open" || s.ID == "objections" { // the page has the cautions once
			open = append(open, slices.DeleteFunc(slices.Clone(s.Blocks), func(b doc.Block) bool {
				list, is := b.(doc.List)
				return is && list.Kind == doc.Caution
			})...)
		}
	}
	draw := report.Drawn(r)
	if o.told.Found, o.err = page.Fragment(found, draw); o.err == nil {
		o.told.Open, o.err = page.Fragment(open, draw)
	}
	return o
}
