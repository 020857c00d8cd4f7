package live

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	unescape "html"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"
)

// record simulates three seconds of hum at a level.
func record(t testing.TB, path string, dBFS float64, seed int64) {
	t.Helper()
	made, err := bench.Comb{Rate: 8000, Seconds: 3, Track: bench.Steady(50.01), FloorDBFSHz: -125, Seed: seed,
		Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: dBFS}, {Harmonic: 3, PowerDBFS: dBFS - 10}}}.Make()
	kit.OK(t, err)
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: 8000, Bits: 24}, made.Samples, made.Samples))
}

// open gives a bench with a server that is not yet run.
func open(t testing.TB, o Options) (*Bench, *Server) {
	t.Helper()
	if o.Home == "" {
		o.Home = filepath.Join(t.TempDir(), "reports")
	}
	if o.Cache == "" {
		o.Cache = t.TempDir()
	}
	o.often, o.settled = often/10, settled/2
	b := kit.Must(New(t.Context(), o))(t)
	s := kit.Must(Serve(b))(t)
	t.Cleanup(func() {
		s.net.Close()
		if err := b.Close(); err != nil {
			t.Error(err)
		}
		if _, err := os.Stat(b.space.Dir); err == nil {
			t.Error("the page that leads in is still there")
		}
	})
	return b, s
}

// until waits for the bench to be as wanted.
func until(t testing.TB, b *Bench, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		b.mu.Lock()
		is := ok()
		b.mu.Unlock()
		if is {
			return
		}
	}
	t.Fatalf("waited in vain for %s: %.2000s", what, fmt.Sprintf("%+v", b.outcome))
}

func compared(b *Bench) func() bool { return func() bool { return b.outcome.compare != nil } }

// room is the address of the page itself.
func (s *Server) room() string { return "http://" + s.door.host + s.door.room }

// ask sends a request as the bench page would.
func ask(s *Server, method, path string, kind string, body io.Reader) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, s.room()+path, body)
	r.Host = s.door.host
	r.Header.Set("Origin", "http://"+s.door.host)
	r.AddCookie(&http.Cookie{Name: cookie, Value: s.door.key})
	r.Header.Set("Content-Type", kind)
	w := httptest.NewRecorder()
	s.handler().ServeHTTP(w, r)
	return w
}

func post(s *Server, path string, fields ...string) *httptest.ResponseRecorder {
	v := url.Values{}
	for i := 0; i < len(fields); i += 2 {
		v.Set(fields[i], fields[i+1])
	}
	return ask(s, "POST", path, "application/x-www-form-urlencoded", strings.NewReader(v.Encode()))
}

// drop uploads a file under a name.
func drop(s *Server, name string, content []byte) *httptest.ResponseRecorder {
	return ask(s, "POST", "captures?name="+url.QueryEscape(name), "audio/wav", bytes.NewReader(content))
}

func dropFile(t testing.TB, s *Server, name, path string) {
	t.Helper()
	content := kit.Must(os.ReadFile(path))(t)
	if w := drop(s, name, content); w.Code != http.StatusOK {
		t.Fatalf("%s: %d %s", name, w.Code, w.Body)
	}
}

// has says how many captures of a condition stand in the grid, each read and usable.
// The lock is held.
func (b *Bench) has(condition string) (n int) {
	for _, r := range b.sitting.runs {
		if t := b.takes[r.path]; r.Condition == condition && t != nil && t.err == nil {
			n++
		}
	}
	return n
}

// idOf is the id of the run of a file.
func (b *Bench) idOf(t testing.TB, file string) string {
	t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, r := range b.sitting.runs {
		if b.sitting.file.Named(r.Run) == file {
			return strconv.Itoa(r.id)
		}
	}
	t.Fatalf("no run has %s", file)
	return ""
}

