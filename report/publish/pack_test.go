package publish

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/result"
)

// reported is the folder of a report that names two captures, of the same name in
// two folders beside it.
func reported(t *testing.T) (dir string) {
	t.Helper()
	root := t.TempDir()
	var sides []string
	for _, name := range []string{"quiet", "near"} {
		path := filepath.Join(root, name, "take.wav")
		if err := os.Mkdir(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		lay(t, filepath.Dir(path), "take.wav", "samples of "+name)
		hash, err := capture.Hash(t.Context(), path)
		if err != nil {
			t.Fatal(err)
		}
		sides = append(sides, fmt.Sprintf(`%q:{"file":%q,"sha256":%q}`, name, path, hash))
	}
	dir = filepath.Join(root, "report")
	made := files("compare.json", `{"schema":"humdiff/compare/1",`+strings.Join(sides, ",")+"}", "report.html", "<p>it hums</p>")
	if err := Write(t.Context(), dir, false, made); err != nil {
		t.Fatal(err)
	}
	return dir
}

func isReport(data []byte) bool { return bytes.HasPrefix(data, []byte(`{"schema":"humdiff/compare`)) }

func keep(t *testing.T, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "b.zip")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestPackRefuses(t *testing.T) {
	refused := func(t *testing.T, dir, file, what string) {
		t.Helper()
		_, err := Pack(t.Context(), io.Discard, dir, Packing{IsReport: isReport})
		var said *fault.Error
		if !errors.As(err, &said) || said.Hint == "" || !strings.HasSuffix(said.File, file) || !strings.Contains(said.What, what) {
			t.Errorf("%v", err)
		}
	}
	t.Run("no report", func(t *testing.T) { refused(t, t.TempDir(), "", "holds no report") })
	t.Run("a file", func(t *testing.T) {
		dir := reported(t)
		refused(t, filepath.Join(dir, "compare.json"), "compare.json", "is a file")
	})
	t.Run("nothing", func(t *testing.T) { refused(t, filepath.Join(t.TempDir(), "none"), "none", "cannot be read") })
	t.Run("capture gone", func(t *testing.T) {
		dir := reported(t)
		os.Remove(filepath.Join(filepath.Dir(dir), "near", "take.wav"))
		refused(t, dir, "take.wav", "was not found")
	})
	t.Run("capture changed", func(t *testing.T) {
		dir := reported(t)
		near := filepath.Join(filepath.Dir(dir), "near", "take.wav")
		data, err := os.ReadFile(near)
		if err != nil {
			t.Fatal(err)
		}
		data[len(data)-1] ^= 1
		if err := os.WriteFile(near, data, 0o644); err != nil {
			t.Fatal(err)
		}
		refused(t, dir, "take.wav", "has changed")
	})
}

// archive writes a zip of these files and a manifest of what is claimed of them.
func archive(t *testing.T, files map[string]string, m result.Manifest) string {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	claimed, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	if m.Schema != "" {
		files[ManifestName] = string(claimed)
	}
	for name, content := range files {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(w, content); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return keep(t, b.Bytes())
}

// sha256("x"), as sha256sum of GNU coreutils prints it.
const hashOfX = "2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881"

func TestUnpackTrustsNothing(t *testing.T) {
	list := func(path string, n int64) result.Manifest {
		return result.Manifest{Schema: result.BundleSchema, Files: []result.Packed{{Path: path, Bytes: n, SHA256: hashOfX}}}
	}
	for name, c := range map[string]struct {
		files map[string]string
		m     result.Manifest
		want  string // "": it is unpacked
	}{
		"sound":           {map[string]string{"a/x": "x"}, list("a/x", 1), ""},
		"above":           {map[string]string{"../x": "x"}, list("../x", 1), "no name in an archive"},
		"absolute":        {map[string]string{"/x": "x"}, list("/x", 1), "no name in an archive"},
		"roundabout":      {map[string]string{"a/../x": "x"}, list("a/../x", 1), "no name in an archive"},
		"edited":          {map[string]string{"x": "y"}, list("x", 1), "is not what its manifest lists"},
		"longer":          {map[string]string{"x": strings.Repeat("x", 1<<20)}, list("x", 1), "is not what its manifest lists"},
		"shorter":         {map[string]string{"x": ""}, list("x", 1), "is not what its manifest lists"},
		"absent":          {map[string]string{}, list("x", 1), "but not in it"},
		"no manifest":     {map[string]string{"x": "x"}, result.Manifest{}, "no bundle of humdiff"},
		"foreign":         {map[string]string{ManifestName: "[]"}, result.Manifest{}, "is not what humdiff writes"},
		"another version": {map[string]string{}, result.Manifest{Schema: "humdiff/bundle/9"}, "which this version can't read"},
	} {
		t.Run(name, func(t *testing.T) {
			root := t.TempDir()
			dir := filepath.Join(root, "in")
			_, err := Unpack(t.Context(), archive(t, c.files, c.m), dir)
			if c.want == "" {
				if got, _ := os.ReadFile(filepath.Join(dir, "a", "x")); err != nil || string(got) != "x" {
					t.Errorf("%v, %q", err, got)
				}
				return
			}
			var said *fault.Error
			if !errors.As(err, &said) || said.Hint == "" || !strings.Contains(said.What, c.want) {
				t.Errorf("%v, want %q", err, c.want)
			}
			if _, err := os.Stat(filepath.Join(root, "x")); err == nil {
				t.Error("a file was written outside")
			}
		})
	}
	t.Run("no archive", func(t *testing.T) {
		if _, err := Unpack(t.Context(), keep(t, []byte("PK\x03\x04")), t.TempDir()); err == nil {
			t.Error("no error")
		}
	})
	t.Run("interrupted", func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		if _, err := Unpack(ctx, archive(t, map[string]string{"x": "x"}, list("x", 1)), t.TempDir()); !errors.Is(err, context.Canceled) {
			t.Errorf("%v", err)
		}
	})
}
