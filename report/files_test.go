package report_test

import (
	"path"
	"slices"
	"strings"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/fixtures/kit"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/figure"
	"humdiff/report/internal/samples"
	"humdiff/report/judge"
	"humdiff/report/model"
	"humdiff/report/wire"
)

// A result's fingerprint stands on every page, figure and table of its report, so
// that none can be passed off as another's.
func TestFingerprintStandsEverywhere(t *testing.T) {
	compared, followed := samples.Compare(), samples.Trend()
	for _, r := range []wire.Result{&compared, &followed} {
		r.Top().Schema = map[bool]string{true: model.CompareSchema, false: model.TrendSchema}[r == wire.Result(&compared)]
		kit.OK(t, wire.Seal(r))
		files := kit.Must(report.Files(r))(t)
		for _, f := range files {
			if path.Ext(f.Name) == ".png" {
				continue // drawn as the SVG beside it is, which has it
			}
			kit.Has(t, f.Name, string(kit.Must(f.Contents())(t)), r.Top().Fingerprint)
		}
	}
}

// A sound comparison may be printed as one placement of the lead, one without volts as
// relative levels too; clipped it may not yet. With a chain it says what would be heard.
func TestCompareMayBePublished(t *testing.T) {
	quiet := sound
	quiet.dbfs, quiet.seed = -105, 2
	loud := sound
	loud.dbfs = 3
	volts := report.Request{Scaling: report.Scaling{FullScale: "2V"}}
	for name, c := range map[string]struct {
		request report.Request
		near    recording
		state   string
		why     []string
	}{
		"sound":    {volts, sound, model.OnlyAs, []string{model.OnePlacement}},
		"no volts": {report.Request{}, sound, model.OnlyAs, []string{model.OnePlacement, judge.RelativeLevels}},
		"clipped":  {volts, loud, model.NotYet, []string{"clipped"}},
	} {
		near := c.near.write(t, "near.wav")
		r, err := report.Compare(t.Context(), c.request, report.Compared{Quiet: quiet.write(t, "quiet.wav"), Near: near,
			Playback: &model.Playback{ProgrammeVolts: 1, GainDB: model.None, SensitivityDB: model.None, DistanceMetres: model.None}})
		kit.OK(t, err)
		kit.Same(t, r.MayPublish.State, c.state, "%s: %+v", name, r.MayPublish)
		for i, code := range c.why {
			kit.Same(t, r.MayPublish.Why[i].Code, code, "%s: %+v", name, r.MayPublish.Why)
		}
		if a := r.Pairs[0].Audibility; a == nil || a.BelowProgrammeDB.Known() != r.Settings.Volts() {
			t.Errorf("%s: %+v", name, a)
		}
	}
}

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