// What the page shows and saves is what compare says of the same captures: the same
// warnings, in the same words, and the same files.
func TestSameAsCompare(t *testing.T) {
	dir := t.TempDir()
	quiet, near, shorted := filepath.Join(dir, "quiet.wav"), filepath.Join(dir, "near.wav"), filepath.Join(dir, "residual.wav")
	record(t, quiet, -95, 1)
	record(t, near, -80, 2)
	record(t, shorted, -90, 3)
	b, s := open(t, Options{Version: "1"})
	for _, path := range []string{quiet, near, shorted} {
		dropFile(t, s, filepath.Base(path), path)
	}
	if w := post(s, "state/bench", "full_scale", "2.0V", "gain", "40dB", "mains_hz", "50"); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	until(t, b, "the captures", func() bool { return b.has(model.Quiet) == 1 && b.has(model.Near) == 1 && b.has(model.Residual) == 1 })
	if w := post(s, "run", "id", b.idOf(t, "near.wav"), "file", "near.wav#t=0.5&ch=1"); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	until(t, b, "a comparison of the span", func() bool {
		return compared(b)() && b.outcome.compare.Pairs[0].Near.StartS == 0.5 && b.outcome.compare.Pairs[0].Residual != nil
	})

	t.Chdir(dir) // compare is told the names, as the page's user knows them
	request := report.Request{Version: "1", Scaling: report.Scaling{FullScale: "2.0V", Gain: "40dB"}}
	request.Nominal = 50
	want, err := report.Compare(t.Context(), request, report.Compared{Quiet: capture.Address{Path: "quiet.wav"},
		Near: capture.Address{Path: "near.wav", Channel: 1, Start: 0.5}, Residual: &capture.Address{Path: "residual.wav"}})
	kit.OK(t, err)
	sameWarnings(t, ask(s, "GET", "", "", nil).Body.String(), want)
	sameFiles(t, b, s, &want)
	if w := ask(s, "GET", "report/report.html", "", nil); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), want.Fingerprint) {
		t.Errorf("the report: %d", w.Code)
	}
}

// sameWarnings holds the page's warnings against those of compare's document.
func sameWarnings(t *testing.T, html string, r model.Compare) {
	t.Helper()
	var want []string
	for _, s := range doc.Compare(r, doc.UnitFor(r.Settings)).Sections {
		if s.ID == "warnings" {
			want = s.Blocks[0].(doc.List).Items
		}
	}
	_, html, _ = strings.Cut(html, `<ul class="warnings">`)
	html, _, _ = strings.Cut(html, "</ul>")
	var got []string
	for _, m := range regexp.MustCompile(`<li>(.*)</li>`).FindAllStringSubmatch(html, -1) {
		got = append(got, unescape.UnescapeString(m[1]))
	}
	if len(want) < 3 || !slices.Equal(got, want) {
		t.Errorf("the page warns of\n%q\ncompare of\n%q", got, want)
	}
}

// sameFiles saves the report and holds its files against compare's.
func sameFiles(t *testing.T, b *Bench, s *Server, r *model.Compare) {
	t.Helper()
	want := kit.Must(report.Files(r))(t)
	if w := post(s, "save", "name", "mine"); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	for _, f := range want {
		got := kit.Must(os.ReadFile(filepath.Join(b.root(), "mine", f.Name)))(t)
		if !bytes.Equal(got, kit.Must(f.Contents())(t)) {
			t.Errorf("the saved %s is not compare's", f.Name)
		}
	}
	if saved, err := os.ReadDir(filepath.Join(b.root(), "mine")); err != nil || len(saved) != len(want)+1 {
		t.Errorf("%d files saved, compare writes %d (%v)", len(saved), len(want), err)
	}
}

