package live

import (
	"net/http"
	"os"
	"path/filepath"
	"slices"
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

// What was not taken is said until something is taken; the result that it would have
// changed is marked as not current. What failed beside the result leaves it alone.
func TestNotCurrent(t *testing.T) {
	b, s := open(t, Options{})
	pairOn(t, b, s, "quiet.wav", "near.wav")
	const mark = `id="found" class="stale"`
	for _, c := range []struct {
		what  string
		do    func() int
		stale bool
	}{
		{"a full scale that is none", func() int { return post(s, "bench", "full-scale", "loud", "mains", "auto").Code }, true},
		{"a span that is none", func() int { return post(s, "use", "id", "2", "role", "near", "start", "x").Code }, true},
		{"a drop of nothing", func() int { return ask(s, "POST", "captures", "multipart/form-data; boundary=x", nil).Code }, true},
		{"a name that is none", func() int { return post(s, "save", "name", "../x").Code }, false},
	} {
		if code := c.do(); code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", c.what, code)
		}
		html := shows(s)
		if strings.Contains(html, mark) != c.stale || strings.Contains(html, "Not current") != c.stale {
			t.Errorf("%s: the result is stale: %v", c.what, !c.stale)
		}
		if !strings.Contains(html, `<div id="wrong" role="alert"><p>`) {
			t.Errorf("%s: nothing is said", c.what)
		}
		post(s, "bench", "mains", "auto")
		if html := shows(s); strings.Contains(html, mark) || !strings.Contains(html, `<div id="wrong" role="alert"></div>`) {
			t.Errorf("%s: it is said still", c.what)
		}
	}
	// A result whose captures can't be measured any more goes.
	kit.OK(t, os.Remove(b.captures[1].Address.Path))
	post(s, "bench", "mains", "60")
	until(t, b, "the failure", func() bool { return b.outcome.err != nil })
	if html := shows(s); strings.Contains(html, "Hum rose") || !strings.Contains(html, "It could not be measured.") {
		t.Error("the old result is still there")
	}
}

// One cable's quiet with another's near is asked about as soon as both are there,
// until somebody says that it is one cable.
func TestAsksForTheCable(t *testing.T) {
	b, s := open(t, Options{})
	pairOn(t, b, s, "grebe quiet.wav", "heron near.wav")
	const asks = "share no cable: grebe in quiet, heron in near."
	found := func() string {
		_, found, _ := strings.Cut(shows(s), `id="found"`)
		return found
	}
	html := found()
	if at := strings.Index(html, asks); at < 0 || at > strings.Index(html, "How sure") {
		t.Errorf("it isn't asked above the result: %d", at)
	}
	_, yes, _ := strings.Cut(html, `name="question" value="`)
	yes, _, _ = strings.Cut(yes, `"`)
	post(s, "yes", "question", yes)
	if strings.Contains(found(), "They are of one cable") {
		t.Error("it is asked again")
	}
	same, other := open(t, Options{})
	pairOn(t, same, other, "grebe quiet.wav", "grebe near.wav")
	if strings.Contains(shows(other), "share no cable") {
		t.Error("one cable is asked about")
	}
}

// One recording dropped twice, once saved again with other bits, is said beside it and
// above the result.
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
		until(t, b, "it", func() bool { return !b.captures[len(b.captures)-1].Reading })
	}
	html := shows(s)
	for _, want := range []string{"The same recording as quiet.wav", "they are one recording, and no pair"} {
		if !strings.Contains(html, want) {
			t.Errorf("it isn't said: %s", want)
		}
	}
}

// Taking a capture off the page frees its room on the disk, unless a kept pair still
// needs it.
func TestRemoveFrees(t *testing.T) {
	b, s := open(t, Options{})
	pairOn(t, b, s, "quiet.wav", "near.wav")
	there := func(c *Capture) bool {
		_, err := os.Stat(filepath.Dir(c.Address.Path))
		return err == nil
	}
	quiet, near := b.captures[0], b.captures[1]
	post(s, "remove", "id", "2")
	if there(near) || !there(quiet) {
		t.Errorf("after near was removed: near there %v, quiet %v", there(near), there(quiet))
	}
	pairOn(t, b, s, "quiet.wav", "near.wav")
	kept := slices.Clone(b.captures[1:])
	post(s, "keep")
	for _, id := range []string{"1", "3", "4"} {
		post(s, "remove", "id", id)
	}
	if there(quiet) || !there(kept[0]) || !there(kept[1]) {
		t.Error("a kept pair's captures are gone, or what nobody needs is there")
	}
	if w := post(s, "session", "name", "sitting"); w.Code != http.StatusOK {
		t.Error(w.Body)
	}
}

// What a bench left behind that was killed goes when the next is opened; one that is
// in use stays.
func TestLeftoversAreSwept(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	running, s := open(t, Options{})
	drop(s, "near.wav", []byte("RIFF"))
	left := filepath.Join(os.TempDir(), ".humdiff-123")
	kit.OK(t, os.MkdirAll(filepath.Join(left, "dropped-1"), 0o700))
	for _, name := range []string{"lock", "open.html", "dropped-1/near.wav"} {
		kit.OK(t, os.WriteFile(filepath.Join(left, name), []byte("x"), 0o600))
	}
	open(t, Options{})
	if _, err := os.Stat(left); err == nil {
		t.Error("the leftovers are still there")
	}
	if _, err := os.Stat(running.captures[0].Address.Path); err != nil {
		t.Error("a running bench lost its capture")
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
	post(s, "bench", "gain", "\x1b[31m", "mains", "auto") // it waits for a full scale
	until(t, b, "the comparison", compared(b))
	for _, name := range []string{"fine", "r\x1b[2Js"} {
		post(s, "save", "name", name)
		if html := shows(s); strings.ContainsAny(html, "\x1b\u202e") {
			t.Errorf("saved as %q: the page holds it", name)
		}
	}
	if b.said.Saved == "" || b.role(model.Near) == nil {
		t.Error("nothing was saved")
	}
}
