package main

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"humdiff/fixtures/kit"
	"humdiff/report/session"
)

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

// The card is one sheet of A4, with six and with twelve repeats.
func TestCardIsOnePage(t *testing.T) {
	browser := slices.IndexFunc([]string{"chromium", "google-chrome"}, func(name string) bool { _, err := exec.LookPath(name); return err == nil })
	if browser < 0 || testing.Short() {
		t.Skip("needs a browser and some time")
	}
	for _, repeats := range []string{"6", "12"} {
		t.Chdir(t.TempDir())
		said(t, append(sittingArgs, "--repeats", repeats)...)
		card := kit.Must(filepath.Abs(filepath.Join("sitting", "card.html")))(t)
		ctx, end := context.WithTimeout(t.Context(), time.Minute)
		defer end()
		out, err := exec.CommandContext(ctx, []string{"chromium", "google-chrome"}[browser], "--headless", "--no-sandbox", "--disable-gpu",
			"--no-pdf-header-footer", "--print-to-pdf=card.pdf", "file://"+filepath.ToSlash(card)).CombinedOutput()
		if err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		pages := regexp.MustCompile(`/Type\s*/Page\b`).FindAllString(readFile(t, "card.pdf"), -1)
		kit.Same(t, len(pages), 1, "%s repeats: pages", repeats)
	}
}