// A hostile name stays text, on the page and on the disk.
func TestHostileNames(t *testing.T) {
	b, s := open(t, Options{})
	names := []string{`<img src=x onerror=alert(1)>.wav`, "../../../etc/x.wav", `..\..\x.wav`, "CON.wav", "a\x00b.wav", strings.Repeat("ä", 400) + ".wav", "", "\u202egnp.wav", "\x1b[31m.wav"}
	for _, n := range names {
		drop(s, n, []byte("x"))
	}
	// What has no name is no capture, and two are one by name and content.
	until(t, b, "all", func() bool { return len(b.takes) == len(names)-2 })
	html := ask(s, "GET", "", "", nil).Body.String()
	kit.Lacks(t, "the page", html, "<img", "\x1b", "\u202e")
	for path := range b.takes {
		if rel, err := filepath.Rel(b.sitting.dir(), path); err != nil || !filepath.IsLocal(rel) {
			t.Errorf("it was kept at %s", path)
		}
		if strings.ContainsFunc(filepath.Base(path), func(r rune) bool { return !unicode.IsPrint(r) }) {
			t.Errorf("it was kept as %q", path)
		}
	}
}

// Nobody but the bench's own page gets anything.
func TestGuard(t *testing.T) {
	_, s := open(t, Options{})
	sound := func() *http.Request {
		r := httptest.NewRequest("POST", s.room()+"again", nil)
		r.Host = s.door.host
		r.Header.Set("Origin", "http://"+s.door.host)
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		r.AddCookie(&http.Cookie{Name: cookie, Value: s.door.key})
		return r
	}
	code := func(r *http.Request) int {
		w := httptest.NewRecorder()
		s.handler().ServeHTTP(w, r)
		if w.Header().Get("Access-Control-Allow-Origin") != "" || !strings.Contains(w.Header().Get("Content-Security-Policy"), "frame-ancestors 'none'") {
			t.Errorf("headers: %v", w.Header())
		}
		return w.Code
	}
	kit.Same(t, code(sound()), http.StatusOK, "its own page")
	for name, spoil := range map[string]func(r *http.Request){
		"another host":            func(r *http.Request) { r.Host = "rebound.example:80" },
		"localhost by name":       func(r *http.Request) { r.Host = strings.Replace(s.door.host, "127.0.0.1", "localhost", 1) },
		"no host":                 func(r *http.Request) { r.Host = "" },
		"no cookie":               func(r *http.Request) { r.Header.Del("Cookie") },
		"another cookie":          func(r *http.Request) { r.Header.Set("Cookie", cookie+"="+strings.Repeat("A", len(s.door.key))) },
		"half a cookie":           func(r *http.Request) { r.Header.Set("Cookie", cookie+"="+s.door.key[:5]) },
		"the ticket for a cookie": func(r *http.Request) { r.Header.Set("Cookie", cookie+"="+s.door.ticket) },
		"no room":                 func(r *http.Request) { r.URL.Path = "/again" },
		"another room":            func(r *http.Request) { r.URL.Path = "/" + strings.Repeat("A", len(s.door.room)-2) + "/again" },
		"another origin":          func(r *http.Request) { r.Header.Set("Origin", "http://elsewhere.example") },
		"another port's origin":   func(r *http.Request) { r.Header.Set("Origin", "http://127.0.0.1:1") },
		"no origin":               func(r *http.Request) { r.Header.Del("Origin") },
		"from another site":       func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") },
		"null origin, other site": func(r *http.Request) { r.Header.Set("Origin", "null"); r.Header.Set("Sec-Fetch-Site", "cross-site") },
		"another method":          func(r *http.Request) { r.Method = "PUT" },
		"a ticket in a form":      func(r *http.Request) { r.Header.Del("Cookie"); r.URL.Path = s.door.room + "enter" },
	} {
		r := sound()
		spoil(r)
		kit.Same(t, code(r), http.StatusForbidden, "%s", name)
	}
	for _, path := range []string{"live.go", "%2e%2e/x", "captures", "report.html/x", "open.html"} {
		if w := ask(s, "GET", path, "", nil); w.Code == http.StatusOK {
			t.Errorf("GET %s: %d", path, w.Code)
		}
	}
}

