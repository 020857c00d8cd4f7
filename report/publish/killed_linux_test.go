package publish

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"

	"humdiff/fixtures/kit"
)

// killedMain is a program that writes a report and is killed before its nth step that
// changes a name; the system lets go of its lock.
func killedMain() {
	n, _ := strconv.Atoi(os.Getenv("HUMDIFF_KILLED_AT"))
	if n == 0 {
		return
	}
	step = func(op, path string) error {
		if op == "rename" || op == "remove" {
			if n--; n == 0 {
				syscall.Kill(os.Getpid(), syscall.SIGKILL)
			}
		}
		return nil
	}
	if Write(context.Background(), os.Getenv("HUMDIFF_KILLED_IN"), false, after) != nil {
		os.Exit(1)
	}
	os.Exit(0)
}

// A killed program's space is swept, and what it was about undone or at its end,
// before the next run writes.
func TestKilledProgram(t *testing.T) {
	self := kit.Must(os.Executable())(t)
	for _, name := range []string{"none", "report and notes"} {
		f := folders[name]
		killed := 0
		for n := 1; ; n++ {
			top := t.TempDir()
			dir := filepath.Join(top, "a")
			f.make(t, dir)
			c := exec.Command(self)
			c.Env = append(os.Environ(), "HUMDIFF_KILLED_AT="+strconv.Itoa(n), "HUMDIFF_KILLED_IN="+dir)
			if c.Run() == nil {
				break
			}
			if s, ok := c.ProcessState.Sys().(syscall.WaitStatus); !ok || s.Signal() != syscall.SIGKILL {
				t.Fatalf("%s: ended by itself: %v", name, c.ProcessState)
			}
			killed++
			if err := Check(dir, false); err != nil {
				t.Fatalf("%s, killed before step %d: %v", name, n, err)
			}
			if got := content(t, top); got != f.start && got != f.done {
				t.Errorf("%s, killed before step %d: %q", name, n, got)
			}
			write(t, dir, "x", "1")
		}
		if killed < 3 {
			t.Errorf("%s: killed %d times only", name, killed)
		}
	}
}
