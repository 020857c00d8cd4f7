package publish

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"humdiff/fixtures/kit"
)

// The tests here let every step of the file system fail, one after another, and end
// the program before every one.

// errDead is the error of all that a program would do after it was killed.
var errDead = errors.New("killed")

// dieAt ends the program before step n of a kind ("": any); 0: never. It returns how
// many there were.
func dieAt(t *testing.T, n int, kind string) (count *int) {
	count = new(int)
	dead := false
	step = func(op, path string) error {
		if kind == "" || op == kind {
			*count++
		}
		if dead = dead || n > 0 && *count >= n; dead {
			return errDead
		}
		return nil
	}
	t.Cleanup(alive)
	return count
}

// failAt lets step n of a kind fail once.
func failAt(t *testing.T, n int, kind string, err error) (count *int) {
	count = new(int)
	step = func(op, path string) error {
		if op != kind {
			return nil
		}
		if *count++; *count == n {
			return err
		}
		return nil
	}
	t.Cleanup(alive)
	return count
}

func alive() { step = func(op, path string) error { return nil } }

// before and after are a report and the one that takes its place.
var (
	before = files("compare.json", report, "delta.svg", "old", "cycle.svg", "old", "same.csv", "s")
	after  = files("compare.json", "{}", "delta.svg", "new", "lines.csv", "new", "same.csv", "s")
)

const (
	saysBefore = "compare.json=" + report + " cycle.svg=old delta.svg=old"
	saysAfter  = "compare.json={} delta.svg=new lines.csv=new"
)

// folders are the ways in which a report comes into a folder, each with what the
// folder holds before and after.
var folders = map[string]struct {
	make        func(t *testing.T, dir string)
	start, done string
}{
	"none": {func(*testing.T, string) {}, "", "a/ a/" + strings.ReplaceAll(saysAfter, " ", " a/") + " a/same.csv=s"},
	"report and notes": {func(t *testing.T, dir string) { write0(t, dir); lay(t, dir, "notes.txt", "n") },
		"a/ a/" + strings.ReplaceAll(saysBefore, " ", " a/") + " a/notes.txt=n a/same.csv=s", "a/ a/" + strings.ReplaceAll(saysAfter, " ", " a/") + " a/notes.txt=n a/same.csv=s"},
}

func write0(t *testing.T, dir string) {
	t.Helper()
	kit.OK(t, Write(t.Context(), dir, false, before))
}

// bare is the content of a folder without what is hidden in it.
func bare(t *testing.T, dir string) string {
	t.Helper()
	clean := t.TempDir()
	kit.OK(t, os.CopyFS(clean, os.DirFS(dir)))
	for _, glob := range []string{".humdiff-*", "*/.humdiff-*"} {
		hidden, _ := filepath.Glob(filepath.Join(clean, glob))
		for _, h := range hidden {
			os.RemoveAll(h)
		}
	}
	return content(t, clean)
}

func TestMain(m *testing.M) {
	flush = func(*os.File) error { return nil }
	killedMain()
	if st, err := os.Stat("/dev/shm"); err == nil && st.IsDir() && os.Getenv("TMPDIR") == "" {
		os.Setenv("TMPDIR", "/dev/shm") // thousands of folders, which a disk takes long for
	}
	os.Exit(m.Run())
}

// Killed before any step, a report in a new folder is there or not; one in place of
// another the next run makes the old one and then the new. No run refuses, and nothing
// is left over.
func TestKilledAnywhere(t *testing.T) {
	for name, f := range folders {
		t.Run(name, func(t *testing.T) {
			for n, last := 1, false; !last; n++ {
				top := t.TempDir()
				dir := filepath.Join(top, "a")
				f.make(t, dir)
				count := dieAt(t, n, "")
				err := Write(t.Context(), dir, false, after)
				last = *count < n
				alive()
				got := bare(t, top)
				if name == "none" && got != f.start && got != f.done {
					t.Fatalf("killed before step %d: %q, %v", n, got, err)
				}
				if err := Check(dir, false); err != nil { // the next run
					t.Fatalf("killed before step %d: %v", n, err)
				}
				if got := content(t, top); got != f.start && got != f.done {
					t.Fatalf("killed before step %d, then settled: %q", n, got)
				}
				if err := Write(t.Context(), dir, false, after); err != nil {
					t.Fatalf("killed before step %d: %v", n, err)
				}
				want(t, top, f.done)
			}
		})
	}
}

// The undoing may be killed too, again and again.
func TestKilledWhileUndoing(t *testing.T) {
	f := folders["report and notes"]
	every := 4 // renaming; all of them on request
	if os.Getenv("HUMDIFF_FAULTS") != "" {
		every = 1
	}
	for first := 1; first < 20; first += every {
		for second := 1; second < 60; second += every {
			top := t.TempDir()
			dir := filepath.Join(top, "a")
			f.make(t, dir)
			dieAt(t, first, "rename")
			Write(t.Context(), dir, false, after)
			count := dieAt(t, second, "")
			Check(dir, false)
			alive()
			if err := Check(dir, false); err != nil {
				t.Fatal(first, second, err)
			}
			if got := content(t, top); got != f.start && got != f.done {
				t.Fatalf("killed at %d, then at %d: %q", first, second, got)
			}
			if *count < second {
				break
			}
		}
	}
}

