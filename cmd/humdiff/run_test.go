package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
	"unicode/utf8"

	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
	"humdiff/report/session"
)

// captureFile writes three seconds of hum at a level.
func captureFile(t *testing.T, name string, dBFS float64) string {
	t.Helper()
	c := bench.Comb{Rate: 8000, Seconds: 3, Track: bench.Steady(50), FloorDBFSHz: -130, Seed: int64(dBFS),
		Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: dBFS}}}
	made := kit.Must(c.Make())(t)
	path := filepath.Join(t.TempDir(), name)
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: 8000, Bits: 24}, made.Samples))
	return path
}

// sittingOf is a session of a quiet and a near capture.
func sittingOf(quiet, near string) string {
	path := filepath.Join(filepath.Dir(quiet), "session.toml")
	text := fmt.Sprintf("[[run]]\ncable = \"Grebe\"\ncondition = \"quiet\"\nfile = %q\n[[run]]\ncable = \"Grebe\"\ncondition = \"near\"\nexposure = \"beside\"\nfile = %q\n", quiet, near)
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		panic(err)
	}
	return path
}

// An interrupt ends the work with a short message, no result, and nothing on disk.
func TestInterrupted(t *testing.T) {
	quiet, near := captureFile(t, "quiet.wav", -100), captureFile(t, "near.wav", -80)
	dir := filepath.Join(t.TempDir(), "out")
	for _, args := range [][]string{
		{"compare", quiet, near},
		{"measure", quiet},
		{"demo", dir},
		{"batch", sittingOf(quiet, near), "--cache", t.TempDir()},
	} {
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		var stdout, stderr bytes.Buffer
		code := run(ctx, args, &stdout, &stderr)
		if code != failed || stdout.Len() > 0 || !strings.HasPrefix(stderr.String(), "humdiff: interrupted") {
			t.Errorf("%s: exit code %d, %q, %q", args[0], code, &stdout, &stderr)
		}
		if goesOn := strings.Contains(stderr.String(), "the same command goes on from there"); goesOn != (args[0] == "batch") {
			t.Errorf("%s: %q", args[0], &stderr)
		}
	}
	if found, _ := filepath.Glob(filepath.Join(dir, "*.wav")); len(found) > 0 {
		t.Errorf("left behind: %v", found)
	}
}

// full is a standard output on a device that is full.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, syscall.ENOSPC }

// Results that can't be written are no results.
func TestAnUnwrittenResultIsAFailure(t *testing.T) {
	quiet, near := captureFile(t, "quiet.wav", -100), captureFile(t, "near.wav", -80)
	for _, args := range [][]string{{"check", quiet}, {"measure", quiet}, {"compare", quiet, near}, {"--version"}, {"--help"}, {"measure", "--help"}} {
		for _, format := range []string{"text", "markdown", "html", "bbcode", "csv", "json"} {
			args := args
			if args[0] == "check" && (format == "html" || format == "bbcode") {
				continue // that has no such form
			}
			if len(args) > 1 && args[1] != "--help" {
				args = append(args[:len(args):len(args)], "--format", format)
			}
			var stderr bytes.Buffer
			if code := run(t.Context(), args, full{}, &stderr); code != failed || !strings.Contains(stderr.String(), syscall.ENOSPC.Error()) {
				t.Errorf("%v: exit %d, %s", args, code, &stderr)
			}
		}
	}
}

// On a terminal of 80 columns no line is wider, and no number is broken.
func TestNarrowTerminal(t *testing.T) {
	quiet, near := captureFile(t, "quiet.wav", -100), captureFile(t, "near.wav", -80)
	for _, width := range []int{0, 80, 60} {
		var stdout, stderr bytes.Buffer
		root := newRoot(screen{&stdout, &stderr, width, width})
		root.SetArgs([]string{"compare", quiet, near, "--full-scale", "2V"})
		kit.OK(t, root.Execute())
		widest := 0
		for _, line := range strings.Split(stdout.String()+stderr.String(), "\n") {
			if !strings.Contains(line, quiet) && !strings.Contains(line, near) { // a path has no blank to break at
				widest = max(widest, utf8.RuneCountInString(line))
			}
		}
		if wide := widest > 80; wide != (width == 0) || width > 0 && widest > width {
			t.Errorf("on %d columns the widest line has %d", width, widest)
		}
		if !strings.Contains(stdout.String(), "\nWarnings\n") {
			t.Error("no warnings in the result")
		}
		hint := ""
		if width > 0 {
			hint = hintOut + "\n"
		}
		kit.Same(t, stderr.String(), hint, "standard error")
	}
}

