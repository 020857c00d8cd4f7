package publish

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/trials"
	"humdiff/report/model"
)

// reported is the folder of a report that names two captures, of the same name in
// two folders beside it.
func reported(t *testing.T) (dir string) {
	t.Helper()
	root := t.TempDir()
	var sides []string
	for _, name := range []string{"quiet", "near"} {
		path := filepath.Join(root, name, "take.wav")
		kit.OK(t, os.Mkdir(filepath.Dir(path), 0o755))
		lay(t, filepath.Dir(path), "take.wav", "samples of "+name)
		hash := kit.Must(capture.Hash(t.Context(), path))(t)
		sides = append(sides, fmt.Sprintf(`%q:{"file":%q,"sha256":%q}`, name, path, hash))
	}
	dir = filepath.Join(root, "report")
	made := files("compare.json", `{"schema":"humdiff/compare/1",`+strings.Join(sides, ",")+"}", "report.html", "<p>it hums</p>")
	kit.OK(t, Write(t.Context(), dir, false, made))
	return dir
}

func isReport(data []byte) bool { return bytes.HasPrefix(data, []byte(`{"schema":"humdiff/compare`)) }

func keep(t *testing.T, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "b.zip")
	kit.OK(t, os.WriteFile(path, data, 0o644))
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
		data := kit.Must(os.ReadFile(near))(t)
		data[len(data)-1] ^= 1
		kit.OK(t, os.WriteFile(near, data, 0o644))
		refused(t, dir, "take.wav", "has changed")
	})
}

// What isn't the report's stays out, and what was changed since isn't packed.
func TestPackLeavesOut(t *testing.T) {
	dir := reported(t)
	lay(t, dir, "notes.txt", "n", "lines.csv", "mine", "drawing.png", "d", "other.json", "{}")
	var b bytes.Buffer
	m, err := Pack(t.Context(), &b, dir, Packing{IsReport: isReport, HashesOnly: true})
	kit.OK(t, err)
	var got []string
	for _, f := range m.Files {
		got = append(got, f.Path)
	}
	if want := "report/compare.json report/report.html"; strings.Join(got, " ") != want {
		t.Errorf("packed %v, want %s", got, want)
	}
	lay(t, dir, "report.html", "edited")
	_, err = Pack(t.Context(), io.Discard, dir, Packing{IsReport: isReport, HashesOnly: true})
	refused(t, err, filepath.Join(dir, "report.html"), "was changed since humdiff wrote it")
}

// edits are what is done to a bundle: its manifest's text and its files, in order.
type edits struct {
	manifest func(string) string
	files    func([][2]string) [][2]string
}

// edited packs a bundle anew with an edit.
func edited(t *testing.T, sound []byte, e edits) string {
	t.Helper()
	z := kit.Must(zip.NewReader(bytes.NewReader(sound), int64(len(sound))))(t)
	var files [][2]string
	for _, f := range z.File {
		data := kit.Must(textOf(f, 1<<20))(t)
		text := string(data)
		if f.Name == manifestName && e.manifest != nil {
			if text = e.manifest(text); text == string(data) {
				t.Fatal("nothing was edited")
			}
		}
		files = append(files, [2]string{f.Name, text})
	}
	if e.files != nil {
		files = e.files(files)
	}
	var b bytes.Buffer
	out := packer{zip: zip.NewWriter(&b), taken: map[string]bool{}}
	for _, f := range files {
		w, err := out.create(f[0], map[bool]uint16{true: zip.Store, false: zip.Deflate}[strings.HasPrefix(f[0], captureDir)])
		if err == nil {
			_, err = io.WriteString(w, f[1])
		}
		kit.OK(t, err)
	}
	kit.OK(t, out.zip.Close())
	return keep(t, b.Bytes())
}

// swapped replaces one text of the manifest by another.
func swapped(old, now string) edits {
	return edits{manifest: func(s string) string { return strings.Replace(s, old, now, 1) }}
}

