package live

import (
	"bytes"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/report/model"
)

// A capture for which the disk has no room is refused with the reason, leaves
// nothing behind, and those that were there stay. Only root can make such a disk.
func TestFullDiskAtUpload(t *testing.T) {
	home := kit.SmallDisk(t, 384)
	path := filepath.Join(t.TempDir(), "near.wav") // 144 kB
	record(t, path, -80, 1)
	b, s := open(t, Options{Home: home})
	t.Cleanup(func() { b.Close() }) // before the disk is taken away
	dropFile(t, s, "near.wav", path)
	until(t, b, "the first capture", func() bool { return b.has(model.Near) == 1 })
	used := size(t, home)
	w := drop(s, "quiet.wav", bytes.Repeat([]byte("RIFF"), 100<<10))
	if w.Code == http.StatusOK || !strings.Contains(w.Body.String(), "quiet.wav") || !strings.Contains(w.Body.String(), "no space left") {
		t.Errorf("%d %s", w.Code, w.Body)
	}
	if now := size(t, home); now != used {
		t.Errorf("%d bytes lie there, %d before", now, used)
	}
	b.mu.Lock()
	kit.Same(t, len(b.takes), 1, "captures on the desk")
	b.mu.Unlock()
	dropFile(t, s, "again.wav", path)
}

// size is how many bytes the files in a folder hold.
func size(t *testing.T, dir string) (bytes int64) {
	t.Helper()
	err := filepath.WalkDir(dir, func(_ string, e os.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		st, err := e.Info()
		bytes += st.Size()
		return err
	})
	kit.OK(t, err)
	return bytes
}

// A session for which the disk has no room stays on the page, which says so until it is
// saved; what lies on the disk is the one from before, whole.
func TestFullDiskAtSave(t *testing.T) {
	dir := kit.SmallDisk(t, 512)
	record(t, filepath.Join(dir, "grebe near.wav"), -80, 1)
	b, s := open(t, Options{Folder: dir})
	t.Cleanup(func() { b.Close() })
	until(t, b, "the capture", func() bool { return b.has(model.Near) == 1 && b.stop == nil })
	before := kit.Must(os.ReadFile(filepath.Join(dir, "session.toml")))(t)
	ballast := filepath.Join(dir, "ballast")
	os.WriteFile(ballast, make([]byte, 1<<20), 0o644) // as much as there is room for
	post(s, "state/bench", "notes", strings.Repeat("long ", 4000))
	if now := kit.Must(os.ReadFile(filepath.Join(dir, "session.toml")))(t); !bytes.Equal(now, before) {
		t.Errorf("it became %d bytes", len(now))
	}
	if html := shows(s); !strings.Contains(html, "Not saved: ") || !strings.Contains(html, "long long") {
		t.Error("the page doesn't say so, or lost it")
	}
	kit.OK(t, os.Remove(ballast))
	post(s, "keep")
	if now := kit.Must(os.ReadFile(filepath.Join(dir, "session.toml")))(t); !bytes.Contains(now, []byte("long long")) || strings.Contains(shows(s), "Not saved") {
		t.Error("it isn't saved with room again")
	}
}
