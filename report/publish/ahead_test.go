package publish

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"sync/atomic"
	"testing"

	"humdiff/fixtures/kit"
)

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