// A file that is being written is left alone until it is whole.
func TestWatchedFolder(t *testing.T) {
	t.Parallel() // it waits most of its time
	dir, made := t.TempDir(), filepath.Join(t.TempDir(), "made.wav")
	record(t, made, -80, 1)
	whole := kit.Must(os.ReadFile(made))(t)
	old := filepath.Join(dir, "quiet.wav")
	record(t, old, -95, 2)
	long := time.Now().Add(-time.Hour)
	kit.OK(t, os.Chtimes(old, long, long))
	b, s := open(t, Options{Folder: dir})
	until(t, b, "what was there", func() bool { return b.has(model.Quiet) == 1 })

	near := filepath.Join(dir, "near.wav")
	f := kit.Must(os.Create(near))(t)
	for i := range 4 {
		f.Write(whole[i*len(whole)/4 : (i+1)*len(whole)/4])
		time.Sleep(b.opt.settled / 5)
		b.mu.Lock()
		kit.Same(t, len(b.takes), 1, "taken before it was whole")
		b.mu.Unlock()
	}
	f.Close()
	until(t, b, "the comparison", compared(b))
	if w := post(s, "save", "name", "out"); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	if _, err := os.Stat(filepath.Join(dir, "out", "report.html")); err != nil {
		t.Error(err)
	}
	// Recorded over, it is measured anew.
	first := b.outcome.compare.Pairs[0].Near.SHA256
	record(t, near, -70, 9)
	until(t, b, "the new comparison", func() bool { return compared(b)() && b.outcome.compare.Pairs[0].Near.SHA256 != first })
	kit.Same(t, len(b.takes), 2, "captures")
}

func TestCancelAndAgain(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "near.wav")
	record(t, path, -80, 1)
	b, s := open(t, Options{})
	dropFile(t, s, "near.wav", path)
	until(t, b, "a measurement", func() bool { return b.outcome.measure != nil })
	// One that never ends by itself stands for a long one.
	b.mu.Lock()
	stopped, late := false, b.job
	b.outcome = outcome{wanted: b.outcome.wanted, measuring: true}
	b.stop = func() { stopped = true }
	b.mu.Unlock()
	post(s, "cancel")
	b.mu.Lock()
	if !stopped || b.outcome.measuring || !b.outcome.cancelled {
		t.Errorf("after cancel: %v, %+v", stopped, b.outcome)
	}
	b.mu.Unlock()
	post(s, "again")
	// The stopped one ends only now, though the same is wanted again.
	b.progress(late)(7, 7)
	b.finish(late, job{}, outcome{err: context.Canceled})
	b.mu.Lock()
	if b.outcome.err != nil || b.outcome.total == 7 {
		t.Errorf("what was stopped was heard: %+v", b.outcome)
	}
	b.mu.Unlock()
	until(t, b, "a measurement again", func() bool { return b.outcome.measure != nil })
}

// watching is a page that asks for changes until it goes away.
func watching(s *Server) (leave func()) {
	ctx, stop := context.WithCancel(context.Background())
	r := httptest.NewRequest("GET", s.room()+"changes", nil).WithContext(ctx)
	r.Host = s.door.host
	r.AddCookie(&http.Cookie{Name: cookie, Value: s.door.key})
	gone := make(chan bool)
	go func() {
		s.handler().ServeHTTP(httptest.NewRecorder(), r)
		close(gone)
	}()
	return func() { stop(); <-gone }
}

// endsAs runs a server while something is done, and then it has to end by itself.
func endsAs(t *testing.T, s *Server, why error, do func()) {
	t.Helper()
	done := make(chan error, 1)
	go func() { done <- s.Run(t.Context()) }()
	do()
	select {
	case err := <-done:
		t.Fatalf("ended too early: %v", err)
	default:
	}
	if why == errAsked {
		post(s, "end")
	}
	select {
	case err := <-done:
		if err != nil || s.Why() != why {
			t.Error(err, s.Why())
		}
	case <-time.After(time.Minute):
		t.Error("still running")
	}
}

