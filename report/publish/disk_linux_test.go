package publish

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"

	"humdiff/fft/fault"
	"humdiff/fixtures/kit"
)

// A full disk gives an error that says so; nothing half-written stays, and what
// was there is there still.
func TestFullDisk(t *testing.T) {
	disk := kit.SmallDisk(t, 256)
	large := []File{{Name: "compare.json", Data: []byte(report)}, {Name: "report.html", Data: bytes.Repeat([]byte("x"), 300<<10)}}
	full := func(dir string) {
		t.Helper()
		err := Write(context.Background(), dir, false, large)
		var wrong *fault.Error
		if !errors.As(err, &wrong) || !errors.Is(err, syscall.ENOSPC) || wrong.File != dir || wrong.Hint == "" {
			t.Errorf("%#v", err)
		}
	}
	full(filepath.Join(disk, "a", "new"))
	want(t, disk, "")
	old := filepath.Join(disk, "old")
	write(t, old, "compare.json", report, "report.html", "old")
	full(old)
	lay(t, old, "notes.txt", "n")
	before := content(t, disk)
	full(old)
	want(t, disk, before)
	err := Stream(context.Background(), filepath.Join(disk, "a.zip"), false, func(w io.Writer) error {
		_, err := w.Write(large[1].Data)
		return err
	})
	if !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("%v", err)
	}
	want(t, disk, before)
}

// A folder that may not be written to keeps what is in it.
func TestUnwritableFolder(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "compare.json", report, "report.html", "old")
	for at := dir; strings.HasPrefix(at, os.TempDir()+"/"); at = filepath.Dir(at) {
		kit.OK(t, os.Chmod(at, 0o755))
	}
	kit.OK(t, os.Chmod(dir, 0o555))
	done := make(chan struct{})
	go func() { // root may write everywhere: a thread of its own has other rights
		defer close(done)
		runtime.LockOSThread()
		if os.Getuid() == 0 {
			if err := syscall.Setfsuid(65534); err != nil {
				t.Error(err)
				return
			}
		}
		for _, to := range []string{dir, filepath.Join(dir, "new")} {
			err := Write(context.Background(), to, true, files("compare.json", report, "report.html", "new"))
			var wrong *fault.Error
			if !errors.As(err, &wrong) || !errors.Is(err, os.ErrPermission) || wrong.File != to || wrong.Hint == "" {
				t.Errorf("%#v", err)
			}
		}
	}()
	<-done
	want(t, dir, "compare.json="+report+" report.html=old")
}

// A bundle for which there is no room is refused before a byte of it is written.
func TestNoRoomForABundle(t *testing.T) {
	dir := reported(t)
	kit.OK(t, os.Truncate(filepath.Join(filepath.Dir(dir), "near", "take.wav"), 0))
	var b bytes.Buffer
	kit.Must(Pack(t.Context(), &b, dir, Packing{IsReport: isReport, HashesOnly: true}))(t)
	small := kit.SmallDisk(t, 256)
	file := keep(t, b.Bytes())
	_, err := unpack(t.Context(), file, filepath.Join(small, "in"))
	refused(t, err, file, "and there is room for 0 bytes in "+small)
	want(t, small, "")
}
