package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
	"humdiff/report/model"
	"humdiff/report/wire"
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

func TestCompareJSONIsAResult(t *testing.T) {
	quiet, near := captureFile(t, "quiet.wav", -100), captureFile(t, "near.wav", -80)
	var stdout, stderr bytes.Buffer
	if code := run(context.Background(), []string{"compare", quiet, near, "--format", "json", "--full-scale", "2V"}, &stdout, &stderr); code != done {
		t.Fatalf("exit code %d: %s", code, &stderr)
	}
	any := kit.Must(wire.Read(stdout.Bytes()))(t)
	kit.Same(t, string(kit.Must(wire.Write(any))(t)), stdout.String(), "what is printed isn't what reading and writing it gives")
	delta := any.(*model.Compare).Pairs[0].Hum.Delta
	if _, lo, hi := delta.Numbers(); !delta.Measured() || !(lo < 20 && 20 < hi) {
		t.Errorf("hum delta %v, want 20 dB", delta)
	}
	if stderr.Len() > 0 {
		t.Errorf("words on standard error: %s", &stderr)
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
		kit.Same(t, run(context.Background(), []string{"measure", capture, "--format", format}, brokenPipe{}, &stderr), failed, "%s: exit code", format)
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
		if !strings.Contains(stdout.String(), "\nWarnings\n") || stderr.Len() > 0 {
			t.Errorf("no warnings in the result, or words on standard error: %q", &stderr)
		}
	}
}
