package publish

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sort"
	"strings"
	"sync/atomic"
	"testing"

	"humdiff/fft/fault"
	"humdiff/fixtures/kit"
)

func files(pairs ...string) []File {
	var out []File
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, File{Name: pairs[i], Data: []byte(pairs[i+1])})
	}
	return out
}

const report = `{"schema":"humdiff/compare/1","pairs":[]}`

// content lists a folder with what is in its files, hidden ones included, but for
// the list of a report's files.
func content(t *testing.T, dir string) string {
	t.Helper()
	var out []string
	err := filepath.WalkDir(dir, func(path string, e os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, _ := filepath.Rel(dir, path)
		if e.IsDir() {
			if name != "." {
				out = append(out, name+"/")
			}
			return nil
		}
		b, err := os.ReadFile(path)
		if e.Name() != ListName {
			out = append(out, name+"="+string(b))
		}
		return err
	})
	kit.OK(t, err)
	sort.Strings(out)
	return strings.Join(out, " ")
}

// lay puts files into a folder as somebody else may.
func lay(t *testing.T, dir string, pairs ...string) {
	t.Helper()
	for _, f := range files(pairs...) {
		kit.OK(t, os.WriteFile(filepath.Join(dir, f.Name), f.Data, 0o644))
	}
}

// write writes a report.
func write(t *testing.T, dir string, pairs ...string) {
	t.Helper()
	kit.OK(t, Write(t.Context(), dir, false, files(pairs...)))
}

func want(t *testing.T, dir, content_ string) {
	t.Helper()
	kit.Same(t, content(t, dir), content_, "the folder holds")
}

// refused wants an error that names a file and says what to do.
func refused(t *testing.T, err error, file, what string) {
	t.Helper()
	var said *fault.Error
	if !errors.As(err, &said) || said.File != file || said.Hint == "" || !strings.Contains(said.What, what) {
		t.Errorf("%#v, want one of %s: %s", err, file, what)
	}
}

func TestNewFolder(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "a", "b")
	write(t, dir, "x", "1", "y", "2")
	want(t, top, "a/ a/b/ a/b/x=1 a/b/y=2")
	info, err := os.Stat(dir)
	if err != nil || info.Mode().Perm() != 0o755 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
}

// The list says what was written, its size and its hash.
func TestList(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a")
	write(t, dir, "y", "x", "a.json", "")
	got := kit.Must(os.ReadFile(filepath.Join(dir, ListName)))(t)
	// The hashes as sha256sum of GNU coreutils prints them.
	want := `{
 "schema": "humdiff/files/1",
 "files": [
  {
   "name": "a.json",
   "bytes": 0,
   "sha256": "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
  },
  {
   "name": "y",
   "bytes": 1,
   "sha256": "` + hashOfX + `"
  }
 ]
}
`
	kit.Same(t, string(got), want, "the list")
}

func TestEmptyFolder(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "x", "1")
	want(t, dir, "x=1")
}

// A folder with somebody's files is refused, and left as it is.
func TestForeignFolder(t *testing.T) {
	for _, foreign := range []string{`{"schema":"other/1"}`, report, `[`, `"schema"`, ``} {
		dir := t.TempDir()
		lay(t, dir, "compare.json", foreign)
		err := Write(context.Background(), dir, false, files("x", "1"))
		refused(t, err, dir, "the folder")
		if !errors.Is(err, ErrForeign) || !errors.Is(Check(dir, false), ErrForeign) {
			t.Errorf("%v", err)
		}
		want(t, dir, "compare.json="+foreign)
	}
}

// With force a report is written beside others' files, and in place of none: the
// list of runs that somebody wrote by hand, beside JSON of humdiff that was
// redirected there, stays, whether the report has one of that name or not.
func TestForceReplacesNothing(t *testing.T) {
	dir := t.TempDir()
	lay(t, dir, "runs.csv", "by hand", "a.json", report)
	session := files("report.html", "p", "session.json", report, "runs.csv", "table")
	for _, force := range []bool{false, true} {
		if err := Write(t.Context(), dir, force, session); err == nil {
			t.Error("no error")
		}
		want(t, dir, "a.json="+report+" runs.csv=by hand")
	}
	refused(t, Write(t.Context(), dir, true, session), filepath.Join(dir, "runs.csv"), "is not known to be humdiff's")
	refused(t, Check(dir, true, "report.html", "runs.csv"), filepath.Join(dir, "runs.csv"), "is not known to be humdiff's")
	for range 2 { // a report without one goes beside it, and the next in that one's place
		kit.OK(t, Write(t.Context(), dir, true, files("report.html", "p", "compare.json", report)))
		want(t, dir, "a.json="+report+" compare.json="+report+" report.html=p runs.csv=by hand")
	}
}

