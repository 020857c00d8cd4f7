package verify

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/wavfile"
	"humdiff/report/assemble"
	"humdiff/report/gather"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/volts"
)

// record simulates six seconds of hum at a level, two channels.
func record(t *testing.T, path string, dBFS float64, seed int64) {
	t.Helper()
	var channels [][]float64
	for i := range int64(2) {
		made, err := bench.Comb{Rate: 8000, Seconds: 6, Track: bench.Steady(50.02), FloorDBFSHz: -125, Seed: seed + i,
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: dBFS}, {Harmonic: 3, PowerDBFS: dBFS - 12}}}.Make()
		if err != nil {
			t.Fatal(err)
		}
		channels = append(channels, made.Samples)
	}
	if err := wavfile.Write(path, wavfile.Format{Rate: 8000, Bits: 24}, channels...); err != nil {
		t.Fatal(err)
	}
}

// report makes captures and a report of them in a new folder.
func report(t *testing.T) (dir, path string) {
	t.Helper()
	dir = t.TempDir()
	quiet, near := filepath.Join(dir, "quiet.wav"), filepath.Join(dir, "near.wav")
	record(t, quiet, -95, 1)
	record(t, near, -80, 11)
	opt := mains.Options{UpTo: 500}
	pairs, err := assemble.ReadPair(t.Context(), capture.Address{Path: quiet, Start: 0.5}, capture.Address{Path: near, Start: 0.5}, opt)
	if err != nil {
		t.Fatal(err)
	}
	stated, err := volts.Stated("2.0V", "40dB")
	if err != nil {
		t.Fatal(err)
	}
	r := assemble.Compare("1", assemble.Settings(opt, stated), pairs)
	return dir, save(t, dir, "compare.json", r)
}

