package live

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	unescape "html"
	"io"
	"math"
	"mime/multipart"
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

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/session"
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
	b := kit.Must(New(t.Context(), o))(t)
	s := kit.Must(Serve(b))(t)
	t.Cleanup(func() {
		s.net.Close()
		if err := b.Close(); err != nil {
			t.Error(err)
		}
		if _, err := os.Stat(b.space.Dir); err == nil {
			t.Error("what was dropped is still there")
		}
	})
	return b, s
}

// until waits for the bench to be as wanted.
func until(t testing.TB, b *Bench, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		b.mu.Lock()
		is := ok()
		b.mu.Unlock()
		if is {
			return
		}
	}
	t.Fatalf("waited in vain for %s: %+v", what, b.outcome)
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
	r.Header.Set("X-Bench", "1")
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
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	w, _ := m.CreateFormFile("files", name)
	w.Write(content)
	m.Close()
	return ask(s, "POST", "captures", m.FormDataContentType(), &b)
}

func dropFile(t testing.TB, s *Server, name, path string) {
	t.Helper()
	content := kit.Must(os.ReadFile(path))(t)
	if w := drop(s, name, content); w.Code != http.StatusOK {
		t.Fatalf("%s: %d %s", name, w.Code, w.Body)
	}
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
	if w := post(s, "bench", "full-scale", "2.0V", "gain", "40dB", "mains", "50"); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	until(t, b, "the captures", func() bool {
		return b.role(model.Quiet) != nil && b.role(model.Near) != nil && b.role(model.Residual) != nil
	})
	if w := post(s, "use", "id", "2", "role", "near", "channel", "1", "start", "0,5", "end", ""); w.Code != http.StatusOK {
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
	if w := ask(s, "GET", "report.html", "", nil); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), want.Fingerprint) {
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
		if !bytes.Equal(got, f.Data) {
			t.Errorf("the saved %s is not compare's", f.Name)
		}
	}
	if saved, err := os.ReadDir(filepath.Join(b.root(), "mine")); err != nil || len(saved) != len(want)+1 {
		t.Errorf("%d files saved, compare writes %d (%v)", len(saved), len(want), err)
	}
}

func TestRolesComeFromNamesAlone(t *testing.T) {
	dir := t.TempDir()
	loud, soft := filepath.Join(dir, "a.wav"), filepath.Join(dir, "b.wav")
	record(t, loud, -60, 1)
	record(t, soft, -95, 2)
	b, s := open(t, Options{})
	dropFile(t, s, "quiet 1.wav", loud) // though it is the louder
	dropFile(t, s, "take.wav", soft)
	dropFile(t, s, "quiet 2.wav", soft)
	until(t, b, "three captures", func() bool { return len(b.captures) == 3 && !b.captures[2].Reading })
	b.mu.Lock()
	defer b.mu.Unlock()
	// The newest of a role has it: the one before was a try.
	for i, want := range []string{"", "", model.Quiet} {
		if got := b.captures[i].Role; got != want {
			t.Errorf("%s is %q, want %q", b.captures[i].Name, got, want)
		}
	}
}

func TestErrorsStandBesideTheirFile(t *testing.T) {
	b, s := open(t, Options{})
	drop(s, "near.wav", []byte("RIFF no wave"))
	drop(s, "quiet.wav", nil)
	until(t, b, "both looked at", func() bool { return len(b.captures) == 2 && !b.captures[0].Reading && !b.captures[1].Reading })
	html := ask(s, "GET", "", "", nil).Body.String()
	for _, c := range b.captures {
		var known *fault.Error
		if !errors.As(c.Err, &known) {
			t.Fatalf("%s: %v", c.Name, c.Err)
		}
		at := strings.Index(html, fmt.Sprintf(`id="capture-%d"`, c.ID))
		if at < 0 || !strings.Contains(html[at:], `<p class="wrong">`+c.Name+": ") {
			t.Errorf("%s: its error isn't beside it", c.Name)
		}
	}
	if w := post(s, "use", "id", "1", "role", "king"); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("an unknown role: %d", w.Code)
	}
	for _, bad := range [][]string{{"start", "-1"}, {"start", "x"}, {"start", "5", "end", "2"}, {"channel", "9"}, {"start", "NaN"}, {"end", "Inf"}} {
		if w := post(s, "use", append([]string{"id", "1", "role", "near"}, bad...)...); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d", bad, w.Code)
		}
	}
	for _, name := range []string{"", ".", "..", "a/b", `a\b`, "C:x", ".hidden", "../x", "a\x1b[31mb", "a\u202eb"} {
		if w := post(s, "save", "name", name); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("saved as %q: %d", name, w.Code)
		}
	}
	if w := post(s, "bench", "full-scale", "loud", "mains", "auto"); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a full scale that is none: %d", w.Code)
	}
	if w := post(s, "bench", "mains", "55"); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a mains that is none: %d", w.Code)
	}
}