// An earlier report gives way: its figures go, the user's notes stay.
func TestEarlierReport(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a")
	write(t, dir, "compare.json", report, "delta-ch2.svg", "stale")
	lay(t, dir, "notes.txt", "n", "spectrum.svg", "mine")
	write(t, dir, "compare.json", report, "delta.svg", "d")
	want(t, dir, "compare.json="+report+" delta.svg=d notes.txt=n spectrum.svg=mine")
}

// A file of the report that was edited is the user's from then on: it is neither
// replaced nor removed, nor are others when it is in the way.
func TestEditedFile(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a")
	write(t, dir, "compare.json", report, "delta.svg", "old", "cycle.svg", "old")
	lay(t, dir, "delta.svg", "OLD")
	err := Write(t.Context(), dir, true, files("compare.json", "{}", "delta.svg", "new"))
	refused(t, err, filepath.Join(dir, "delta.svg"), "was changed since humdiff wrote it")
	want(t, dir, "compare.json="+report+" cycle.svg=old delta.svg=OLD")
	write(t, dir, "compare.json", "{}")
	want(t, dir, "compare.json={} delta.svg=OLD")
	err = Write(t.Context(), dir, true, files("delta.svg", "new"))
	refused(t, err, filepath.Join(dir, "delta.svg"), "is not known to be humdiff's")
}

// Names that some file systems take for one are taken for one everywhere.
func TestOtherSpelling(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a")
	write(t, dir, "x", "1")
	lay(t, dir, "RUNS.CSV", "by hand", "u\u0308.csv", "mine")
	refused(t, Write(t.Context(), dir, true, files("runs.csv", "t")), filepath.Join(dir, "RUNS.CSV"), "is not known")
	refused(t, Write(t.Context(), dir, true, files("ü.csv", "t")), filepath.Join(dir, "u\u0308.csv"), "is not known")
}

// A list that was edited, or is another's, is no leave to replace anything.
func TestForgedList(t *testing.T) {
	good := `{
 "schema": "humdiff/files/1",
 "files": [
  {
   "name": "x",
   "bytes": 1,
   "sha256": "` + hashOfX + `"
  }
 ]
}
`
	for name, forged := range map[string]string{
		"good":     good,
		"other":    "{}",
		"empty":    "",
		"schema":   strings.Replace(good, "files/1", "files/2", 1),
		"twice":    strings.Replace(good, `"bytes": 1,`, `"bytes": 1, "bytes": 1,`, 1),
		"case":     strings.Replace(good, `"bytes"`, `"Bytes"`, 1),
		"more":     strings.Replace(good, `"bytes"`, `"by": 2, "bytes"`, 1),
		"outside":  strings.Replace(good, `"x"`, `"../x"`, 1),
		"trailing": good + "{}",
	} {
		top := t.TempDir()
		dir := filepath.Join(top, "a")
		kit.OK(t, os.Mkdir(dir, 0o755))
		lay(t, top, "x", "x")
		lay(t, dir, "x", "x", ListName, forged)
		err := Write(t.Context(), dir, true, files("x", "2"))
		if name == "good" {
			if err != nil {
				t.Error(err)
			}
			continue
		}
		refused(t, err, filepath.Join(dir, ListName), "is not the list")
		want(t, top, "a/ a/x=x x=x")
	}
}