// open says where its page is and ends when it is interrupted; what can't be
// watched is refused before anything is served.
func TestOpen(t *testing.T) {
	interrupted, stop := context.WithCancel(t.Context())
	stop()
	for _, c := range []struct {
		ctx  context.Context
		args []string
		code int
		says string
	}{
		{interrupted, []string{"open", "--no-browser"}, done, "The page is at http://127.0.0.1:"},
		{t.Context(), []string{"open", "--no-browser", filepath.Join(t.TempDir(), "none")}, failed, "cannot be watched"},
		{t.Context(), []string{"open", "one", "two"}, wrong, "open was given 2 folders"},
	} {
		var stdout, stderr bytes.Buffer
		if code := run(c.ctx, c.args, &stdout, &stderr); code != c.code {
			t.Errorf("%v: exit code %d, want %d", c.args, code, c.code)
		}
		if !strings.Contains(stderr.String(), c.says) || stdout.Len() > 0 {
			t.Errorf("%v: %q, %q", c.args, &stdout, &stderr)
		}
	}
}

func TestTimeLeft(t *testing.T) {
	for _, c := range []struct {
		past        time.Duration
		done, total int64
		want        string
	}{
		{500 * time.Millisecond, 10, 100, ""}, {10 * time.Second, 0, 100, ""}, {10 * time.Second, 25, 100, "30 s left"},
		{10 * time.Second, 1, 100, "17 min left"}, {10 * time.Second, 100, 100, "0 s left"}, {10 * time.Second, 100, 90, ""},
	} {
		kit.Same(t, timeLeft(c.past, c.done, c.total), c.want, "%v, %d of %d", c.past, c.done, c.total)
	}
}

// What stands before the bar leaves it half the terminal.
func TestDoing(t *testing.T) {
	long := strings.Repeat("Wide ", 40)
	for width := range 300 {
		got := doing(long, "30 s left", width)
		if n := len([]rune(got)); n > width/2 || width >= narrow && !strings.HasPrefix(got, "30 s left, W") || width < narrow && got != "" {
			t.Errorf("%d columns: %q", width, got)
		}
	}
	kit.Same(t, doing("Rail, near", "", 80), "Rail, near", "without a part")
}

var sittingArgs = []string{"plan", "--cables", "Grebe,Rail,Plover", "--terminations", "20ohm,open", "--exposures", "beside,wrapped",
	"--witness", "Old wire", "--seed", "7", "--full-scale", "2.0V", "--gain", "40dB", "--out", "sitting"}

// What plan writes is a session to which only the captures are missing, and with
// them nothing.
func TestPlanIsASession(t *testing.T) {
	t.Chdir(t.TempDir())
	said(t, sittingArgs...)
	path := filepath.Join("sitting", "session.toml")
	s, err := session.Load(path)
	var problems session.Problems
	if !errors.As(err, &problems) || len(problems) != len(s.Sitting.Runs) {
		t.Errorf("%d runs: %v", len(s.Sitting.Runs), err)
	}
	for _, p := range problems {
		if !strings.Contains(p.Error(), "there is no file run") {
			t.Error(p)
		}
	}
	for _, r := range s.Sitting.Runs {
		kit.OK(t, os.WriteFile(s.Locate(r.Address), nil, 0o666))
	}
	if s, err = session.Load(path); err != nil {
		t.Error(err)
	}
	if got := session.Cables(s.Sitting.Runs); len(got) != 4 || s.Sitting.Control != "Old wire" || s.Sitting.Bench.Gain != "40dB" {
		t.Errorf("cables %v, witness %q, gain %q", got, s.Sitting.Control, s.Sitting.Bench.Gain)
	}
	if want := 2 + 2*5*2 + 3*2*(7+5*5); len(s.Sitting.Runs) != want { // residuals; witness; cables, the first time with dead
		t.Errorf("%d runs, want %d", len(s.Sitting.Runs), want)
	}
}