// The last page that goes away takes the program with it; a reload doesn't, nor does
// one of two tabs.
func TestEnds(t *testing.T) {
	const soon = 300 * time.Millisecond
	_, s := open(t, Options{})
	s.pages.leaving = soon
	endsAs(t, s, errAsked, func() {
		watching(s)()
		watching(s) // a reload
		time.Sleep(2 * soon)
	})
	_, s = open(t, Options{})
	s.pages.leaving = soon
	endsAs(t, s, errClosed, func() {
		first, second := watching(s), watching(s)
		second()
		time.Sleep(2 * soon)
		first()
	})
}

// FuzzHandlers sends anything anywhere: no answer may be a crash or a file that
// nobody gave.
func FuzzHandlers(f *testing.F) {
	f.Add("POST", "run", "application/x-www-form-urlencoded", []byte("id=1&condition=near&file=x.wav%23t=1e309&repeat=%ff"))
	f.Add("POST", "move", "application/x-www-form-urlencoded", []byte("id=1&cable=a&termination_ohms=-1&exposure=&condition=near"))
	f.Add("POST", "rename", "application/x-www-form-urlencoded", []byte("key=termination_ohms&was=&now=1e400"))
	f.Add("POST", "state/claim", "application/x-www-form-urlencoded", []byte("id=0&name=x&kind=below&volts=1e400V"))
	f.Add("POST", "unclaim", "application/x-www-form-urlencoded", []byte("id=-1"))
	f.Add("POST", "undo", "application/x-www-form-urlencoded", []byte("again=1"))
	f.Add("POST", "earlier", "application/x-www-form-urlencoded", []byte("name=../.."))
	f.Add("GET", "run?id=1", "", []byte{})
	f.Add("GET", "report/..%2fx.html", "", []byte{})
	f.Add("POST", "captures?name=../a.wav", "audio/wav", []byte("RIFF"))
	f.Add("POST", "save", "application/x-www-form-urlencoded", []byte("name=../../x"))
	f.Add("GET", "changes?version=zzz", "", []byte{})
	f.Add("POST", "state/bench", "application/x-www-form-urlencoded", []byte("full_scale=1e400V&gain=-0dB&mains_hz=50"))
	_, s := open(f, Options{})
	drop(s, "grebe near 1.wav", []byte("RIFF"))
	f.Fuzz(func(t *testing.T, method, path, kind string, body []byte) {
		if method != "GET" && method != "POST" || strings.Contains(path, "changes") || strings.Contains(path, "end") || strings.Contains(path, "left") {
			return // those wait, or end the program
		}
		u, err := url.Parse(s.room() + path)
		if err != nil {
			return
		}
		r := &http.Request{Method: method, URL: u, Host: s.door.host, Header: http.Header{"Origin": {"http://" + s.door.host}, "Cookie": {cookie + "=" + s.door.key}, "Content-Type": {kind}},
			Body: io.NopCloser(bytes.NewReader(body)), ContentLength: int64(len(body))}
		w := httptest.NewRecorder()
		s.handler().ServeHTTP(w, r.WithContext(t.Context()))
		if w.Code >= 500 {
			t.Errorf("%s %s: %d %s", method, path, w.Code, w.Body)
		}
	})
}

