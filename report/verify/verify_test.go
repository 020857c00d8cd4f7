package verify_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"humdiff/fft/capture"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/wavfile"
	"humdiff/report"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/session"
	"humdiff/report/verify"
	"humdiff/report/wire"
)

// version is the program's that makes and verifies.
const version = "1"

// record simulates four seconds of hum at a level.
func record(t testing.TB, path string, dBFS float64, seed int64, count int64) {
	t.Helper()
	var channels [][]float64
	for i := range count {
		c := bench.Comb{Rate: 8000, Seconds: 4, Track: bench.Steady(50.02), FloorDBFSHz: -125, Seed: seed + i}
		if !math.IsNaN(dBFS) {
			c.Lines = []bench.LineSpec{{Harmonic: 1, PowerDBFS: dBFS}, {Harmonic: 3, PowerDBFS: dBFS - 12}}
		}
		made, err := c.Make()
		if err != nil {
			t.Fatal(err)
		}
		channels = append(channels, made.Samples)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := wavfile.Write(path, wavfile.Format{Rate: 8000, Bits: 24}, channels...); err != nil {
		t.Fatal(err)
	}
}

func whole(path string) capture.Address { return capture.Address{Path: path, End: math.Inf(1)} }

func asked() report.Request {
	r := report.Request{Version: version, Scaling: report.Scaling{FullScale: "2.0V ±1%", Gain: "40dB"}}
	r.UpTo = 500
	return r
}

// comparison makes captures and a report of them in a folder, and names its JSON.
func comparison(t testing.TB, dir string) string {
	t.Helper()
	quiet, near := filepath.Join(dir, "quiet.wav"), filepath.Join(dir, "near.wav")
	record(t, quiet, -95, 1, 2)
	record(t, near, -80, 11, 2)
	r, err := report.Compare(t.Context(), asked(), report.Compared{Quiet: whole(quiet), Near: whole(near)})
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Join(written(t, filepath.Join(dir, "report"), &r), "compare.json")
}

func written(t testing.TB, out string, r wire.Result) string {
	t.Helper()
	files, err := report.Files(r)
	if err != nil {
		t.Fatal(err)
	}
	if err := publish.Write(t.Context(), out, false, files); err != nil {
		t.Fatal(err)
	}
	return out
}

// sitting makes a small session with a claim, and its report.
func sitting(t testing.TB, dir string) string {
	t.Helper()
	file := session.File{Path: filepath.Join(dir, "bench", "session.toml"), RunsFile: "runs.csv", Sitting: session.Blank()}
	s := &file.Sitting
	s.Title, s.Bench.FullScale, s.Bench.Gain = "A sitting", "2V", "40dB"
	s.Claims = []model.Claim{{Name: "rise", Says: "Grebe rises by 30 dB at most", Written: time.Date(2031, 2, 1, 0, 0, 0, 0, time.UTC), Kind: model.ClaimRise, Cable: "Grebe", DB: 30, Volts: model.None,
		Termination: model.Termination{Ohms: model.None}}}
	for i, r := range []struct {
		cable, as string
		dBFS      float64 // NaN: no hum at all
	}{{"Grebe", model.Quiet, -104}, {"Grebe", model.Near, -80}, {"Grebe", model.Near, -81}, {"Plover", model.Quiet, -100}, {"Plover", model.Near, -70}} {
		name := fmt.Sprintf("run%d.wav", i+1)
		record(t, filepath.Join(dir, "bench", name), r.dBFS, int64(20*i), 1)
		run := session.BlankRun()
		run.Cable, run.Exposure, run.Condition, run.Repeat, run.Replaced, run.Address = r.cable, "beside", r.as, 1+i%3, true, name
		run.Termination.Ohms = 20
		s.Runs = append(s.Runs, run)
	}
	if err := file.Write(); err != nil {
		t.Fatal(err)
	}
	loaded, err := session.Load(file.Path)
	if err != nil {
		t.Fatal(err)
	}
	r := asked()
	r.Scaling = report.Scaling{}
	judged, err := report.Session(t.Context(), r, report.Sitting{File: loaded, Cache: filepath.Join(dir, "kept")})
	if err != nil {
		t.Fatal(err)
	}
	if len(judged.Failures) > 0 {
		t.Fatal(judged.Failures[0].Err)
	}
	files, err := report.SessionFiles(&judged.Session, judged.Whole(t.Context()), false)
	if err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "report")
	if err := publish.Write(t.Context(), out, false, files); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(out, "session.json")
}