// Files added stand on the list: with force they give way to new ones, as long as
// they are unchanged, and to the next report.
func TestAdd(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a")
	write(t, dir, "compare.json", report)
	lay(t, dir, "notes.txt", "n")
	add := func(force bool, pairs ...string) error { return Add(t.Context(), dir, force, files(pairs...)) }
	kit.OK(t, add(false, "delta.png", "1"))
	refused(t, add(false, "delta.png", "2"), filepath.Join(dir, "delta.png"), "is there already")
	refused(t, add(true, "notes.txt", "2"), filepath.Join(dir, "notes.txt"), "is not known")
	kit.OK(t, add(true, "delta.png", "2"))
	want(t, dir, "compare.json="+report+" delta.png=2 notes.txt=n")
	write(t, dir, "compare.json", report)
	want(t, dir, "compare.json="+report+" notes.txt=n")
}

// What is handed to the user is on no list: no report ever replaces it.
func TestHand(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a")
	kit.OK(t, Hand(t.Context(), dir, files("session.toml", "s", "runs.csv", "r")))
	refused(t, Hand(t.Context(), dir, files("runs.csv", "2")), filepath.Join(dir, "runs.csv"), "is not known")
	refused(t, Write(t.Context(), dir, true, files("runs.csv", "t")), filepath.Join(dir, "runs.csv"), "is not known")
	kit.OK(t, Write(t.Context(), dir, true, files("report.html", "p")))
	refused(t, Hand(t.Context(), dir, files("report.html", "2")), filepath.Join(dir, "report.html"), "is there already")
	want(t, dir, "report.html=p runs.csv=r session.toml=s")
}

// A name too long for the file system fails while files are being written.
func TestWriteFailure(t *testing.T) {
	long := strings.Repeat("n", 300)
	top := t.TempDir()
	err := Write(context.Background(), filepath.Join(top, "new"), false, files("x", "1", long, "2"))
	if err == nil || !strings.Contains(err.Error(), "cannot write") {
		t.Errorf("error %v", err)
	}
	want(t, top, "")
	write(t, filepath.Join(top, "a"), "compare.json", report)
	if err := Write(context.Background(), filepath.Join(top, "a"), false, files("x", "1", long, "2")); err == nil {
		t.Error("no error")
	}
	want(t, top, "a/ a/compare.json="+report)
}

func TestStopped(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	top := t.TempDir()
	if err := Write(ctx, filepath.Join(top, "new"), false, files("x", "1")); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
	want(t, top, "")
	write(t, filepath.Join(top, "a"), "compare.json", report)
	if err := Write(ctx, filepath.Join(top, "a"), false, files("compare.json", "{}")); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
	want(t, top, "a/ a/compare.json="+report)
}

func TestRefused(t *testing.T) {
	top := t.TempDir()
	lay(t, top, "file", "f")
	kit.OK(t, os.Mkdir(filepath.Join(top, "x"), 0o755))
	for _, c := range []struct {
		dir   string
		files []File
	}{
		{filepath.Join(top, "file"), files("x", "1")},
		{filepath.Join(top, "file", "below"), files("x", "1")},
		{top, files("x", "1")}, // x in it is a folder
		{top, files("../x", "1")},
		{top, files("", "1")},
		{top, files("a", "1", "A", "2")},
		{top, files("Files.json", "1")}, // the list's own name
	} {
		err := Write(context.Background(), c.dir, true, c.files)
		var fault *fault.Error
		if !errors.As(err, &fault) {
			t.Errorf("%s %v: error %v", c.dir, c.files, err)
		}
		want(t, top, "file=f x/")
	}
}

// A link in place of a file that was written is neither replaced nor followed; one in
// place of the folder is followed, and stays.
func TestLinks(t *testing.T) {
	top, outside := t.TempDir(), t.TempDir()
	lay(t, outside, "precious", "old")
	dir := filepath.Join(top, "a")
	write(t, dir, "compare.json", report, "delta.svg", "old")
	if err := errors.Join(os.Remove(filepath.Join(dir, "delta.svg")), os.Symlink(filepath.Join(outside, "precious"), filepath.Join(dir, "delta.svg")),
		os.Symlink("a", filepath.Join(top, "link"))); err != nil {
		t.Skip(err)
	}
	refused(t, Write(t.Context(), dir, true, files("compare.json", report, "delta.svg", "d")), filepath.Join(dir, "delta.svg"), "was changed")
	want(t, outside, "precious=old")
	kit.OK(t, os.Remove(filepath.Join(dir, "delta.svg")))
	write(t, filepath.Join(top, "link"), "compare.json", "{}")
	want(t, dir, "compare.json={}")
	if to, err := os.Readlink(filepath.Join(top, "link")); to != "a" {
		t.Errorf("%q, %v", to, err)
	}
}

