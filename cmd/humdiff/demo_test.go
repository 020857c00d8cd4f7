package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"humdiff/fixtures/demo"
	"humdiff/fixtures/kit"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"

	"github.com/rogpeppe/go-internal/testscript"
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

// demoHome is where the demo was run, if it was.
var demoHome string

// demonstrated is the folder that `humdiff demo` wrote, once for all tests: it takes
// longer than most of them.
var demonstrated = sync.OnceValues(func() (string, error) {
	home, err := os.MkdirTemp("", "demo")
	if err != nil {
		return "", err
	}
	demoHome = home
	dir := filepath.Join(home, "humdiff-demo")
	var stdout, stderr bytes.Buffer
	if code := run(context.Background(), []string{"demo", dir}, &stdout, &stderr); code != done || stderr.Len() > 0 {
		return "", fmt.Errorf("humdiff demo: exit code %d\n%s", code, &stderr)
	}
	return dir, os.WriteFile(dir+"-said", stdout.Bytes(), 0o666)
})

// theDemo is what the demo wrote, to be looked at and left as it is.
func theDemo(t *testing.T) string {
	t.Helper()
	if testing.Short() {
		t.Skip("the demo takes its time")
	}
	return kit.Must(demonstrated())(t)
}

// demonstrate DIR copies what the demo wrote into a new folder, and what it said beside it.
func demonstrate(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: demonstrate DIR")
	}
	dir, err := demonstrated()
	ts.Check(err)
	ts.Check(os.CopyFS(ts.MkAbs(args[0]), os.DirFS(dir)))
	said, err := os.ReadFile(dir + "-said")
	ts.Check(errors.Join(err, os.WriteFile(ts.MkAbs(args[0]+"-said"), said, 0o666)))
}

// tidy runs tests and removes what they shared.
type tidy struct{ *testing.M }

func (t tidy) Run() int {
	code := t.M.Run()
	os.RemoveAll(demoHome) // nothing where it is ""
	return code
}
