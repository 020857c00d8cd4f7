package report_test

import (
	"slices"
	"strings"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/fixtures/kit"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/figure"
	"humdiff/report/internal/samples"
	"humdiff/report/model"
)

func TestFilesOfASession(t *testing.T) {
	s := samples.Session()
	whole := func(int) (model.Capture, error) { return samples.Compare().Pairs[0].Near, nil }
	for _, c := range []struct {
		every bool
		pages []string
	}{
		{false, []string{"run-7.html"}}, // of which samples are clipped
		{true, []string{"run-1.html", "run-3.html", "run-7.html"}},
	} {
		files := kit.Must(report.SessionFiles(&s, whole, c.every))(t)
		var names []string
		for _, f := range files {
			names = append(names, f.Name)
		}
		want := append([]string{"report.html", "report.md", "session.json", "runs.csv", "repeats.csv", "means.csv", "ranking.csv", "differences.csv", "claims.csv",
			"article.svg", "ranking-1.svg", "ranking-2.svg"}, c.pages...)
		for _, name := range want {
			if !slices.Contains(names, name) {
				t.Errorf("pages of every run %v: no %s among %q", c.every, name, names)
			}
		}
		if !c.every && len(names) != len(want) {
			t.Errorf("%q, want %q", names, want)
		}
		text, err := files[len(files)-1].Make()
		if err != nil || !strings.Contains(string(text), "Hum") {
			t.Errorf("%s: %v", names[len(names)-1], err)
		}
	}
}

// A cable whose pickup is known as a range has its key, and no number that nobody
// measured.
func TestARangeIsDrawnAsARange(t *testing.T) {
	s := samples.Session()
	s.Rankings[0].Places[0].Pickup = estimate.Between(-128.3, -124.7)
	all := kit.Must(report.Figures(&s))(t)
	i := slices.IndexFunc(all, func(f report.NamedFigure) bool { return f.Name == "ranking-1" })
	svg := string(all[i].SVG(figure.Options{}))
	if !strings.Contains(svg, doc.KeyRange) || strings.Contains(svg, "126.5") {
		t.Error("a range is drawn with a value")
	}
}
