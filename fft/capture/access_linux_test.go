package capture_test

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fixtures/kit"
)

// asNobody runs f with the rights of a user who owns nothing; root may read
// everything. The thread ends with its goroutine and takes those rights with it.
func asNobody(t *testing.T, f func()) {
	t.Helper()
	if os.Getuid() != 0 {
		f()
		return
	}
	const nobody = 65534
	done := make(chan struct{})
	go func() {
		defer close(done)
		runtime.LockOSThread() // for good
		if err := syscall.Setfsuid(nobody); err != nil {
			t.Error(err)
			return
		}
		f()
	}()
	<-done
}

func TestNoPermission(t *testing.T) {
	path, _ := threeChannels(t)
	file := open(t, capture.Address{Path: path})
	kit.OK(t, os.Chmod(path, 0))
	for dir := filepath.Dir(path); strings.HasPrefix(dir, os.TempDir()+"/"); dir = filepath.Dir(dir) {
		if err := os.Chmod(dir, 0o755); err != nil { // so that it is the file that may not be read
			t.Fatal(err)
		}
	}
	asNobody(t, func() {
		_, opened := capture.Open(capture.Address{Path: path})
		read := pass(t, file, nil)
		_, hashed := file.Hash(context.Background())
		for name, err := range map[string]error{"opened": opened, "read": read, "hashed": hashed} {
			if err == nil || err.Error() != path+": it may not be read" || !errors.Is(err, fs.ErrPermission) || fault.Hint(err) == "" {
				t.Errorf("%s: %v", name, err)
			}
		}
	})
}

// A pipe and a device are refused at once; opening a pipe would wait for ever.
func TestPipesAndDevices(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe.wav")
	if err := syscall.Mkfifo(pipe, 0o666); err != nil {
		t.Skip(err)
	}
	for _, path := range []string{pipe, "/dev/zero", "/dev/null"} {
		done := make(chan error, 1)
		go func() {
			_, err := capture.Open(capture.Address{Path: path})
			done <- err
		}()
		select {
		case err := <-done:
			if err == nil || err.Error() != path+": not a regular file" || !strings.Contains(fault.Hint(err), "save the capture to a file") {
				t.Errorf("%v", err)
			}
		case <-time.After(time.Minute):
			t.Fatalf("%s: still waiting", path)
		}
	}
}