// What somebody wrote after the kill is theirs: undoing doesn't take it away.
func TestWrittenAfterTheKill(t *testing.T) {
	for n := 1; n < 20; n++ {
		dir := filepath.Join(t.TempDir(), "a")
		write0(t, dir)
		lay(t, dir, "notes.txt", "n")
		dieAt(t, n, "rename")
		Write(t.Context(), dir, false, after)
		alive()
		lay(t, dir, "delta.svg", "mine", "lines.csv", "mine")
		Check(dir, false)
		for _, name := range []string{"delta.svg", "lines.csv"} {
			if got, err := os.ReadFile(filepath.Join(dir, name)); err != nil || string(got) != "mine" {
				t.Errorf("killed before renaming %d: %s holds %q, %v", n, name, got, err)
			}
		}
	}
}

// Whatever step fails, the folder is as it was or as it was to be, nothing hidden is
// left, and an error says that it isn't as it was to be.
func TestStepsFail(t *testing.T) {
	for _, kind := range []struct {
		op  string
		err error
	}{{"write", syscall.ENOSPC}, {"sync", syscall.ENOSPC}, {"create", syscall.ENOSPC}, {"mkdir", syscall.ENOSPC}, {"rename", syscall.EACCES},
		{"read", syscall.EIO}, {"open", syscall.EIO}, {"list", syscall.EIO}} {
		for name, f := range folders {
			t.Run(kind.op+"/"+name, func(t *testing.T) {
				for n, last := 1, false; !last; n++ {
					top := t.TempDir()
					dir := filepath.Join(top, "a")
					f.make(t, dir)
					count := failAt(t, n, kind.op, kind.err)
					err := Write(t.Context(), dir, false, after)
					last = *count < n
					alive()
					if got := content(t, top); err == nil && bare(t, top) != f.done || err != nil && got != f.start {
						t.Errorf("%s %d failed: %q, %v", kind.op, n, got, err)
					}
					if err != nil && !errors.Is(err, kind.err) {
						t.Errorf("%s %d failed: %v", kind.op, n, err)
					}
				}
			})
		}
	}
}

// Where removing fails something hidden may stay, and nothing else is wrong.
func TestRemovingFails(t *testing.T) {
	for name, f := range folders {
		for n := 1; n < 30; n++ {
			top := t.TempDir()
			dir := filepath.Join(top, "a")
			f.make(t, dir)
			failAt(t, n, "remove", syscall.EIO)
			err := Write(t.Context(), dir, false, after)
			alive()
			if got := bare(t, top); err == nil && got != f.done || err != nil && got != f.start {
				t.Errorf("%s, remove %d failed: %q, %v", name, n, got, err)
			}
			if err := Write(t.Context(), dir, false, after); err != nil {
				t.Error(err)
			}
			want(t, top, f.done)
		}
	}
}

// One file is whole or not there, and what was cut short is swept by the next.
func TestStreamKilled(t *testing.T) {
	for n, last := 1, false; !last; n++ {
		top := t.TempDir()
		path := filepath.Join(top, "b.zip")
		lay(t, top, "b.zip", "old")
		stream := func() error {
			return Stream(t.Context(), path, true, func(w io.Writer) error { _, err := w.Write([]byte("new")); return err })
		}
		count := dieAt(t, n, "")
		stream()
		last = *count < n
		alive()
		if got := bare(t, top); got != "b.zip=old" && got != "b.zip=new" {
			t.Fatalf("killed before step %d: %q", n, got)
		}
		kit.OK(t, stream())
		want(t, top, "b.zip=new")
	}
}

// What another run holds is left alone; what nobody holds is swept; so is nothing
// that isn't this program's.
func TestSweep(t *testing.T) {
	top := t.TempDir()
	held := kit.Must(NewSpace(top))(t)
	lay(t, held.Dir, "copy", "c")
	left := kit.Must(NewSpace(top))(t)
	lay(t, left.Dir, "copy", "c")
	left.unlock()
	for _, dir := range []string{".humdiff-12", ".humdiff-13", ".humdiff-mine", "humdiff-14"} {
		kit.OK(t, os.Mkdir(filepath.Join(top, dir), 0o755))
	}
	lay(t, filepath.Join(top, ".humdiff-12"), "old", "of another version")
	lay(t, top, ".humdiff-15", "a file")
	kit.OK(t, sweep(top))
	h := filepath.Base(held.Dir)
	if got := content(t, top); strings.Contains(got, filepath.Base(left.Dir)) || strings.Contains(got, ".humdiff-13/") {
		t.Errorf("left over: %q", got)
	} else if !strings.Contains(got, h+"/copy=c") || !strings.Contains(got, ".humdiff-12/old=") ||
		!strings.Contains(got, ".humdiff-mine/") || !strings.Contains(got, "humdiff-14/") || !strings.Contains(got, ".humdiff-15=") {
		t.Errorf("swept: %q", got)
	}
	if err := held.Close(); err != nil || exists(held.Dir) {
		t.Errorf("%v", err)
	}
}

// A space that another run sweeps away while it is removed is gone, and nothing is
// wrong.
func TestSweptWhileItCloses(t *testing.T) {
	s := kit.Must(NewSpace(t.TempDir()))(t)
	t.Cleanup(alive)
	step = func(op, path string) error {
		if op == "remove" && path == s.Dir {
			return os.Remove(path)
		}
		return nil
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
}
