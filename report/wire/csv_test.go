package wire_test

import (
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/report/internal/samples"
	"humdiff/report/model"
	"humdiff/report/wire"
)

// CSV has every line, in the model's own numbers and ASCII, and no formula.
func TestCSV(t *testing.T) {
	r := samples.Hostile()
	r.Schema = model.CompareSchema
	rows := kit.Must(csv.NewReader(strings.NewReader(string(wire.CSV(&r)))).ReadAll())(t)
	if want := 1 + len(r.Pairs[0].Lines) + len(r.Pairs[1].Lines); len(rows) != want {
		t.Fatalf("%d rows, want %d", len(rows), want)
	}
	at := func(row int, name string) string { return rows[row][slices.Index(rows[0], name)] }
	first, eighth := r.Pairs[0].Quiet.Lines[0].Level, r.Pairs[0].Quiet.Lines[7].Level
	level, _ := first.Value()
	limit, _ := eighth.Upper()
	for name, want := range map[string]string{"harmonic": "1", "quiet_dbfs": fmt.Sprint(level), "quiet_limit_dbfs": "", "delta_state": "measured", "quiet_file": "'=cmd()|\"<script>alert(1)<U+001B>[31m.wav"} {
		kit.Same(t, at(1, name), want, "%s", name)
	}
	if at(8, "quiet_state") != "undetected" || at(8, "quiet_dbfs") != "" || at(8, "quiet_limit_dbfs") != fmt.Sprint(limit) || at(8, "delta_state") != "at_least" {
		t.Errorf("a line not found reads %q", rows[8])
	}
	for _, row := range rows[1:] {
		for i, cell := range row {
			if strings.Contains(cell, "−") || strings.Contains(cell, "NaN") || (strings.HasPrefix(cell, "=") || strings.HasPrefix(cell, "@")) {
				t.Errorf("%s is %q", rows[0][i], cell)
			}
		}
	}
}

// Each table of each result has columns of different names, and the rows that it is to have.
func TestTables(t *testing.T) {
	compare, measure, trend, check, session := samples.WithResidual(), samples.Measure(), samples.Trend(), samples.Check(), samples.Session()
	audible := samples.Audible()
	compare.Pairs[0].Audibility = &audible
	compare.Schema, measure.Schema, trend.Schema, check.Schema, session.Schema =
		model.CompareSchema, model.MeasureSchema, model.TrendSchema, model.CheckSchema, model.SessionSchema
	repeats := 0
	for _, c := range session.Cells {
		repeats += len(c.Repeats)
	}
	files := 0
	for _, f := range check.Files {
		files += max(1, len(f.Channels)) // one that can't be used has a row
	}
	want := map[string]int{"lines of *model.Compare": len(compare.Pairs[0].Lines), "audibility of *model.Compare": len(audible.Lines),
		"steps of *model.Trend": len(trend.Captures[0].Steps), "files of *model.Check": files, "runs of *model.Session": len(session.Runs), "repeats of *model.Session": repeats,
		"means of *model.Session": len(session.Cells)}
	for _, r := range []wire.Result{&compare, &measure, &trend, &check, &session} {
		for _, table := range wire.Tables(r) {
			rows := kit.Must(csv.NewReader(strings.NewReader(string(table.File(r)))).ReadAll())(t) // rows of other lengths are errors
			name := fmt.Sprintf("%s of %T", table.Name, r)
			if names := slices.Sorted(slices.Values(rows[0])); len(slices.Compact(slices.Clone(names))) != len(names) {
				t.Errorf("%s: two columns of one name in %q", name, rows[0])
			}
			if n, ok := want[name]; ok && len(rows) != 1+n || len(rows) < 2 {
				t.Errorf("%s: %d rows, want %d", name, len(rows)-1, n)
			}
		}
	}
	if volts := string(wire.Tables(&session)[3].File(&session)); !strings.Contains(strings.SplitN(volts, "\n", 2)[0], "pickup_dbfs,pickup_dbfs_lo,pickup_dbfs_hi,pickup_dbfs_why,pickup_dbfs_volts,") {
		t.Errorf("a ranking reads %q", volts[:300])
	}
}