// What can't be written to is said before the work; a probe leaves nothing.
func TestCheckTriesToWrite(t *testing.T) {
	dir := t.TempDir()
	if err := Check(filepath.Join(dir, "a", "b"), false); err != nil {
		t.Error(err)
	}
	if left, _ := os.ReadDir(dir); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
	file := filepath.Join(dir, "file")
	kit.OK(t, os.WriteFile(file, nil, 0o644))
	if err := Check(filepath.Join(file, "report"), false); err == nil || !strings.Contains(err.Error(), "file") {
		t.Errorf("below a file: %v", err)
	}
	if os.Getuid() == 0 {
		t.Skip("root may write anywhere")
	}
	kit.OK(t, os.Chmod(dir, 0o555))
	if err := Check(filepath.Join(dir, "c"), false); err == nil || !strings.Contains(err.Error(), "cannot be written to") {
		t.Errorf("without rights: %v", err)
	}
}

// What never ends isn't opened, nor read further than is wanted; callers can tell why.
func TestReadFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "session.toml")
	kit.OK(t, os.WriteFile(path, []byte("0123456789"), 0o666))
	if text, err := ReadFile(path, 10, ""); err != nil || len(text) != 10 {
		t.Errorf("%q, %v", text, err)
	}
	_, large := ReadFile(path, 9, "")
	_, folder := ReadFile(filepath.Dir(path), 10, "")
	_, device := ReadFile(os.DevNull, 10, "name a file")
	_, absent := ReadFile(path+"x", 10, "")
	if !errors.Is(large, ErrLarge) || !errors.Is(folder, ErrFolder) || fault.Hint(device) != "name a file" || !errors.Is(absent, fs.ErrNotExist) {
		t.Errorf("%v; %v; %v; %v", large, folder, device, absent)
	}
}

// Files made ahead are those that would have been made late, and never more at a
// time than there are processors.
func TestAhead(t *testing.T) {
	var open, most atomic.Int64
	var files, want []File
	for i := range 40 {
		name, data := fmt.Sprintf("%d.txt", i), fmt.Appendf(nil, "file %d", i)
		want = append(want, File{Name: name, Data: data})
		f := File{Name: name, Data: data}
		if i%3 > 0 {
			f = File{Name: name, Make: func() ([]byte, error) {
				if n := open.Add(1); n > most.Load() {
					most.Store(n)
				}
				runtime.Gosched()
				open.Add(-1)
				return data, nil
			}}
		}
		files = append(files, f)
	}
	told := 0
	dir := filepath.Join(t.TempDir(), "out")
	made := Ahead(t.Context(), files, func(done, total int, name string) {
		if told++; done != told || total != 26 {
			t.Errorf("%d of %d, want %d of 26", done, total, told)
		}
	})
	kit.OK(t, Write(t.Context(), dir, false, made))
	for _, f := range want {
		got, err := os.ReadFile(filepath.Join(dir, f.Name))
		if err != nil || string(got) != string(f.Data) {
			t.Errorf("%s holds %q, %v", f.Name, got, err)
		}
	}
	if told != 26 || int(most.Load()) > runtime.GOMAXPROCS(0) {
		t.Errorf("%d told, %d at a time", told, most.Load())
	}
}

// What can't be made, and an end before all is written, are errors; nothing waits.
func TestAheadFails(t *testing.T) {
	bad := errors.New("no ink")
	var files []File
	for i := range 20 {
		files = append(files, File{Name: fmt.Sprint(i), Make: func() ([]byte, error) {
			if i == 5 {
				return nil, bad
			}
			return []byte("x"), nil
		}})
	}
	dir := filepath.Join(t.TempDir(), "out")
	if err := Write(t.Context(), dir, false, Ahead(t.Context(), files, nil)); !errors.Is(err, bad) {
		t.Errorf("%v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	made := Ahead(ctx, files, nil)
	cancel()
	for _, f := range made {
		f.Contents() // returns
	}
	if _, err := os.Stat(dir); !errors.Is(err, os.ErrNotExist) {
		t.Error("something was left")
	}
}