func save(t *testing.T, dir, name string, r any) string {
	t.Helper()
	data, err := gather.JSON(r)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func verified(t *testing.T, path, captures string) result.Verification {
	t.Helper()
	var dirs []string
	if captures != "" {
		dirs = []string{captures}
	}
	v, err := Report(t.Context(), "2", path, dirs, nil)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// edit writes a report beside path with one value changed.
func edit(t *testing.T, path string, change func(*result.Compare)) (edited string) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var r result.Compare
	if err := json.Unmarshal(data, &r); err != nil {
		t.Fatal(err)
	}
	change(&r)
	return save(t, filepath.Dir(path), "edited.json", r)
}

func TestStands(t *testing.T) {
	dir, path := report(t)
	v := verified(t, path, "")
	if v.Verdict != result.Stands || len(v.Differences) > 0 || v.LeftOut != 0 {
		t.Fatalf("untouched report: %+v", v)
	}
	// Two pairs of ten lines; a line has over twenty numbers, a spectrum thousands.
	if v.Compared < 2*10*20 || len(v.Captures) != 2 {
		t.Errorf("compared %d values of %d captures", v.Compared, len(v.Captures))
	}
	for _, w := range v.Worst {
		// The other engine's rounding shows, or nothing independent was done.
		if w.Kind == "dB" && (!(w.Largest > 0) || float64(w.Largest) > 1e-7) {
			t.Errorf("largest difference %g dB: want that of rounding", w.Largest)
		}
	}

	channels, err := assemble.Read(t.Context(), []capture.Address{{Path: filepath.Join(dir, "near.wav")}}, mains.Options{Nominal: 50})
	if err != nil {
		t.Fatal(err)
	}
	m := save(t, dir, "measure.json", assemble.Measure("1", assemble.Settings(mains.Options{Nominal: 50}), channels))
	if v := verified(t, m, ""); v.Verdict != result.Stands || v.Report.Schema != result.MeasureSchema {
		t.Errorf("measure: %+v", v)
	}
}

func TestEditedReportDiffers(t *testing.T) {
	_, path := report(t)
	for where, change := range map[string]func(*result.Compare){
		"pairs[0].lines[0].near.dbfs":    func(r *result.Compare) { r.Pairs[0].Lines[0].Near.DBFS -= 0.001 },
		"pairs[1].lines[0].delta.lo_db":  func(r *result.Compare) { r.Pairs[1].Lines[0].Delta.LoDB -= 0.001 },
		"pairs[0].lines[0].delta.state":  func(r *result.Compare) { r.Pairs[0].Lines[0].Delta.State = result.AtMost },
		"pairs[0].hum.near.dbfs":         func(r *result.Compare) { r.Pairs[0].Hum.Near.DBFS -= 0.001 },
		"pairs[0].mains.near_hz":         func(r *result.Compare) { r.Pairs[0].Mains.NearHz += 1e-6 },
		"pairs[0].near.rate_hz":          func(r *result.Compare) { r.Pairs[0].Near.RateHz++ },
		"pairs[1].trace.near.hi_dbfs[9]": func(r *result.Compare) { r.Pairs[1].Trace.Near.HiDBFS[9] -= 0.01 },
		"pairs[0].lines[0].near.volts":   func(r *result.Compare) { r.Settings.FullScaleVolts *= 1.001 },
		"pairs[0].lines":                 func(r *result.Compare) { r.Pairs[0].Lines = r.Pairs[0].Lines[:5] },
		"warnings: one_placement, channel 0": func(r *result.Compare) {
			for i, w := range r.Warnings {
				if w.Code == "one_placement" {
					r.Warnings = append(r.Warnings[:i:i], r.Warnings[i+1:]...)
					return
				}
			}
			t.Fatal("the report has no such warning")
		},
		"warnings: clipped, channel 1": func(r *result.Compare) {
			r.Warnings = append(r.Warnings, result.Warning{Code: "clipped", Channel: 1})
		},
	} {
		t.Run(where, func(t *testing.T) {
			v := verified(t, edit(t, path, change), "")
			if v.Verdict != result.Differs {
				t.Fatalf("verdict %q", v.Verdict)
			}
			for _, d := range v.Differences {
				if d.Where == where {
					return
				}
			}
			t.Errorf("differences are elsewhere: %+v", v.Differences[:min(3, len(v.Differences))])
		})
	}
}

// Another span of the same capture isn't what was measured, though the hash holds.
func TestEditedSpanDiffers(t *testing.T) {
	_, path := report(t)
	edited := edit(t, path, func(r *result.Compare) { r.Pairs[0].Near.StartS = 1 })
	if v := verified(t, edited, ""); v.Verdict != result.Differs {
		t.Errorf("verdict %q", v.Verdict)
	}
}

func TestCapturesElsewhere(t *testing.T) {
	dir, path := report(t)
	other := t.TempDir()
	if err := os.MkdirAll(filepath.Join(other, "deep"), 0o755); err != nil {
		t.Fatal(err)
	}
	moved := filepath.Join(other, "deep", "take 7.wav")
	if err := os.Rename(filepath.Join(dir, "near.wav"), moved); err != nil {
		t.Fatal(err)
	}
	v := verified(t, path, "")
	if v.Verdict != result.Incomplete || v.Compared != 0 || v.LeftOut == 0 || v.Captures[1].State != result.Missing {
		t.Errorf("near is gone: %s, %d compared, %+v", v.Verdict, v.Compared, v.Captures)
	}
	// A file of the same name is no substitute.
	record(t, filepath.Join(dir, "near.wav"), -60, 99)
	v = verified(t, path, "")
	if v.Verdict != result.Incomplete || v.Captures[1].State != result.Changed {
		t.Errorf("another near: %s, %+v", v.Verdict, v.Captures)
	}
	v = verified(t, path, other)
	if v.Verdict != result.Stands || v.Captures[1].State != result.Found || v.Captures[1].At != moved {
		t.Errorf("near under another name: %s, %+v", v.Verdict, v.Captures)
	}
}

func TestOldAndNewReports(t *testing.T) {
	_, path := report(t)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	rewrite := func(old, new string) {
		t.Helper()
		if !strings.Contains(string(data), old) {
			t.Fatalf("no %q in the report", old)
		}
		if err := os.WriteFile(path, []byte(strings.ReplaceAll(string(data), old, new)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	// A key that this version doesn't know is not passed over.
	rewrite(`"floor_dbfs_hz":`, `"ground_dbfs_hz":`)
	if v := verified(t, path, ""); v.Verdict != result.Incomplete || len(v.NotCompared) != 1 || v.NotCompared[0] != "ground_dbfs_hz" {
		t.Errorf("unknown key: %s, %v", v.Verdict, v.NotCompared)
	}
	// An older report lacks keys that came later; "tool" is one that is never compared.
	rewrite(`"steadiness":`, `"tool":`)
	if v := verified(t, path, ""); v.Verdict != result.Stands {
		t.Errorf("missing key: %s", v.Verdict)
	}
}

func TestNoReport(t *testing.T) {
	dir, _ := report(t)
	for name, content := range map[string]string{
		"empty.json":   "",
		"list.json":    "[]",
		"other.json":   `{"schema":"elsewhere/1"}`,
		"none.json":    `{}`,
		"newer.json":   `{"schema":"humdiff/compare/2"}`,
		"wrong.json":   `{"schema":"humdiff/compare/1","pairs":7}`,
		"window.json":  `{"schema":"humdiff/compare/1","settings":{"window":"none","mains":"auto","up_to_hz":5000},"pairs":[]}`,
		"mains.json":   `{"schema":"humdiff/compare/1","settings":{"window":"hann","mains":"55","up_to_hz":5000},"pairs":[]}`,
		"twice.json":   `{"schema":"humdiff/compare/1"}{}`,
		"capture.json": "RIFF\x00\x00",
	} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(content), 0o644); err != nil {
			t.Fatal(err)
		}
		_, err := Report(context.Background(), "2", path, nil, nil)
		var said *fault.Error
		if !errors.As(err, &said) || said.File != path || said.Hint == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, path := range []string{dir, filepath.Join(dir, "nothing.json")} {
		if _, err := Report(context.Background(), "2", path, nil, nil); err == nil {
			t.Errorf("%s: no error", path)
		}
	}
	_, path := report(t)
	if _, err := Report(context.Background(), "2", path, []string{filepath.Join(dir, "nowhere")}, nil); err == nil {
		t.Error("a folder that isn't there: no error")
	}
}

// published writes a whole report of the captures beside them.
func published(t *testing.T) (path string, r result.Compare) {
	t.Helper()
	dir, path := report(t)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &r); err != nil {
		t.Fatal(err)
	}
	files, err := gather.Compare(r)
	if err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "report")
	if err := publish.Write(t.Context(), out, false, files); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(out, "compare.json"), r
}

func states(v result.Verification) map[string]string {
	out := map[string]string{}
	for _, f := range v.Files {
		out[f.File] = f.State
	}
	return out
}

// Pages, tables and figures are held against the numbers beside them, to the byte.
func TestEditedFilesDoNotStand(t *testing.T) {
	path, _ := published(t)
	dir := filepath.Dir(path)
	look := func(version string) result.Verification {
		t.Helper()
		v, err := Report(t.Context(), version, path, []string{filepath.Dir(dir)}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	v := look("1")
	if v.Verdict != result.Stands || len(v.Files) < 6 {
		t.Fatalf("untouched: %s, %v", v.Verdict, v.Files)
	}
	for name, state := range states(v) {
		if state != result.Same {
			t.Errorf("untouched, %s: %s", name, state)
		}
	}

	for _, name := range []string{"report.html", "lines.csv", "spectrum-ch1.svg"} {
		file := filepath.Join(dir, name)
		was, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		// One digit of one number.
		at := strings.IndexAny(string(was[len(was)/2:]), "123456789") + len(was)/2
		edited := slices.Clone(was)
		edited[at] = '0'
		if err := os.WriteFile(file, edited, 0o644); err != nil {
			t.Fatal(err)
		}
		if v := look("1"); v.Verdict != result.Differs || states(v)[name] != result.Differs || len(v.Differences) != 0 {
			t.Errorf("%s edited: %s, %v", name, v.Verdict, v.Files)
		}
		// Another version's views may look otherwise: nothing is said of them.
		if v := look("2"); v.Verdict != result.Stands || states(v)[name] != result.OtherVersion {
			t.Errorf("%s edited, seen by another version: %s, %v", name, v.Verdict, v.Files)
		}
		if err := os.WriteFile(file, was, 0o644); err != nil {
			t.Fatal(err)
		}
	}

	if err := os.Remove(filepath.Join(dir, "lines.md")); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "old.svg"), []byte("<svg/>"), 0o644); err != nil {
		t.Fatal(err)
	}
	v = look("1")
	if v.Verdict != result.Stands || states(v)["lines.md"] != result.Missing || states(v)["old.svg"] != result.Foreign {
		t.Errorf("one file gone, one more: %s, %v", v.Verdict, v.Files)
	}
}

// A report that lies among a stranger's pages says nothing of them.
func TestStrangersFiles(t *testing.T) {
	dir, path := report(t)
	if err := os.WriteFile(filepath.Join(dir, "index.html"), []byte("<p>"), 0o644); err != nil {
		t.Fatal(err)
	}
	v, err := Report(t.Context(), "1", path, nil, nil)
	if err != nil || v.Verdict != result.Stands || len(v.Files) != 0 {
		t.Errorf("%v, %s, %v", err, v.Verdict, v.Files)
	}
}

// A trend is followed again with the other transform, its files made again.
func TestTrendStands(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "survey.wav")
	record(t, file, -80, 3)
	opt := mains.Options{UpTo: 500}
	stated, err := volts.Stated("2.0V", "0dB")
	if err != nil {
		t.Fatal(err)
	}
	followed, err := assemble.Follow(t.Context(), capture.Address{Path: file, End: math.Inf(1)}, opt, []int{1, 3})
	if err != nil {
		t.Fatal(err)
	}
	r := assemble.Trend("1", assemble.Settings(opt, stated), followed, []int{1, 3})
	files, err := gather.Trend(r, table.DBu)
	if err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "trend")
	if err := publish.Write(t.Context(), out, false, files); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(out, "trend.json")
	v, err := Report(t.Context(), "1", path, []string{dir}, nil)
	if err != nil || v.Verdict != result.Stands || v.Compared < 100 || len(v.Files) < 4 {
		t.Fatalf("%v, %s, %d values, %v, %v", err, v.Verdict, v.Compared, v.Files, v.Differences)
	}
	edited := r
	edited.Captures = slices.Clone(r.Captures)
	edited.Captures[0].Spans, edited.Captures[0].Loudest = nil, 0
	edited.Captures[0].Steps = edited.Captures[0].Steps[:1]
	save(t, out, "trend.json", edited)
	if v, err = Report(t.Context(), "1", path, []string{dir}, nil); err == nil && v.Verdict != result.Differs {
		t.Errorf("one that contradicts itself: %s", v.Verdict)
	}
	r.Captures[0].Steps[4].Hum.DBFS += 0.5
	save(t, out, "trend.json", r)
	if v, err = Report(t.Context(), "1", path, []string{dir}, nil); err != nil || v.Verdict != result.Differs || len(v.Differences) == 0 {
		t.Errorf("half a decibel added to a step: %v, %s", err, v.Verdict)
	}
}
