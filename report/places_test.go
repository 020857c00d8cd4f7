package report_test

import (
	"testing"

	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/internal/samples"
	"humdiff/report/wire"
)

// Every figure of a result has its place in the document, and every place its figure.
func TestEveryFigureHasItsPlace(t *testing.T) {
	two, session, trend, measured := samples.TwoChannels(), samples.Session(), samples.Trend(), samples.Measure()
	for d, r := range map[*doc.Document]wire.Result{
		told(doc.Compare(two, doc.UnitFor(two.Settings))): &two, told(doc.Trend(trend, doc.InDBFS)): &trend, told(doc.Measure(measured, doc.InDBFS)): &measured,
		told(doc.Session(session, func(int) string { return "" })): &session,
	} {
		all, err := report.Figures(r)
		if err != nil || len(all) == 0 {
			t.Fatalf("%T: %d figures, %v", r, len(all), err)
		}
		drawn := map[doc.Figure]bool{}
		for _, f := range all {
			if f.At != (doc.Figure{}) { // a card stands by itself
				drawn[f.At] = true
			}
		}
		placed := places(*d)
		for at := range drawn {
			if !placed[at] {
				t.Errorf("%T: %+v has no place in the document", r, at)
			}
		}
		for at := range placed {
			if !drawn[at] {
				t.Errorf("%T: nothing is drawn at %+v", r, at)
			}
		}
	}
}

func told(d doc.Document) *doc.Document { return &d }

// places are where a document has figures.
func places(d doc.Document) map[doc.Figure]bool {
	at := map[doc.Figure]bool{}
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if f, ok := b.(doc.Figure); ok {
				f.Group = ""
				at[f] = true
			}
		}
	}
	return at
}
