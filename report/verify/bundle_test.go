package verify

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
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
)

// bundled makes two captures of the same name in two folders, and a report of
// them.
func bundled(t *testing.T) (dir string) {
	t.Helper()
	root := t.TempDir()
	var at []capture.Address
	for i, name := range []string{"quiet", "near"} {
		made, err := bench.Comb{Rate: 8000, Seconds: 3, Track: bench.Steady(50), FloorDBFSHz: -125, Seed: int64(i),
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -95 + 15*float64(i)}}}.Make()
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(root, name, "take.wav")
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := wavfile.Write(path, wavfile.Format{Rate: 8000, Bits: 24}, made.Samples); err != nil {
			t.Fatal(err)
		}
		at = append(at, capture.Address{Path: path})
	}
	opt := mains.Options{UpTo: 300}
	pairs, err := assemble.ReadPair(t.Context(), at[0], at[1], opt)
	if err != nil {
		t.Fatal(err)
	}
	files, err := gather.Compare(assemble.Compare("1", assemble.Settings(opt), pairs))
	if err != nil {
		t.Fatal(err)
	}
	dir = filepath.Join(root, "report")
	if err := publish.Write(t.Context(), dir, false, files); err != nil {
		t.Fatal(err)
	}
	return dir
}

func pack(t *testing.T, dir string, o publish.Packing) (result.Manifest, []byte) {
	t.Helper()
	var b bytes.Buffer
	o.IsReport = Recomputable
	m, err := publish.Pack(t.Context(), &b, dir, o)
	if err != nil {
		t.Fatal(err)
	}
	return m, b.Bytes()
}

func keep(t *testing.T, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "b.zip")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func verifiedBundle(t *testing.T, file string, dirs []string) ([]result.Verification, error) {
	t.Helper()
	b, err := publish.OpenBundle(file)
	if err != nil {
		return nil, err
	}
	defer b.Close()
	return Bundle(t.Context(), "2", b, dirs, nil)
}

// verifiedBundleAs verifies with the version that made the report: what lies beside
// it is then compared too.
func verifiedBundleAs(t *testing.T, version, file string) ([]result.Verification, error) {
	t.Helper()
	b, err := publish.OpenBundle(file)
	if err != nil {
		return nil, err
	}
	defer b.Close()
	return Bundle(t.Context(), version, b, nil, nil)
}

func TestBundleIsVerified(t *testing.T) {
	dir := bundled(t)
	m, data := pack(t, dir, publish.Packing{Version: "1"})
	captures := 0
	for _, f := range m.Files {
		if f.Role == "capture" {
			captures++
		}
	}
	if captures != 2 || len(m.Reports) != 1 || m.Reports[0] != "report/compare.json" {
		t.Errorf("manifest: %+v", m)
	}
	if _, again := pack(t, dir, publish.Packing{Version: "1"}); !bytes.Equal(data, again) {
		t.Error("two bundles of one report differ")
	}
	// The captures that the report names are gone: those of the bundle serve.
	file := keep(t, data)
	for _, name := range []string{"quiet", "near"} {
		if err := os.RemoveAll(filepath.Join(filepath.Dir(dir), name)); err != nil {
			t.Fatal(err)
		}
	}
	all, err := verifiedBundle(t, file, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(all) != 1 || all[0].Verdict != result.Stands || all[0].Report.File != file+": report/compare.json" {
		t.Errorf("%+v", all)
	}
}

func TestHashesOnly(t *testing.T) {
	dir := bundled(t)
	m, data := pack(t, dir, publish.Packing{HashesOnly: true})
	if len(m.NotPacked) != 2 || bytes.Contains(data, []byte("captures/")) {
		t.Errorf("not packed: %+v", m.NotPacked)
	}
	for _, c := range []struct {
		dirs []string
		want string
	}{{nil, result.Stands /* under their old names */}, {[]string{filepath.Dir(dir)}, result.Stands}} {
		all, err := verifiedBundle(t, keep(t, data), c.dirs)
		if err != nil || all[0].Verdict != c.want {
			t.Errorf("%v: %v, %+v", c.dirs, err, all)
		}
	}
}

// What a forger packs anew, with a manifest that fits, doesn't stand: an edited page
// beside honest numbers, a page that no report has, JSON that is called a report.
func TestForgedBundles(t *testing.T) {
	forge := func(name, text string, isReport func([]byte) bool) ([]result.Verification, error) {
		t.Helper()
		dir := bundled(t)
		if err := os.Remove(filepath.Join(dir, publish.ListName)); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if _, err := publish.Pack(t.Context(), &b, dir, publish.Packing{Version: "1", IsReport: isReport}); err != nil {
			t.Fatal(err)
		}
		return verifiedBundleAs(t, "1", keep(t, b.Bytes()))
	}
	all, err := forge("report.html", "<p>no hum at all", Recomputable)
	if err != nil || len(all) != 1 || all[0].Verdict == result.Stands {
		t.Errorf("an edited page: %v, %+v", err, all)
	}
	for name, json := range map[string]string{"run-7.html": "", "other.json": `{"schema":"humdiff/files/1"}`} {
		_, err := forge(name, json, func(data []byte) bool { return bytes.HasPrefix(data, []byte(`{"schema":`)) })
		var said *fault.Error
		if !errors.As(err, &said) || said.Hint == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
}
