package main

import (
	"encoding/json"
	"path/filepath"
	"testing"

	"humdiff/fixtures/demo"
	"humdiff/fixtures/kit"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"
)

// The demo's session ends as its truth has it: verdicts, pickups within their
// intervals, the exposure that raises nothing, and no other that doesn't.
func TestDemoSessionMatchesItsTruth(t *testing.T) {
	dir := theDemo(t)
	var truth demo.SessionTruth
	kit.OK(t, json.Unmarshal([]byte(readFile(t, filepath.Join(dir, "session", "truth.json"))), &truth))
	judged := kit.Must(report.Read[*model.Session](filepath.Join(dir, "session-report", "session.json"), "batch", ""))(t)
	seen := map[string]bool{}
	for _, c := range judged.Claims {
		seen[c.Verdict] = true
		kit.Same(t, c.Verdict, truth.Claims[c.Name], "%s", c.Name)
	}
	if len(seen) != 3 {
		t.Errorf("verdicts %v, want one of each", seen)
	}
	checked := 0
	for _, cell := range judged.Cells {
		if cell.Exposure == truth.Nothing || cell.Quantity != (model.Quantity{}) {
			continue
		}
		want := truth.Pickup[cell.Cable][ohms(cell.Termination.Ohms)]
		got := doc.PickupVolts(judged.Settings, cell.Pickup)
		if _, lo, hi := got.Numbers(); !(want > 0) || !(lo <= want && want <= hi) {
			t.Errorf("%s at %v ohms: %v, want %g V", cell.Cable, cell.Termination.Ohms, got, want)
		}
		checked++
	}
	kit.Same(t, checked, 8, "pickups")
	for _, e := range judged.Exposures {
		if nothing := e.Exposure == truth.Nothing; nothing != (len(e.Rose) == 0) {
			t.Errorf("%s raised %v", e.Exposure, e.Rose)
		}
	}
}

func ohms(n model.Num) string {
	b, _ := json.Marshal(float64(n)) // finite
	return string(b)
}