// A hostile name stays text, on the page and on the disk.
func TestHostileNames(t *testing.T) {
	b, s := open(t, Options{})
	names := []string{`<img src=x onerror=alert(1)>.wav`, "../../../etc/x.wav", `..\..\x.wav`, "CON.wav", "a\x00b.wav", strings.Repeat("ä", 400) + ".wav", "", "\u202egnp.wav", "\x1b[31m.wav"}
	for _, n := range names {
		drop(s, n, []byte("x"))
	}
	// A part without a name is no file, and one with a control character no part.
	until(t, b, "all", func() bool { return len(b.captures) == len(names)-3 })
	html := ask(s, "GET", "", "", nil).Body.String()
	for _, bad := range []string{"<img", "\x1b", "\u202e"} {
		if strings.Contains(html, bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
	for _, c := range b.captures {
		if rel, err := filepath.Rel(b.space.Dir, c.Address.Path); err != nil || !filepath.IsLocal(rel) {
			t.Errorf("%q was kept at %s", c.Name, c.Address.Path)
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
	if got := code(sound()); got != http.StatusSeeOther {
		t.Errorf("its own page: %d", got)
	}
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
		if got := code(r); got != http.StatusForbidden {
			t.Errorf("%s: %d", name, got)
		}
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
	until(t, b, "what was there", func() bool { return b.role(model.Quiet) != nil })

	near := filepath.Join(dir, "near.wav")
	f := kit.Must(os.Create(near))(t)
	for i := range 4 {
		f.Write(whole[i*len(whole)/4 : (i+1)*len(whole)/4])
		time.Sleep(400 * time.Millisecond)
		b.mu.Lock()
		if len(b.captures) != 1 {
			t.Error("taken before it was whole")
		}
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
	if len(b.captures) != 2 {
		t.Errorf("%d captures", len(b.captures))
	}
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
	b.finish(late, outcome{err: context.Canceled})
	b.mu.Lock()
	if b.outcome.err != nil || b.outcome.total == 7 {
		t.Errorf("what was stopped was heard: %+v", b.outcome)
	}
	b.mu.Unlock()
	until(t, b, "a measurement again", func() bool { return b.outcome.measure != nil })
}

// Settings that change and change back while it measures end in the result of the
// last ones, with no error of a stopped job between.
func TestSetWhileMeasuring(t *testing.T) {
	dir := t.TempDir()
	quiet, near := filepath.Join(dir, "quiet.wav"), filepath.Join(dir, "near.wav")
	record(t, quiet, -95, 1)
	record(t, near, -80, 2)
	b, s := open(t, Options{})
	dropFile(t, s, "quiet.wav", quiet)
	dropFile(t, s, "near.wav", near)
	until(t, b, "the captures", func() bool { return b.role(model.Quiet) != nil && b.role(model.Near) != nil })
	for i := range 60 {
		post(s, "use", "id", "2", "role", "near", "channel", strconv.Itoa(i%3), "start", "0.5")
		post(s, "bench", "mains", []string{"50", "auto"}[i%2])
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
	until(t, b, "the comparison of the last settings", compared(b))
	b.mu.Lock()
	defer b.mu.Unlock()
	if got := b.outcome.compare.Pairs[0].Near; got.Channel != 2 || got.StartS != 0.5 || b.outcome.compare.Settings.Mains != "auto" {
		t.Errorf("%+v, %+v", got, b.outcome.compare.Settings)
	}
}

// A report is offered under a name that is free: an earlier one stays.
func TestNamesOfferedAreFree(t *testing.T) {
	b, _ := open(t, Options{})
	if got := b.free("hum-report"); got != "hum-report" {
		t.Error(got)
	}
	for _, taken := range []string{"hum-report", "hum-report-2"} {
		kit.OK(t, os.MkdirAll(filepath.Join(b.root(), taken), 0o755))
	}
	if got := b.free("hum-report"); got != "hum-report-3" {
		t.Error(got)
	}
}

// Kept pairs become a session that Load reads.
func TestSession(t *testing.T) {
	dir := t.TempDir()
	quiet, near := filepath.Join(dir, "a.wav"), filepath.Join(dir, "b.wav")
	record(t, quiet, -95, 1)
	record(t, near, -80, 2)
	b, s := open(t, Options{})
	if w := post(s, "keep"); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a pair of nothing: %d", w.Code)
	}
	for range 2 {
		dropFile(t, s, "quiet.wav", quiet)
		dropFile(t, s, "near.wav", near)
		n := len(b.captures)
		until(t, b, "both", func() bool {
			return b.role(model.Quiet) != nil && b.role(model.Near) != nil && !b.captures[n-1].Reading
		})
		if w := post(s, "keep"); w.Code != http.StatusOK {
			t.Fatal(w.Body)
		}
	}
	if w := post(s, "session", "name", "sitting"); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	loaded := kit.Must(session.Load(filepath.Join(b.root(), "sitting", "session.toml")))(t)
	if len(loaded.Sitting.Runs) != 4 || loaded.Sitting.Runs[3].Condition != model.Near || loaded.Sitting.Runs[3].Repeat != 2 {
		t.Errorf("runs: %+v", loaded.Sitting.Runs)
	}
	for _, r := range loaded.Sitting.Runs {
		if _, err := os.Stat(loaded.Locate(loaded.Named(r))); err != nil {
			t.Error(err)
		}
	}
	if w := post(s, "session", "name", "sitting"); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a second of the name: %d", w.Code)
	}
}

func TestOverview(t *testing.T) {
	x := make([]float64, 1000)
	for i := 500; i < 1000; i++ {
		x[i] = 0.5 // -6.02 dBFS peak
	}
	o := kit.Must(overview(t.Context(), capture.Samples(100, x)))(t)
	if o.Seconds != 10 || len(o.Peak) != columns || o.Peak[0] != 0 || o.Peak[columns-1] != 0.5 || math.Abs(o.RMS[columns-1]-0.5) > 1e-12 {
		t.Errorf("%v s, %d columns, %v … %v", o.Seconds, len(o.Peak), o.Peak[0], o.Peak[columns-1])
	}
	if few, err := overview(t.Context(), capture.Samples(100, x[:3])); err != nil || len(few.Peak) != 3 {
		t.Errorf("three samples: %v, %d columns", err, len(few.Peak))
	}
}

// watching is a page that asks for changes until it goes away.
func watching(s *Server) (leave func()) {
	ctx, stop := context.WithCancel(context.Background())
	r := httptest.NewRequest("GET", s.room()+"wait?version="+strconv.Itoa(s.bench.await(context.Background(), -1)), nil).WithContext(ctx)
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
	case <-time.After(5 * time.Second):
		t.Error("still running")
	}
}

// The last page that goes away takes the program with it; a reload doesn't, nor does
// one of two tabs. A page that stops asking without going away, its tab crashed or
// asleep, ends it in a while.
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
	_, s = open(t, Options{})
	s.pages.silence = soon
	endsAs(t, s, errSilent, func() {
		for range 4 {
			ask(s, "GET", "wait?version=-1", "", nil)
			time.Sleep(soon / 2)
		}
	})
}

// FuzzHandlers sends anything anywhere: no answer may be a crash or a file that
// nobody gave.
func FuzzHandlers(f *testing.F) {
	f.Add("POST", "use", "application/x-www-form-urlencoded", []byte("id=1&role=near&start=1e309&end=%ff"))
	f.Add("POST", "captures", "multipart/form-data; boundary=x", []byte("--x\r\nContent-Disposition: form-data; name=f; filename=\"../a.wav\"\r\n\r\nRIFF\r\n--x--"))
	f.Add("POST", "save", "application/x-www-form-urlencoded", []byte("name=../../x"))
	f.Add("GET", "wait?version=zzz", "", []byte{})
	f.Add("POST", "bench", "application/x-www-form-urlencoded", []byte("full-scale=1e400V&gain=-0dB&mains=50"))
	_, s := open(f, Options{})
	f.Fuzz(func(t *testing.T, method, path, kind string, body []byte) {
		if method != "GET" && method != "POST" || strings.Contains(path, "wait") || strings.Contains(path, "end") || strings.Contains(path, "left") {
			return // those wait, or end the program
		}
		u, err := url.Parse(s.room() + path)
		if err != nil {
			return
		}
		r := &http.Request{Method: method, URL: u, Host: s.door.host, Header: http.Header{"Origin": {"http://" + s.door.host}, "Cookie": {cookie + "=" + s.door.key}, "Content-Type": {kind}, "X-Bench": {"1"}},
			Body: io.NopCloser(bytes.NewReader(body)), ContentLength: int64(len(body))}
		w := httptest.NewRecorder()
		s.handler().ServeHTTP(w, r.WithContext(t.Context()))
		if w.Code >= 500 {
			t.Errorf("%s %s: %d %s", method, path, w.Code, w.Body)
		}
	})
}
