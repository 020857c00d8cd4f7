package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"humdiff/fixtures/bench"
	"humdiff/fixtures/demo"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
	"humdiff/report"
	"humdiff/report/batch"
	"humdiff/report/doc"
	"humdiff/report/model"

	"github.com/rogpeppe/go-internal/testscript"
)

// The README's figure and the lines it shows of a result are the demo's.
func TestReadmeShowsTheDemo(t *testing.T) {
	dir := theDemo(t)
	readme := readFile(t, "../../README.md")
	figure := readFile(t, "../../fixtures/demo/spectrum.svg")
	kit.Same(t, readFile(t, filepath.Join(dir, "report", "spectrum.svg")), figure, "fixtures/demo/spectrum.svg is not what demo draws: copy humdiff-demo/report/spectrum.svg over it")
	printed := said(t, "compare", filepath.Join(dir, "quiet.wav"), filepath.Join(dir, "near.wav"), "--full-scale", "2V")
	shown := regexp.MustCompile(`(?m)(?:^    .*\n)+`).FindString(readme[strings.Index(readme, "\n    Hum rose ")+1:])
	if strings.Count(shown, "\n") < 6 {
		t.Errorf("the README shows too little of a result:\n%s", shown)
	}
	for line := range strings.Lines(shown) {
		if line = strings.TrimPrefix(line, "    "); line != "…\n" && !strings.Contains("\n"+printed, "\n"+line) {
			t.Errorf("the README shows a line that the demo's result hasn't:\n%s", line)
		}
	}
}

// Every humdiff command in the README works as it stands. open alone is not run
// here: it serves until somebody ends it (run_test.go and report/live try it).
func TestReadmeCommands(t *testing.T) {
	kit.Unraced(t)
	made := theDemo(t)
	readme := readFile(t, "../../README.md")
	t.Chdir(t.TempDir())
	for seed, name := range []string{"quiet.wav", "near.wav", "survey.wav"} {
		c, err := bench.Comb{Rate: 8000, Seconds: 5, Track: bench.Steady(50), FloorDBFSHz: -130, Seed: int64(seed),
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -90 + 10*float64(seed)}}}.Make()
		kit.OK(t, err)
		kit.OK(t, wavfile.Write(name, wavfile.Format{Rate: 8000, Bits: 24}, c.Samples))
	}
	captures(t)
	kit.OK(t, os.CopyFS(demoFolder, os.DirFS(made)))
	commands := regexp.MustCompile("(?m)(?:^    |`)humdiff ([a-z][^`\n]*)").FindAllStringSubmatch(readme, -1)
	if len(commands) < 4 {
		t.Errorf("only %d commands found in the README", len(commands))
	}
	for _, c := range commands {
		var args []string
		for _, word := range strings.Fields(c[1]) {
			args = append(args, strings.Trim(word, `"`))
		}
		if args[0] == "open" {
			continue
		}
		said(t, args...)
	}
	if _, err := os.Stat(filepath.Join("hum-report", "report.html")); err != nil {
		t.Error(err)
	}
}

// said runs a command that has to succeed, and returns what it printed.
func said(t *testing.T, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if code := run(context.Background(), args, &stdout, &stderr); code != done {
		t.Fatalf("humdiff %s: exit code %d\n%s", strings.Join(args, " "), code, &stderr)
	}
	return stdout.String()
}

func readFile(t *testing.T, path string) string {
	t.Helper()
	b := kit.Must(os.ReadFile(path))(t)
	return strings.ReplaceAll(string(b), "\r\n", "\n")
}

// captures is a folder of captures whose names tell what they are.
func captures(t *testing.T) {
	t.Helper()
	kit.OK(t, os.Mkdir("captures", 0o777))
	for from, to := range map[string]string{"quiet.wav": "grebe-20ohm-quiet.wav", "near.wav": "grebe-20ohm-near-beside.wav"} {
		data := kit.Must(os.ReadFile(from))(t)
		kit.OK(t, os.WriteFile(filepath.Join("captures", to), data, 0o666))
	}
}

// Every command of the tutorial works as it stands, one after the other.
func TestTutorial(t *testing.T) {
	made := theDemo(t)
	text := readFile(t, "topics/tutorial.md")
	t.Chdir(t.TempDir())
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	commands := regexp.MustCompile(`(?m)^    humdiff (.*)$`).FindAllStringSubmatch(text, -1)
	if len(commands) < 7 {
		t.Fatalf("only %d commands", len(commands))
	}
	for _, c := range commands {
		var args []string
		for _, word := range regexp.MustCompile(`"[^"]*"|\S+`).FindAllString(c[1], -1) {
			args = append(args, strings.Trim(word, `"`))
		}
		if args[0] == "demo" { // has been run, for all tests; and its session measured
			kit.OK(t, os.CopyFS(args[1], os.DirFS(made)))
			kept := kit.Must(batch.DefaultDir())(t)
			kit.OK(t, os.CopyFS(kept, os.DirFS(filepath.Join(made, "session", "measured"))))
			continue
		}
		if strings.Join(args, " ") == "coupling trial/driven/session.toml --out passport" { // coupling_known.txtar runs it, as the demo did
			kit.OK(t, os.CopyFS("passport", os.DirFS(filepath.Join(made, "passport"))))
			continue
		}
		said(t, args...)
	}
	for _, file := range []string{"trial/truth.json", "grebe/report.html", "sitting/report.html", "grebe.zip"} {
		if _, err := os.Stat(filepath.FromSlash(file)); err != nil {
			t.Error(err)
		}
	}
}

func TestUnwrapped(t *testing.T) {
	for text, want := range map[string]string{
		"a\nb\n\nc\n":            "a b\n\nc\n",
		"# h\n\na\n":             "# h\n\na\n",
		"1. a\n   b\n2. c\n":     "1. a b\n2. c\n",
		"say\n\n    x y\n\nso\n": "say\n\n    x y\n\nso\n",
	} {
		kit.Same(t, unwrapped(text), want, "%q", text)
	}
}

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
	kit.Same(t, len(seen), 3, "verdicts %v, want one of each", seen)
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
	var said bytes.Buffer
	if code := run(context.Background(), []string{"demo", dir}, &said, &said); code != done {
		return "", fmt.Errorf("humdiff demo: exit code %d\n%s", code, &said)
	}
	return dir, os.WriteFile(dir+"-said", said.Bytes(), 0o666)
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

// tidy runs tests and removes what they shared. What they measure is kept among that, and
// not where the user's measurements are.
type tidy struct{ *testing.M }

func (t tidy) Run() int {
	kept, err := os.MkdirTemp("", "kept")
	if err != nil {
		log.Fatal(err)
	}
	os.Setenv("XDG_CACHE_HOME", kept)
	code := t.M.Run()
	os.RemoveAll(kept)
	os.RemoveAll(demoHome) // nothing where it is ""
	return code
}