// followed makes a capture and a trend of it.
func followed(t testing.TB, dir string) string {
	t.Helper()
	path := filepath.Join(dir, "survey.wav")
	record(t, path, -80, 5, 1)
	r, err := report.Trend(t.Context(), asked(), whole(path), []int{1, 3})
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Join(written(t, filepath.Join(dir, "report"), &r), "trend.json")
}

// alone makes captures and the JSON of measuring them, with nothing beside it.
func alone(t testing.TB, dir string) string {
	t.Helper()
	path := filepath.Join(dir, "quiet.wav")
	record(t, path, -80, 5, 1)
	r, err := report.Measure(t.Context(), asked(), []capture.Address{whole(path)})
	if err != nil {
		t.Fatal(err)
	}
	text, err := wire.Write(&r)
	if err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "measure.json")
	if err := os.WriteFile(out, text, 0o644); err != nil {
		t.Fatal(err)
	}
	return out
}

// kinds are all reports that can be verified.
var kinds = map[string]func(testing.TB, string) string{"compare": comparison, "session": sitting, "trend": followed, "measure": alone}

func verified(t testing.TB, path string) model.Verification {
	t.Helper()
	all, err := verify.Path(t.Context(), version, path, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	return all[0]
}

// An honest report stands, also after its folder was moved.
func TestStands(t *testing.T) {
	for kind, make := range kinds {
		dir := t.TempDir()
		path := make(t, filepath.Join(dir, "a"))
		v := verified(t, path)
		if v.Verdict != model.Stands || v.LeftOut != 0 || v.Compared < 100 {
			t.Errorf("%s: %s, %d compared, %d left out, not compared %v\n%s", kind, v.Verdict, v.Compared, v.LeftOut, v.NotCompared, told(v))
		}
		if v.Report.Fingerprint == "" || v.Report.Headline == "" {
			t.Errorf("%s: fingerprint %q, headline %q", kind, v.Report.Fingerprint, v.Report.Headline)
		}
		if err := os.Rename(filepath.Join(dir, "a"), filepath.Join(dir, "moved")); err != nil {
			t.Fatal(err)
		}
		if v := verified(t, strings.Replace(path, dir+"/a", dir+"/moved", 1)); v.Verdict != model.Stands {
			t.Errorf("%s, moved: %s\n%s", kind, v.Verdict, told(v))
		}
	}
}

// told lists some of what doesn't agree.
func told(v model.Verification) string {
	var b strings.Builder
	for i, d := range v.Differences {
		if i < 12 {
			fmt.Fprintf(&b, "%s: %v, made again %v\n", d.Where, d.Reported, d.Recomputed)
		}
	}
	for _, f := range v.Files {
		if f.State != model.Same {
			fmt.Fprintf(&b, "%s: %s\n", f.File, f.State)
		}
	}
	return b.String()
}

// A capture that isn't there leaves its values out; nothing is said to stand.
func TestMissingCapture(t *testing.T) {
	for kind, make := range kinds {
		dir := t.TempDir()
		path := make(t, dir)
		wavs, _ := filepath.Glob(filepath.Join(dir, "*.wav"))
		more, _ := filepath.Glob(filepath.Join(dir, "bench", "*.wav"))
		if err := os.Remove(append(wavs, more...)[0]); err != nil {
			t.Fatal(err)
		}
		if v := verified(t, path); v.Verdict != model.Incomplete || v.LeftOut == 0 {
			t.Errorf("%s: %s, %d left out\n%s", kind, v.Verdict, v.LeftOut, told(v))
		}
	}
}
