package verify_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"humdiff/fixtures/antenna"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/report"
	"humdiff/report/session"
)

// comparisonByReference is a comparison by a reference channel.
func comparisonByReference(t testing.TB, dir string) string {
	t.Helper()
	kit.OK(t, os.MkdirAll(dir, 0o777))
	b := antenna.Draw(3)
	b.Seconds = 12
	quiet := kit.Must(b.Record(bench.Quiet, filepath.Join(dir, "quiet.wav")))(t)
	near := kit.Must(b.Record(bench.Near, filepath.Join(dir, "near.wav")))(t)
	r := asked()
	r.Reference = antenna.ReferenceChannel
	c := kit.Must(report.Compare(t.Context(), r, report.Compared{Quiet: quiet, Near: near}))(t)
	return filepath.Join(written(t, filepath.Join(dir, "report"), &c), "compare.json")
}

// followedByReference makes a survey with a reference channel, and a trend of it.
func followedByReference(t testing.TB, dir string) string {
	t.Helper()
	kit.OK(t, os.MkdirAll(dir, 0o777))
	b := antenna.Draw(5)
	b.Seconds = 16
	addr := kit.Must(b.Survey(filepath.Join(dir, "survey.wav")))(t)
	r := asked()
	r.Reference = antenna.ReferenceChannel
	followed := kit.Must(report.Trend(t.Context(), r, addr, []int{1}))(t)
	if spans := followed.Captures[0].Spans; spans[len(spans)-1].Referred == nil || !spans[len(spans)-1].Referred.Added.Known() {
		t.Fatalf("%+v", spans)
	}
	return filepath.Join(written(t, filepath.Join(dir, "report"), &followed), "trend.json")
}

// sittingByReference is a session whose runs have a reference channel.
func sittingByReference(t testing.TB, dir string) string {
	t.Helper()
	kit.OK(t, os.MkdirAll(filepath.Join(dir, "bench"), 0o777))
	file := session.File{Path: filepath.Join(dir, "bench", "session.toml"), RunsFile: "runs.csv", Sitting: session.Blank()}
	s := &file.Sitting
	s.Bench.FullScale = "2V"
	b := antenna.Draw(3)
	b.Seconds = 12
	for i, cond := range []bench.Condition{bench.Quiet, bench.Near, bench.Near, bench.Quiet} {
		b.Seed = int64(i)
		name := fmt.Sprintf("run%d.wav", i+1)
		kit.Must(b.Record(cond, filepath.Join(dir, "bench", name)))(t)
		run := session.BlankRun()
		run.Cable, run.Exposure, run.Condition, run.Repeat, run.Replaced, run.Address = "Grebe", "beside", cond.String(), 1+i, true, name
		run.Reference, run.Termination.Ohms = antenna.ReferenceChannel, 1000
		s.Runs = append(s.Runs, run)
	}
	kit.OK(t, file.Write())
	return sessionReport(t, dir, false)
}