// The card is one sheet of A4, with twelve repeats too.
func TestCardIsOnePage(t *testing.T) {
	browser := slices.IndexFunc([]string{"chromium", "google-chrome"}, func(name string) bool { _, err := exec.LookPath(name); return err == nil })
	if browser < 0 || testing.Short() {
		t.Skip("needs a browser and some time")
	}
	t.Chdir(t.TempDir())
	said(t, append(sittingArgs, "--repeats", "12")...) // the more repeats, the longer
	card := kit.Must(filepath.Abs(filepath.Join("sitting", "card.html")))(t)
	ctx, end := context.WithTimeout(t.Context(), time.Minute)
	defer end()
	out, err := exec.CommandContext(ctx, []string{"chromium", "google-chrome"}[browser], "--headless", "--no-sandbox", "--disable-gpu",
		"--no-pdf-header-footer", "--print-to-pdf=card.pdf", "file://"+filepath.ToSlash(card)).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	pages := regexp.MustCompile(`/Type\s*/Page\b`).FindAllString(readFile(t, "card.pdf"), -1)
	kit.Same(t, len(pages), 1, "pages")
}

// Keys that outside checks read: they are there in every result, in its second
// version as in its first.
var (
	sideKeys  = "file channel start_s end_s rate_hz bits sha256"
	levelKeys = "state dbfs lo_dbfs hi_dbfs limit_dbfs floor_dbfs_hz volts steadiness"
	deltaKeys = "state db lo_db hi_db"
	headKeys  = map[string]string{"": "schema tool settings warnings may_publish fingerprint", "tool": "version", "may_publish": "state why caption", "warnings": "code file channel message"}
	contract  = map[string]map[string]string{
		"compare": {
			"": "pairs", "pairs": "quiet near mains lines hum noise tones", "pairs.quiet": sideKeys, "pairs.near": sideKeys,
			"pairs.mains": "nominal_hz quiet_hz near_hz", "pairs.lines": "harmonic hz quiet near delta pickup",
			"pairs.lines.quiet": levelKeys, "pairs.lines.near": levelKeys, "pairs.lines.delta": deltaKeys, "pairs.lines.pickup": "lo_volts hi_volts",
			"pairs.hum": "quiet_dbfs near_dbfs delta", "pairs.hum.delta": deltaKeys,
			"pairs.noise": "band_hz quiet_dbfs near_dbfs quiet_a_dbfs near_a_dbfs", "pairs.tones": "quiet near",
		},
		"measure": {
			"": "captures", "captures": sideKeys + " mains lines hum noise tones",
			"captures.mains": "detected nominal_hz hz u95_hz min_hz max_hz", "captures.lines": "harmonic hz " + levelKeys,
			"captures.hum": "state dbfs lo_dbfs hi_dbfs limit_dbfs",
		},
	}
)

func TestJSONContract(t *testing.T) {
	quiet, near := captureFile(t, "quiet.wav", -100), captureFile(t, "near.wav", -80)
	for command, keys := range contract {
		args := []string{command, quiet, near, "--format", "json", "--full-scale", "2V", "--up-to", "500Hz"}
		var result any
		kit.OK(t, json.Unmarshal([]byte(said(t, args...)), &result))
		for _, at := range []map[string]string{headKeys, keys} {
			for path, names := range at {
				found := objects(result, path)
				if len(found) == 0 {
					t.Errorf("%s: there is no %s", command, path)
				}
				for _, object := range found {
					for _, name := range strings.Fields(names) {
						if _, ok := object[name]; !ok {
							t.Errorf("%s: %s has no key %q", command, path, name)
						}
					}
				}
			}
		}
	}
}

// objects are those at a path, of lists each.
func objects(value any, path string) (all []map[string]any) {
	if list, ok := value.([]any); ok {
		for _, x := range list {
			all = append(all, objects(x, path)...)
		}
		return all
	}
	object, ok := value.(map[string]any)
	if path == "" || !ok {
		return append(all, object)
	}
	name, rest, _ := strings.Cut(path, ".")
	return objects(object[name], rest)
}
