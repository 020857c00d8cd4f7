package gather

import (
	"testing"

	"humdiff/fixtures/stage"
	"humdiff/report/figure"
	"humdiff/report/internal/sample"
	"humdiff/report/page"
	"humdiff/report/table"
)

// What showing a result costs, for each sample of the pair it may have come
// from: a minute at 96 kHz, both sides. It doesn't depend on the length.
func BenchmarkShow(b *testing.B) {
	const samples = 2 * 60 * 96000
	r := sample.Compare()
	run := func(name string, do func()) {
		b.Run(name, func(b *testing.B) { stage.PerSample(b, samples, do) })
	}
	run("table", func() { t := table.Compare(r); t.CSV() })
	run("figures", func() {
		for _, f := range figure.OfPair(r.Settings, r.Pairs[0]) {
			f.SVG(figure.Options{ID: "a"})
		}
	})
	run("page", func() {
		if _, err := page.Compare(r); err != nil {
			b.Fatal(err)
		}
	})
	run("whole report", func() {
		if _, err := Compare(r); err != nil {
			b.Fatal(err)
		}
	})
}