// with adds a file behind the others, or takes one with nothing in it away.
func with(name, text string) edits {
	return edits{files: func(all [][2]string) [][2]string {
		if text == "" {
			return slices.DeleteFunc(all, func(f [2]string) bool { return f[0] == name })
		}
		return slices.Insert(all, len(all)-2, [2]string{name, text})
	}}
}

// inPacked replaces a text of a file.
func inPacked(name, old, now string) edits {
	return edits{files: func(all [][2]string) [][2]string {
		for i := range all {
			if all[i][0] == name {
				all[i][1] = strings.Replace(all[i][1], old, now, 1)
			}
		}
		return all
	}}
}

// sha256("x"), as sha256sum of GNU coreutils prints it.
const hashOfX = "2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881"

// A bundle is unpacked if it is as it was packed, and no edit stands: of names, sizes,
// hashes, keys, of files more, less, twice or in other letters.
func TestUnpackTrustsNothing(t *testing.T) {
	var sound bytes.Buffer
	if _, err := Pack(t.Context(), &sound, reported(t), Packing{IsReport: isReport}); err != nil {
		t.Fatal(err)
	}
	listX := func(path, role string) edits {
		return swapped(`"files": [`, `"files": [
  {
   "path": "`+path+`",
   "bytes": 1,
   "sha256": "`+hashOfX+`",
   "role": "`+role+`"
  },`)
	}
	for name, c := range map[string]struct {
		edits
		want string // "": it is unpacked
	}{
		"sound":           {edits{}, ""},
		"a folder's name": {edits{files: func(all [][2]string) [][2]string { return append([][2]string{{"report/", ""}}, all...) }}, "more or less than"},
		"above":           {listX("../x", "report"), "which it can't be"},
		"absolute":        {listX("/x", "report"), "which it can't be"},
		"roundabout":      {listX("report/../x", "report"), "which it can't be"},
		"back slash":      {listX(`report\\x`, "report"), "which it can't be"},
		"a drive":         {listX("c:x", "report"), "which it can't be"},
		"other folder":    {listX("x", "report"), "which it can't be"},
		"other role":      {listX("report/x", "key"), "which it can't be"},
		"wrong role":      {listX("report/x", "capture"), "which it can't be"},
		"absent":          {listX("report/x", "report"), "more or less than"},
		"listed twice": {edits{manifest: func(s string) string {
			i, j := strings.Index(s, "  {"), strings.Index(s, "  },")
			return s[:i] + s[i:j] + "  },\n" + s[i:]
		}}, "twice"},
		"key more":         {swapped(`"schema"`, `"a": 1, "schema"`), "not as humdiff writes it"},
		"key less":         {swapped(`"role": "report"`, `"role2": "report"`), "not as humdiff writes it"},
		"key twice":        {swapped(`"bytes"`, `"bytes": 3, "bytes"`), "not as humdiff writes it"},
		"key in capitals":  {swapped(`"path"`, `"Path"`), "not as humdiff writes it"},
		"twice, capitals":  {swapped(`"reports"`, `"Reports": [], "reports"`), "not as humdiff writes it"},
		"more behind":      {edits{manifest: func(s string) string { return s + "{}" }}, "not as humdiff writes it"},
		"foreign":          {edits{manifest: func(string) string { return "[]" }}, "not as humdiff writes it"},
		"no schema":        {swapped(model.BundleSchema, "bundle"), "not as humdiff writes it"},
		"another version":  {swapped(model.BundleSchema, "humdiff/bundle/9"), "which this version can't read"},
		"no manifest":      {with(manifestName, ""), "no bundle of humdiff"},
		"its name":         {edits{files: func(all [][2]string) [][2]string { all[len(all)-1][0] = "Manifest.json"; return all }}, "no bundle of humdiff"},
		"no text":          {with(readmeName, ""), "more or less than"},
		"text edited":      {inPacked(readmeName, "humdiff verify", "trust me"), "was edited"},
		"version":          {swapped(`"version": ""`, `"version": "9"`), "was edited"},
		"file edited":      {inPacked("report/report.html", "it hums", "it hums not"), "is not what its manifest lists"},
		"same length":      {inPacked("report/report.html", "it hums", "no hum!"), "is not what its manifest lists"},
		"hash":             {swapped(`"sha256": "`, `"sha256": "0`), "was edited"},
		"size":             {swapped(`"bytes": `, `"bytes": 1`), "is not what its manifest lists"},
		"negative":         {swapped(`"bytes": `, `"bytes": -`), "is not what its manifest lists"},
		"unlisted":         {with("report/summary.html", "<p>no hum"), "more or less than"},
		"unlisted beside":  {with("READ ME FIRST.html", "<p>no hum"), "more or less than"},
		"in capitals":      {listX("report/REPORT.html", "report"), "twice"},
		"twice":            {with("report/report.html", "<p>no hum"), "more or less than"},
		"another order":    {edits{files: func(all [][2]string) [][2]string { all[0], all[1] = all[1], all[0]; return all }}, "is not what its manifest lists"},
		"report outside":   {swapped(`"report/compare.json"`, `"../compare.json"`), "which is no report in it"},
		"report unlisted":  {swapped(`"report/compare.json"`, `"report/other.json"`), "which is no report in it"},
		"report a page":    {swapped(`"report/compare.json"`, `"report/report.html"`), "which is no report in it"},
		"report a capture": {swapped(`"report/compare.json"`, `"captures/take.wav"`), "which is no report in it"},
		"report twice":     {swapped(`"report/compare.json"`, "\"report/compare.json\",\n  \"report/compare.json\""), "which is no report in it"},
	} {
		t.Run(name, func(t *testing.T) {
			root := t.TempDir()
			_, err := unpack(t.Context(), edited(t, sound.Bytes(), c.edits), filepath.Join(root, "in"))
			if c.want == "" {
				if got, _ := os.ReadFile(filepath.Join(root, "in", "report", "report.html")); err != nil || string(got) != "<p>it hums</p>" {
					t.Errorf("%v, %q", err, got)
				}
				return
			}
			var said *fault.Error
			if !errors.As(err, &said) || said.Hint == "" || !strings.Contains(said.What, c.want) {
				t.Errorf("%v, want %q", err, c.want)
			}
			if exists(filepath.Join(root, "x")) {
				t.Error("a file was written outside")
			}
		})
	}
	t.Run("no archive", func(t *testing.T) {
		if _, err := unpack(t.Context(), keep(t, []byte("PK\x03\x04")), t.TempDir()); err == nil {
			t.Error("no error")
		}
	})
	t.Run("interrupted", func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		if _, err := unpack(ctx, keep(t, sound.Bytes()), filepath.Join(t.TempDir(), "in")); !errors.Is(err, context.Canceled) {
			t.Errorf("%v", err)
		}
	})
}

