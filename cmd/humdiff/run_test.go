package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fixtures/bench"
	"humdiff/fixtures/wavfile"
	"humdiff/report/result"
)

// captureFile writes three seconds of hum at a level.
func captureFile(t *testing.T, name string, dBFS float64) string {
	t.Helper()
	c := bench.Comb{Rate: 8000, Seconds: 3, Track: bench.Steady(50), FloorDBFSHz: -130, Seed: int64(dBFS),
		Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: dBFS}}}
	made, err := c.Make()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), name)
	if err := wavfile.Write(path, wavfile.Format{Rate: 8000, Bits: 24}, made.Samples); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestCompareJSONIsAResult(t *testing.T) {
	quiet, near := captureFile(t, "quiet.wav", -100), captureFile(t, "near.wav", -80)
	var stdout, stderr bytes.Buffer
	if code := run(context.Background(), []string{"compare", quiet, near, "--format", "json", "--full-scale", "2V"}, &stdout, &stderr); code != done {
		t.Fatalf("exit code %d: %s", code, &stderr)
	}
	d := json.NewDecoder(&stdout)
	d.DisallowUnknownFields()
	var r result.Compare
	if err := d.Decode(&r); err != nil {
		t.Fatal(err)
	}
	delta := r.Pairs[0].Hum.Delta
	if r.Schema != result.CompareSchema || delta.State != result.Measured || !(delta.LoDB < 20 && 20 < delta.HiDB) {
		t.Errorf("schema %q, hum delta %+v, want 20 dB", r.Schema, delta)
	}
	if d.More() || stderr.Len() > 0 {
		t.Errorf("more than one object, or words on standard error: %s", &stderr)
	}
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

// brokenPipe is a standard output that nobody reads.
type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { return 0, os.ErrClosed }

func TestAnUnwrittenResultIsAFailure(t *testing.T) {
	capture := captureFile(t, "hum.wav", -80)
	for _, format := range []string{"text", "markdown", "html", "bbcode", "csv", "json"} {
		var stderr bytes.Buffer
		if code := run(context.Background(), []string{"measure", capture, "--format", format}, brokenPipe{}, &stderr); code != failed {
			t.Errorf("%s: exit code %d, want %d", format, code, failed)
		}
	}
}

func TestFold(t *testing.T) {
	for _, c := range []struct {
		line  string
		width int
		want  string
	}{
		{"hum rose 11.3 dB", 0, "hum rose 11.3 dB"},
		{"hum rose 11.3 dB", 16, "hum rose 11.3 dB"},
		{"hum rose 11.3 dB", 15, "hum rose 11.3\n  dB"},
		{"  quiet: a ±0.1 b", 14, "  quiet: a\n    ±0.1 b"},
		{"unbreakable-as-it-is and", 5, "unbreakable-as-it-is\n  and"},
		{"nothing", 3, "nothing"},
	} {
		if got := fold(c.line, c.width); got != c.want {
			t.Errorf("%q at %d: got %q, want %q", c.line, c.width, got, c.want)
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
		if err := root.Execute(); err != nil {
			t.Fatal(err)
		}
		widest := 0
		for _, line := range strings.Split(stdout.String()+stderr.String(), "\n") {
			if !strings.Contains(line, quiet) && !strings.Contains(line, near) { // a path has no blank to break at
				widest = max(widest, cells(line))
			}
		}
		if wide := widest > 80; wide != (width == 0) || width > 0 && widest > width {
			t.Errorf("on %d columns the widest line has %d", width, widest)
		}
		if stdout.Len() == 0 || !strings.Contains(stderr.String(), "warning: ") && width == 0 {
			t.Errorf("no result, or no warning on standard error: %q", &stderr)
		}
	}
}
