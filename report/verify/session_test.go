package verify

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/wavfile"
	"humdiff/report/batch"
	"humdiff/report/gather"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/verdict"
	"humdiff/report/volts"
)

// sitting measures and judges a small session in a new folder; its report lies
// in a folder beside the captures.
func sitting(t *testing.T) (dir, path string) {
	t.Helper()
	dir = t.TempDir()
	s := session.Session{Path: filepath.Join(dir, "bench", "session.toml"), Bench: session.BlankBench(), Playback: session.BlankPlayback()}
	if err := os.MkdirAll(filepath.Join(dir, "bench"), 0o755); err != nil {
		t.Fatal(err)
	}
	for i, r := range []struct {
		cable string
		as    session.Condition
		dBFS  float64 // NaN: no hum at all
	}{{"Grebe", session.Quiet, math.NaN()}, {"Grebe", session.Near, -80}, {"Grebe", session.Near, -81}, {"Plover", session.Quiet, -100}, {"Plover", session.Near, -70}} {
		name := fmt.Sprintf("run%d.wav", i+1)
		c := bench.Comb{Rate: 8000, Seconds: 5, Track: bench.Steady(50.02), FloorDBFSHz: -125, Seed: int64(i)}
		if !math.IsNaN(r.dBFS) {
			c.Lines = []bench.LineSpec{{Harmonic: 1, PowerDBFS: r.dBFS}, {Harmonic: 3, PowerDBFS: r.dBFS - 10}}
		}
		made, err := c.Make()
		if err != nil {
			t.Fatal(err)
		}
		if err := wavfile.Write(filepath.Join(dir, "bench", name), wavfile.Format{Rate: 8000, Bits: 24}, made.Samples); err != nil {
			t.Fatal(err)
		}
		s.Runs = append(s.Runs, session.Run{Line: i + 1, Cable: r.cable, Termination: 20, Exposure: "beside", Condition: r.as, Repeat: 1 + i%2,
			Replaced: true, LoadAmps: math.NaN(), Address: capture.Address{Path: name, End: math.Inf(1)}})
	}
	store, err := batch.NewStore(filepath.Join(dir, "kept"), "1")
	if err != nil {
		t.Fatal(err)
	}
	scale, err := volts.Stated("2V", "40dB")
	if err != nil {
		t.Fatal(err)
	}
	b := batch.Batch{Session: s, Options: mains.Options{UpTo: 500}, Scale: scale, Store: store, Version: "2"}
	if err := b.Measure(t.Context()); err != nil {
		t.Fatal(err)
	}
	if failed := b.Failures(); len(failed) > 0 {
		t.Fatal(failed[0].Err)
	}
	files, err := gather.Session(verdict.Judge(b.Input()), b.Capture)
	if err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "report")
	if err := publish.Write(t.Context(), out, false, files); err != nil {
		t.Fatal(err)
	}
	return dir, filepath.Join(out, "session.json")
}

func TestSession(t *testing.T) {
	dir, path := sitting(t)
	v := verified(t, path, "")
	if v.Verdict != result.Stands || len(v.Captures) != 5 {
		t.Fatalf("untouched: %s, %d captures, %+v", v.Verdict, len(v.Captures), v.Differences[:min(3, len(v.Differences))])
	}
	if v.Compared < 5*10*20 {
		t.Errorf("only %d values compared", v.Compared)
	}

	// Its page, tables, figures and its runs' pages are made again.
	if len(v.Files) < 10 {
		t.Errorf("%d files looked at", len(v.Files))
	}
	for name, state := range states(v) {
		if state != result.Same {
			t.Errorf("untouched, %s: %s", name, state)
		}
	}
	page := filepath.Join(filepath.Dir(path), "run-2.html")
	was, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(page, append(was, ' '), 0o644); err != nil {
		t.Fatal(err)
	}
	if v := verified(t, path, ""); v.Verdict != result.Differs || states(v)["run-2.html"] != result.Differs {
		t.Errorf("a blank more on a run's page: %s, %v", v.Verdict, v.Files)
	}
	if err := os.WriteFile(page, was, 0o644); err != nil {
		t.Fatal(err)
	}

	edited := func(change func(*result.Session)) result.Verification {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var s result.Session
		if err := json.Unmarshal(data, &s); err != nil {
			t.Fatal(err)
		}
		change(&s)
		return verified(t, save(t, filepath.Dir(path), "edited.json", s), "")
	}
	for where, change := range map[string]func(*result.Session){
		"runs[1].capture.lines[0].dbfs": func(s *result.Session) { s.Runs[1].Capture.Lines[0].DBFS -= 0.001 },
		"cells[0].pickup_dbfs.lo":       func(s *result.Session) { s.Cells[0].Pickup.Lo -= 0.001 },
		// Another cable's run: its numbers hold, what follows from them doesn't.
		"cells": func(s *result.Session) { s.Runs[2].Cable = "Plover" },
	} {
		v := edited(change)
		found := false
		for _, d := range v.Differences {
			found = found || strings.HasPrefix(d.Where, where)
		}
		if v.Verdict != result.Differs || !found {
			t.Errorf("%s: %s, %+v", where, v.Verdict, v.Differences[:min(3, len(v.Differences))])
		}
	}

	// One capture is gone: the rest is recomputed, and what follows is judged by
	// what the report has of it.
	if err := os.Remove(filepath.Join(dir, "bench", "run2.wav")); err != nil {
		t.Fatal(err)
	}
	if v := verified(t, path, ""); v.Verdict != result.Incomplete || v.LeftOut == 0 || v.Compared == 0 {
		t.Errorf("one gone: %s, %d compared, %d left out", v.Verdict, v.Compared, v.LeftOut)
	} else if states(v)["run-2.html"] != result.NotCompared {
		t.Errorf("the page of the run that is gone: %v", v.Files)
	}
}