// What can't be used, can't be understood or isn't a name is refused, and says why.
func TestErrors(t *testing.T) {
	b, s := open(t, Options{})
	drop(s, "near.wav", []byte("RIFF no wave"))
	drop(s, "quiet.wav", nil)
	until(t, b, "both looked at", func() bool { return len(b.takes) == 2 })
	html := ask(s, "GET", "", "", nil).Body.String()
	for path, take := range b.takes {
		var known *fault.Error
		if !errors.As(take.err, &known) || !strings.Contains(unescape.UnescapeString(html), filepath.Base(path)+": "+known.What) {
			t.Errorf("%s: %v isn't said in its cell", path, take.err)
		}
	}
	if w := drop(s, "notes.txt", []byte("x")); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("notes: %d", w.Code)
	}
	near := b.idOf(t, "near.wav")
	for _, bad := range [][]string{{"condition", "king"}, {"repeat", "0"}, {"plug", "3"}, {"termination_ohms", "-1"}, {"start", "x"},
		{"file", "../x.wav"}, {"file", "/etc/passwd"}, {"file", ""}, {"bonded", "maybe"}} {
		w := post(s, "run", "id", near, bad[0], bad[1])
		if bad[0] != "file" {
			w = post(s, "run", "id", near, "file", "near.wav", bad[0], bad[1])
		}
		var at map[string]string
		if w.Code != http.StatusUnprocessableEntity || json.Unmarshal(w.Body.Bytes(), &at) != nil || at[bad[0]] == "" {
			t.Errorf("%v: %d %s", bad, w.Code, w.Body)
		}
	}
	for _, name := range []string{"", ".", "..", "a/b", `a\b`, "C:x", ".hidden", "../x", "a\x1b[31mb", "a\u202eb"} {
		if w := post(s, "save", "name", name); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("saved as %q: %d", name, w.Code)
		}
	}
	for _, bad := range [][]string{{"full_scale", "loud"}, {"mains_hz", "55"}, {"gain", "40"}} {
		if w := post(s, "state/bench", bad...); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), bad[0]) {
			t.Errorf("%v: %d", bad, w.Code)
		}
	}
	if bench := b.sitting.file.Sitting.Bench; bench.FullScale != "" || bench.Gain != "" || bench.MainsHz.Ok() {
		t.Errorf("what was refused is stated: %+v", bench)
	}
}

// withPair is a bench on which a quiet and a near capture were dropped.
func withPair(t *testing.T) (*Bench, *Server) {
	t.Helper()
	dir := t.TempDir()
	quiet, near := filepath.Join(dir, "quiet.wav"), filepath.Join(dir, "near.wav")
	record(t, quiet, -95, 1)
	record(t, near, -80, 2)
	b, s := open(t, Options{})
	dropFile(t, s, "quiet.wav", quiet)
	dropFile(t, s, "near.wav", near)
	return b, s
}

// An edit that changes nothing of what is measured stops a measuring that is under way,
// which goes on.
func TestConfirmedWhileMeasuring(t *testing.T) {
	b, s := withPair(t)
	post(s, "confirm")
	until(t, b, "the comparison", func() bool { return compared(b)() && b.stop == nil })
	for _, hz := range []string{"50", "60", "50"} {
		post(s, "state/bench", "mains_hz", hz)
		post(s, "confirm")
		until(t, b, "the comparison at "+hz, func() bool { return compared(b)() && b.stop == nil && b.outcome.compare.Settings.Mains == hz })
	}
}

// Settings that change and change back while it measures end in the result of the
// last ones, with no error of a stopped job between.
func TestSetWhileMeasuring(t *testing.T) {
	b, s := withPair(t)
	until(t, b, "the captures", func() bool { return b.has(model.Quiet) == 1 && b.has(model.Near) == 1 })
	for i := range 60 {
		post(s, "run", "id", b.idOf(t, "near.wav"), "file", fmt.Sprintf("near.wav#t=0.5&ch=%d", 1+i%2))
		post(s, "state/bench", "mains_hz", []string{"50", ""}[i%2])
		if i%5 == 0 {
			post(s, "cancel")
			post(s, "again")
		}
		b.mu.Lock()
		if b.outcome.err != nil {
			t.Errorf("step %d: %v", i, b.outcome.err)
		}
		b.mu.Unlock()
		time.Sleep(time.Duration(i%4) * 3 * time.Millisecond)
	}
	until(t, b, "the comparison of the last settings", func() bool { return compared(b)() && b.stop == nil })
	b.mu.Lock()
	defer b.mu.Unlock()
	if got := b.outcome.compare.Pairs[0].Near; got.Channel != 2 || got.StartS != 0.5 || b.outcome.compare.Settings.Mains != "auto" {
		t.Errorf("%+v, %+v", got, b.outcome.compare.Settings)
	}
}
