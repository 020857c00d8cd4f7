package capture_test

import (
	"os"
	"path/filepath"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fixtures/kit"

	"github.com/google/go-cmp/cmp"
)

func TestFolder(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"b.WAV", "a.flac", "notes.txt", "b/2.wav", "b/10.wav", "a.d/x.bwf", ".hidden.wav", ".trash/y.wav", "plain"} {
		path := filepath.Join(dir, name)
		kit.OK(t, os.MkdirAll(filepath.Dir(path), 0o777))
		kit.OK(t, os.WriteFile(path, nil, 0o666))
	}
	kit.OK(t, os.Mkdir(filepath.Join(dir, "folder.wav"), 0o777))
	if err := os.Symlink(dir, filepath.Join(dir, "b", "loop")); err != nil {
		t.Log("no links here: ", err)
	}
	var got []string
	paths, unread := capture.Folder(dir)
	for _, p := range paths {
		rel := kit.Must(filepath.Rel(dir, p))(t)
		got = append(got, filepath.ToSlash(rel))
	}
	want := []string{"a.d/x.bwf", "a.flac", "b.WAV", "b/10.wav", "b/2.wav"}
	if diff := cmp.Diff(want, got); diff != "" || len(unread) > 0 {
		t.Errorf("-want +got:\n%s%v", diff, unread)
	}
	missing := filepath.Join(dir, "gone")
	if paths, unread := capture.Folder(missing); len(paths) > 0 || len(unread) != 1 || unread[0].Error() != missing+": there is no such file" {
		t.Errorf("%v, %v", paths, unread)
	}
}