// No byte of a bundle can be changed, none be put before it, behind it or between. Every
// third is tried, and by CI each.
func TestNoByteChanges(t *testing.T) {
	kit.Unraced(t)
	var sound bytes.Buffer
	if _, err := Pack(t.Context(), &sound, reported(t), Packing{IsReport: isReport}); err != nil {
		t.Fatal(err)
	}
	refuses := func(what string, at int, forged []byte) {
		t.Helper()
		if _, err := unpack(t.Context(), keep(t, forged), filepath.Join(t.TempDir(), "in")); err == nil {
			t.Errorf("byte %d of %d %s: it is unpacked", at, sound.Len(), what)
		}
	}
	padded := padding(t, sound.Bytes())
	for at := range sound.Bytes() {
		if at%3 > 0 && !trials.Shared() {
			continue
		}
		forged := bytes.Clone(sound.Bytes())
		forged[at] ^= 1 << (at % 8)
		if !padded[at] {
			refuses("changed", at, forged)
		}
		if at%7 == 0 {
			refuses("put in", at, slices.Insert(bytes.Clone(sound.Bytes()), at, 'P'))
		}
	}
	refuses("put behind", sound.Len(), append(bytes.Clone(sound.Bytes()), 0))
}

// padding is where bits mean nothing: behind the head of the empty block that ends
// what is compressed (RFC 1951, 3.2.4).
func padding(t *testing.T, bundle []byte) map[int]bool {
	t.Helper()
	z := kit.Must(zip.NewReader(bytes.NewReader(bundle), int64(len(bundle))))(t)
	at := map[int]bool{}
	for _, f := range z.File {
		body := kit.Must(f.DataOffset())(t)
		end := int(body) + int(f.CompressedSize64)
		if f.Method == zip.Deflate && bytes.Equal(bundle[end-4:end], []byte{0, 0, 0xff, 0xff}) {
			at[end-5] = true
		}
	}
	return at
}

