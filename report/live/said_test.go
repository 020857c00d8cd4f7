package live

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
	"humdiff/report/model"
)

// pairOn drops a quiet and a near capture of these names, and waits for what
// compare says.
func pairOn(t *testing.T, b *Bench, s *Server, quiet, near string) {
	t.Helper()
	dir := t.TempDir()
	for i, name := range []string{quiet, near} {
		path := filepath.Join(dir, name)
		record(t, path, []float64{-95, -80}[i], int64(i))
		dropFile(t, s, name, path)
	}
	until(t, b, "the comparison", compared(b))
}

func shows(s *Server) string { return ask(s, "GET", "", "", nil).Body.String() }

// A headline names its files, and Save stands in the head, above all that was found.
func TestHeadlineNamesItsFiles(t *testing.T) {
	b, s := open(t, Options{})
	pairOn(t, b, s, "grebe quiet.wav", "grebe near.wav")
	html := shows(s)
	_, h1, _ := strings.Cut(html, "<h1>")
	h1, rest, _ := strings.Cut(h1, "</h1>")
	if !strings.Contains(h1, "Hum rose") || !strings.Contains(h1, "grebe quiet.wav") || !strings.Contains(h1, "grebe near.wav") {
		t.Errorf("the headline is %s", h1)
	}
	if at := strings.Index(rest, `id="save"`); at < 0 || at > strings.Index(rest, "</header>") {
		t.Error("Save isn't in the head")
	}
}

// One recording dropped twice, once saved again with other bits, is said in its cell, and
// they are no pair.
func TestSameRecordingIsSaid(t *testing.T) {
	dir := t.TempDir()
	x := make([]float64, 24000)
	for i := range x {
		x[i] = float64(i*7919%4001-2000) / 32768 // 16 bits hold it
	}
	for name, bits := range map[string]int{"quiet.wav": 16, "near.wav": 24} {
		kit.OK(t, wavfile.Write(filepath.Join(dir, name), wavfile.Format{Rate: 8000, Bits: bits}, x))
	}
	b, s := open(t, Options{})
	for _, name := range []string{"quiet.wav", "near.wav"} {
		dropFile(t, s, name, filepath.Join(dir, name))
	}
	until(t, b, "the copy left out", func() bool { return b.outcome.measure != nil && b.sitting.runs[1].LeftOut != "" })
	html := shows(s)
	b.mu.Lock()
	defer b.mu.Unlock()
	if !strings.Contains(html, "Left out: one recording with quiet.wav") || b.outcome.compare != nil {
		t.Error("it isn't said, or the two are compared")
	}
}

// What a bench left behind that was killed goes when the next is opened; one that is
// in use stays.
func TestLeftoversAreSwept(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	running, _ := open(t, Options{})
	left := filepath.Join(os.TempDir(), ".humdiff-123")
	kit.OK(t, os.MkdirAll(filepath.Join(left, "dropped-1"), 0o700))
	for _, name := range []string{"lock", "open.html", "dropped-1/near.wav"} {
		kit.OK(t, os.WriteFile(filepath.Join(left, name), []byte("x"), 0o600))
	}
	open(t, Options{})
	if _, err := os.Stat(left); err == nil {
		t.Error("the leftovers are still there")
	}
	if _, err := os.Stat(running.space.Dir); err != nil {
		t.Error("a running bench lost its folder")
	}
}

// No name that people or folders give puts a character on the page that commands a
// terminal or turns text about.
func TestNamesAreHarmless(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a\x1b[31mb\u202ec")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Skip("this system has no such names")
	}
	b, s := open(t, Options{Folder: dir})
	pairOn(t, b, s, "quiet.wav", "near.wav")
	post(s, "state/bench", "notes", "\x1b[31m")
	post(s, "state/top", "title", "\u202e")
	until(t, b, "the comparison", compared(b))
	for _, name := range []string{"fine", "r\x1b[2Js"} {
		post(s, "save", "name", name)
		if html := shows(s); strings.ContainsAny(html, "\x1b\u202e") {
			t.Errorf("saved as %q: the page holds it", name)
		}
	}
	if b.said.Saved == "" || b.has(model.Near) == 0 {
		t.Error("nothing was saved")
	}
}
