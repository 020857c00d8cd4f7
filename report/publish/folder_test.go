package publish

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"humdiff/fft/fault"
)

func files(pairs ...string) []File {
	var out []File
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, File{Name: pairs[i], Data: []byte(pairs[i+1])})
	}
	return out
}

const report = `{"schema":"humdiff/compare/1","pairs":[]}`

// content lists a folder with what is in its files, hidden ones included.
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
		out = append(out, name+"="+string(b))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	sort.Strings(out)
	return strings.Join(out, " ")
}

func put(t *testing.T, dir string, pairs ...string) {
	t.Helper()
	for _, f := range files(pairs...) {
		if err := os.WriteFile(filepath.Join(dir, f.Name), f.Data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func want(t *testing.T, dir, content_ string) {
	t.Helper()
	if got := content(t, dir); got != content_ {
		t.Errorf("the folder holds %q, want %q", got, content_)
	}
}

func TestNewFolder(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "a", "b")
	if err := Write(context.Background(), dir, false, files("x", "1", "y", "2")); err != nil {
		t.Fatal(err)
	}
	want(t, top, "a/ a/b/ a/b/x=1 a/b/y=2")
	info, err := os.Stat(dir)
	if err != nil || info.Mode().Perm() != 0o755 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
}

func TestEmptyFolder(t *testing.T) {
	dir := t.TempDir()
	if err := Write(context.Background(), dir, false, files("x", "1")); err != nil {
		t.Fatal(err)
	}
	want(t, dir, "x=1")
}

// A folder with somebody's files is refused, and left as it is.
func TestForeignFolder(t *testing.T) {
	for _, foreign := range []string{`{"schema":"other/1"}`, `{"pairs":[],"schema":"humdiff/compare/1"}`, `[`, `"schema"`, ``} {
		dir := t.TempDir()
		put(t, dir, "compare.json", foreign)
		err := Write(context.Background(), dir, false, files("x", "1"))
		var wrong *fault.Error
		if !errors.As(err, &wrong) || wrong.File != dir || wrong.Hint == "" {
			t.Errorf("error %#v", err)
		}
		want(t, dir, "compare.json="+foreign)
	}
}

// With force files of the same names are replaced, and nothing else.
func TestForce(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "x", "old", "delta.svg", "theirs", "notes.txt", "n")
	if err := Write(context.Background(), dir, true, files("x", "new")); err != nil {
		t.Fatal(err)
	}
	want(t, dir, "delta.svg=theirs notes.txt=n x=new")
}

// An earlier report gives way: its figures go, the user's notes stay.
func TestEarlierReport(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "compare.json", report, "delta-ch2.svg", "stale", "notes.txt", "n", "spectrum-of-mine.svg", "m")
	if err := Write(context.Background(), dir, false, files("compare.json", report, "delta.svg", "d")); err != nil {
		t.Fatal(err)
	}
	want(t, dir, "compare.json="+report+" delta.svg=d notes.txt=n spectrum-of-mine.svg=m")
}

// Whatever rename fails, the folder is as it was, with nothing hidden in it.
func TestFailureKeepsWhatWasThere(t *testing.T) {
	defer func() { rename = os.Rename }()
	for fail := 1; fail <= 5; fail++ {
		dir := t.TempDir()
		put(t, dir, "compare.json", report, "delta.svg", "old", "cycle.svg", "old", "notes.txt", "n")
		before := content(t, dir)
		n, failed := 0, false
		rename = func(from, to string) error {
			if n++; n == fail {
				failed = true
				return errors.New("no")
			}
			return os.Rename(from, to)
		}
		err := Write(context.Background(), dir, false, files("compare.json", "{}", "delta.svg", "new"))
		if err == nil || !failed {
			t.Errorf("rename %d failed: %v, error %v", fail, failed, err)
		}
		want(t, dir, before)
	}
}

// A new folder that can't be put in place leaves no trace, its parents neither.
func TestFailureLeavesNothing(t *testing.T) {
	defer func() { rename = os.Rename }()
	rename = func(string, string) error { return errors.New("no") }
	top := t.TempDir()
	if err := Write(context.Background(), filepath.Join(top, "a", "b"), false, files("x", "1")); err == nil {
		t.Error("no error")
	}
	want(t, top, "")
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
	put(t, top, "compare.json", report)
	if err := Write(context.Background(), top, false, files("x", "1", long, "2")); err == nil {
		t.Error("no error")
	}
	want(t, top, "compare.json="+report)
}

func TestStopped(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	top := t.TempDir()
	if err := Write(ctx, filepath.Join(top, "new"), false, files("x", "1")); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
	want(t, top, "")
	put(t, top, "compare.json", report)
	if err := Write(ctx, top, false, files("compare.json", "{}")); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
	want(t, top, "compare.json="+report)
}

func TestRefused(t *testing.T) {
	top := t.TempDir()
	put(t, top, "file", "f")
	if err := os.Mkdir(filepath.Join(top, "x"), 0o755); err != nil {
		t.Fatal(err)
	}
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
	} {
		err := Write(context.Background(), c.dir, true, c.files)
		var wrong *fault.Error
		if !errors.As(err, &wrong) {
			t.Errorf("%s %v: error %v", c.dir, c.files, err)
		}
		want(t, top, "file=f x/")
	}
}

// A link into another folder is replaced, and never followed.
func TestLinksAreNotFollowed(t *testing.T) {
	top, outside := t.TempDir(), t.TempDir()
	put(t, outside, "precious", "p")
	put(t, top, "compare.json", report)
	if err := os.Symlink(filepath.Join(outside, "precious"), filepath.Join(top, "delta.svg")); err != nil {
		t.Skip(err)
	}
	if err := Write(context.Background(), top, false, files("compare.json", report, "delta.svg", "d")); err != nil {
		t.Fatal(err)
	}
	want(t, outside, "precious=p")
	want(t, top, "compare.json="+report+" delta.svg=d")
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
	if err := os.WriteFile(file, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := Check(filepath.Join(file, "report"), false); err == nil || !strings.Contains(err.Error(), "file") {
		t.Errorf("below a file: %v", err)
	}
	if os.Getuid() == 0 {
		t.Skip("root may write anywhere")
	}
	if err := os.Chmod(dir, 0o555); err != nil {
		t.Fatal(err)
	}
	if err := Check(filepath.Join(dir, "c"), false); err == nil || !strings.Contains(err.Error(), "cannot be written to") {
		t.Errorf("without rights: %v", err)
	}
}