// unpack opens a bundle and unpacks it into dir.
func unpack(ctx context.Context, file, dir string) (model.Manifest, error) {
	b, err := OpenBundle(file)
	if err != nil {
		return model.Manifest{}, err
	}
	defer b.Close()
	return b.Manifest, b.Unpack(ctx, dir)
}

// What would fill a disk is refused before a byte of it is written.
func TestUnpackIsBounded(t *testing.T) {
	kit.Unraced(t)
	dir := reported(t)
	near := filepath.Join(filepath.Dir(dir), "near", "take.wav")
	if err := os.Truncate(near, 300<<20); err != nil { // zeros shrink to nothing where they are packed again
		t.Fatal(err)
	}
	hash := kit.Must(capture.Hash(t.Context(), near))(t)
	bundle := filepath.Join(t.TempDir(), "b.zip")
	f, err := os.Create(bundle)
	kit.OK(t, err)
	defer f.Close()
	p := packer{ctx: t.Context(), zip: zip.NewWriter(f), taken: map[string]bool{}, manifest: model.Manifest{Schema: model.BundleSchema,
		Reports: []string{}, NotPacked: []model.Unpacked{}}}
	kit.OK(t, p.pack(near, "captures/take.wav", "capture", zip.Deflate, hash))
	kit.OK(t, p.finish())
	_, err = OpenBundle(bundle)
	refused(t, err, bundle, "would unpack to 315 MB, which no bundle of captures does")
}

// Whatever read of a bundle or a report fails, and whatever write, there is an error.
func TestBundleFaults(t *testing.T) {
	dir := reported(t)
	var sound bytes.Buffer
	if _, err := Pack(t.Context(), &sound, dir, Packing{IsReport: isReport}); err != nil {
		t.Fatal(err)
	}
	file := keep(t, sound.Bytes())
	for _, c := range []struct {
		kind string
		err  error
		do   func(to string) error
	}{
		{"read", syscall.EIO, func(string) error {
			_, err := Pack(t.Context(), io.Discard, dir, Packing{IsReport: isReport})
			return err
		}},
		{"open", syscall.EIO, func(string) error {
			_, err := Pack(t.Context(), io.Discard, dir, Packing{IsReport: isReport})
			return err
		}},
		{"list", syscall.EIO, func(string) error {
			_, err := Pack(t.Context(), io.Discard, dir, Packing{IsReport: isReport})
			return err
		}},
		{"read", syscall.EIO, func(to string) error { _, err := unpack(t.Context(), file, to); return err }},
		{"write", syscall.ENOSPC, func(to string) error { _, err := unpack(t.Context(), file, to); return err }},
		{"create", syscall.ENOSPC, func(to string) error { _, err := unpack(t.Context(), file, to); return err }},
	} {
		for n, last := 1, false; !last; n++ {
			count := failAt(t, n, c.kind, c.err)
			err := c.do(filepath.Join(t.TempDir(), "in"))
			last = *count < n
			alive()
			kit.Same(t, last, err == nil, "%s %d of %d failed: %v", c.kind, n, *count, err)
		}
	}
}
