package desk

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/wavfile"
	"humdiff/report/assemble"
	"humdiff/report/gather"
	"humdiff/report/session"
	"humdiff/report/volts"
)

// record simulates three seconds of hum at a level.
func record(t testing.TB, path string, dBFS float64, seed int64) {
	t.Helper()
	made, err := bench.Comb{Rate: 8000, Seconds: 3, Track: bench.Steady(50.01), FloorDBFSHz: -125, Seed: seed,
		Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: dBFS}, {Harmonic: 3, PowerDBFS: dBFS - 10}}}.Make()
	if err != nil {
		t.Fatal(err)
	}
	if err := wavfile.Write(path, wavfile.Format{Rate: 8000, Bits: 24}, made.Samples, made.Samples); err != nil {
		t.Fatal(err)
	}
}

// open gives a desk with a server that is not yet run.
func open(t testing.TB, o Options) (*Desk, *Server) {
	t.Helper()
	if o.Home == "" {
		o.Home = filepath.Join(t.TempDir(), "reports")
	}
	d, err := New(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Serve(d)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		s.net.Close()
		if err := d.Close(); err != nil {
			t.Error(err)
		}
		if _, err := os.Stat(d.uploads); err == nil {
			t.Error("the uploads are still there")
		}
	})
	return d, s
}

// until waits for the desk to be as wanted.
func until(t testing.TB, d *Desk, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		d.mu.Lock()
		is := ok()
		d.mu.Unlock()
		if is {
			return
		}
	}
	t.Fatalf("waited in vain for %s: %+v", what, d.outcome)
}

func compared(d *Desk) func() bool { return func() bool { return d.outcome.compare != nil } }

// ask sends a request as a page of the desk would.
func ask(s *Server, method, path string, kind string, body io.Reader) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, s.Address()+path, body)
	r.Host = s.host
	r.Header.Set("Origin", "http://"+s.host)
	r.Header.Set("Content-Type", kind)
	r.Header.Set("X-Desk", "1")
	w := httptest.NewRecorder()
	s.Handler().ServeHTTP(w, r)
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
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if w := drop(s, name, content); w.Code != http.StatusOK {
		t.Fatalf("%s: %d %s", name, w.Code, w.Body)
	}
}

// What the desk shows and saves is what compare says of the same captures.
func TestSameAsCompare(t *testing.T) {
	dir := t.TempDir()
	quiet, near := filepath.Join(dir, "quiet.wav"), filepath.Join(dir, "near.wav")
	record(t, quiet, -95, 1)
	record(t, near, -80, 2)
	d, s := open(t, Options{Version: "1"})
	dropFile(t, s, "quiet.wav", quiet)
	dropFile(t, s, "near.wav", near)
	shorted := filepath.Join(dir, "residual.wav")
	record(t, shorted, -110, 3)
	dropFile(t, s, "residual.wav", shorted)
	if w := post(s, "bench", "full-scale", "2.0V", "gain", "40dB", "mains", "50"); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	until(t, d, "the captures", func() bool {
		return d.role(session.Quiet) != nil && d.role(session.Near) != nil && d.role(session.Residual) != nil
	})
	if w := post(s, "use", "id", "2", "role", "near", "channel", "1", "start", "0,5", "end", ""); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	until(t, d, "a comparison of the span", func() bool {
		return compared(d)() && d.outcome.compare.Pairs[0].Near.StartS == 0.5 && d.outcome.compare.Pairs[0].Residual != nil
	})

	pairs, err := assemble.ReadPair(t.Context(), capture.Address{Path: quiet}, capture.Address{Path: near, Channel: 1, Start: 0.5}, mains.Options{Nominal: 50})
	if err != nil {
		t.Fatal(err)
	}
	if err := assemble.ReadResidual(t.Context(), capture.Address{Path: shorted}, pairs, mains.Options{Nominal: 50}); err != nil {
		t.Fatal(err)
	}
	for i := range pairs {
		pairs[i].Quiet.File, pairs[i].Near.File, pairs[i].Residual.File = "quiet.wav", "near.wav", "residual.wav"
	}
	scale, err := volts.Stated("2.0V", "40dB")
	if err != nil {
		t.Fatal(err)
	}
	want, err := gather.Compare(assemble.Compare("1", assemble.Settings(mains.Options{Nominal: 50}, scale), pairs))
	if err != nil {
		t.Fatal(err)
	}
	if w := post(s, "save", "name", "mine"); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	for _, f := range want {
		got, err := os.ReadFile(filepath.Join(d.root(), "mine", f.Name))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, f.Data) {
			t.Errorf("the saved %s is not compare's", f.Name)
		}
	}
	if saved, err := os.ReadDir(filepath.Join(d.root(), "mine")); err != nil || len(saved) != len(want)+1 {
		t.Errorf("%d files saved, compare writes %d (%v)", len(saved), len(want), err)
	}
	if w := ask(s, "GET", "report.html", "", nil); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "What was found") {
		t.Errorf("the report: %d", w.Code)
	}
}

func TestRolesComeFromNamesAlone(t *testing.T) {
	dir := t.TempDir()
	loud, soft := filepath.Join(dir, "a.wav"), filepath.Join(dir, "b.wav")
	record(t, loud, -60, 1)
	record(t, soft, -95, 2)
	d, s := open(t, Options{})
	dropFile(t, s, "quiet 1.wav", loud) // though it is the louder
	dropFile(t, s, "take.wav", soft)
	dropFile(t, s, "quiet 2.wav", soft)
	until(t, d, "three captures", func() bool { return len(d.captures) == 3 && !d.captures[2].Reading })
	d.mu.Lock()
	defer d.mu.Unlock()
	// The newest of a role has it: the one before was a try.
	for i, want := range []session.Condition{"", "", session.Quiet} {
		if got := d.captures[i].Role; got != want {
			t.Errorf("%s is %q, want %q", d.captures[i].Name, got, want)
		}
	}
}

func TestErrorsStandBesideTheirFile(t *testing.T) {
	d, s := open(t, Options{})
	drop(s, "near.wav", []byte("RIFF no wave"))
	drop(s, "quiet.wav", nil)
	until(t, d, "both looked at", func() bool { return len(d.captures) == 2 && !d.captures[0].Reading && !d.captures[1].Reading })
	html := ask(s, "GET", "", "", nil).Body.String()
	for _, c := range d.captures {
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
	for _, name := range []string{"", ".", "..", "a/b", `a\b`, "C:x", ".hidden", "../x"} {
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
	d, s := open(t, Options{})
	names := []string{`<img src=x onerror=alert(1)>.wav`, "../../../etc/x.wav", `..\..\x.wav`, "CON.wav", "a\x00b.wav", strings.Repeat("ä", 400) + ".wav", "", "\u202egnp.wav", "\x1b[31m.wav"}
	for _, n := range names {
		drop(s, n, []byte("x"))
	}
	// A part without a name is no file, and one with a control character no part.
	until(t, d, "all", func() bool { return len(d.captures) == len(names)-3 })
	html := ask(s, "GET", "", "", nil).Body.String()
	for _, bad := range []string{"<img", "\x1b", "\u202e"} {
		if strings.Contains(html, bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
	for _, c := range d.captures {
		if rel, err := filepath.Rel(d.uploads, c.Address.Path); err != nil || !filepath.IsLocal(rel) {
			t.Errorf("%q was kept at %s", c.Name, c.Address.Path)
		}
	}
}

// Nobody but the desk's own page gets anything.
func TestGuard(t *testing.T) {
	_, s := open(t, Options{})
	sound := func() *http.Request {
		r := httptest.NewRequest("POST", s.Address()+"again", nil)
		r.Host = s.host
		r.Header.Set("Origin", "http://"+s.host)
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		return r
	}
	code := func(r *http.Request) int {
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, r)
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
		"localhost by name":       func(r *http.Request) { r.Host = strings.Replace(s.host, "127.0.0.1", "localhost", 1) },
		"no host":                 func(r *http.Request) { r.Host = "" },
		"no token":                func(r *http.Request) { r.URL.Path = "/again" },
		"another token":           func(r *http.Request) { r.URL.Path = "/" + strings.Repeat("A", len(s.token)) + "/again" },
		"half a token":            func(r *http.Request) { r.URL.Path = "/" + s.token[:5] + "/again" },
		"another origin":          func(r *http.Request) { r.Header.Set("Origin", "http://elsewhere.example") },
		"another port's origin":   func(r *http.Request) { r.Header.Set("Origin", "http://127.0.0.1:1") },
		"no origin":               func(r *http.Request) { r.Header.Del("Origin") },
		"from another site":       func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") },
		"null origin, other site": func(r *http.Request) { r.Header.Set("Origin", "null"); r.Header.Set("Sec-Fetch-Site", "cross-site") },
		"another method":          func(r *http.Request) { r.Method = "PUT" },
	} {
		r := sound()
		spoil(r)
		if got := code(r); got != http.StatusForbidden {
			t.Errorf("%s: %d", name, got)
		}
	}
	for _, path := range []string{"desk.go", "%2e%2e/x", "captures", "report.html/x"} {
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
	whole, err := os.ReadFile(made)
	if err != nil {
		t.Fatal(err)
	}
	old := filepath.Join(dir, "quiet.wav")
	record(t, old, -95, 2)
	long := time.Now().Add(-time.Hour)
	if err := os.Chtimes(old, long, long); err != nil {
		t.Fatal(err)
	}
	d, s := open(t, Options{Folder: dir})
	until(t, d, "what was there", func() bool { return d.role(session.Quiet) != nil })

	near := filepath.Join(dir, "near.wav")
	f, err := os.Create(near)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 4 {
		f.Write(whole[i*len(whole)/4 : (i+1)*len(whole)/4])
		time.Sleep(400 * time.Millisecond)
		d.mu.Lock()
		if len(d.captures) != 1 {
			t.Error("taken before it was whole")
		}
		d.mu.Unlock()
	}
	f.Close()
	until(t, d, "the comparison", compared(d))
	if w := post(s, "save", "name", "out"); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	if _, err := os.Stat(filepath.Join(dir, "out", "report.html")); err != nil {
		t.Error(err)
	}
	// Recorded over, it is measured anew.
	first := d.outcome.compare.Pairs[0].Near.SHA256
	record(t, near, -70, 9)
	until(t, d, "the new comparison", func() bool { return compared(d)() && d.outcome.compare.Pairs[0].Near.SHA256 != first })
	if len(d.captures) != 2 {
		t.Errorf("%d captures", len(d.captures))
	}
}

func TestCancelAndAgain(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "near.wav")
	record(t, path, -80, 1)
	d, s := open(t, Options{})
	dropFile(t, s, "near.wav", path)
	until(t, d, "a measurement", func() bool { return d.outcome.measure != nil })
	// One that never ends by itself stands for a long one.
	d.mu.Lock()
	stopped, late := false, d.job
	d.outcome = outcome{wanted: d.outcome.wanted, measuring: true}
	d.stop = func() { stopped = true }
	d.mu.Unlock()
	post(s, "cancel")
	d.mu.Lock()
	if !stopped || d.outcome.measuring || !d.outcome.cancelled {
		t.Errorf("after cancel: %v, %+v", stopped, d.outcome)
	}
	d.mu.Unlock()
	post(s, "again")
	// The stopped one ends only now, though the same is wanted again.
	d.progress(late)(7, 7)
	d.finish(late, outcome{err: context.Canceled})
	d.mu.Lock()
	if d.outcome.err != nil || d.outcome.total == 7 {
		t.Errorf("what was stopped was heard: %+v", d.outcome)
	}
	d.mu.Unlock()
	until(t, d, "a measurement again", func() bool { return d.outcome.measure != nil })
}

// Settings that change and change back while it measures end in the result of the
// last ones, with no error of a stopped job between.
func TestSetWhileMeasuring(t *testing.T) {
	dir := t.TempDir()
	quiet, near := filepath.Join(dir, "quiet.wav"), filepath.Join(dir, "near.wav")
	record(t, quiet, -95, 1)
	record(t, near, -80, 2)
	d, s := open(t, Options{})
	dropFile(t, s, "quiet.wav", quiet)
	dropFile(t, s, "near.wav", near)
	until(t, d, "the captures", func() bool { return d.role(session.Quiet) != nil && d.role(session.Near) != nil })
	for i := range 60 {
		post(s, "use", "id", "2", "role", "near", "channel", strconv.Itoa(i%3), "start", "0.5")
		post(s, "bench", "mains", []string{"50", "auto"}[i%2])
		if i%5 == 0 {
			post(s, "cancel")
			post(s, "again")
		}
		d.mu.Lock()
		if d.outcome.err != nil {
			t.Errorf("step %d: %v", i, d.outcome.err)
		}
		d.mu.Unlock()
		time.Sleep(time.Duration(i%4) * 3 * time.Millisecond)
	}
	until(t, d, "the comparison of the last settings", compared(d))
	d.mu.Lock()
	defer d.mu.Unlock()
	if got := d.outcome.compare.Pairs[0].Near; got.Channel != 2 || got.StartS != 0.5 || d.outcome.compare.Settings.Mains != "auto" {
		t.Errorf("%+v, %+v", got, d.outcome.compare.Settings)
	}
}

// A report is offered under a name that is free: an earlier one stays.
func TestNamesOfferedAreFree(t *testing.T) {
	d, _ := open(t, Options{})
	if got := d.free("hum-report"); got != "hum-report" {
		t.Error(got)
	}
	for _, taken := range []string{"hum-report", "hum-report-2"} {
		if err := os.MkdirAll(filepath.Join(d.root(), taken), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if got := d.free("hum-report"); got != "hum-report-3" {
		t.Error(got)
	}
}

// Kept pairs become a session that Load reads.
func TestSession(t *testing.T) {
	dir := t.TempDir()
	quiet, near := filepath.Join(dir, "a.wav"), filepath.Join(dir, "b.wav")
	record(t, quiet, -95, 1)
	record(t, near, -80, 2)
	d, s := open(t, Options{})
	if w := post(s, "keep"); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a pair of nothing: %d", w.Code)
	}
	for range 2 {
		dropFile(t, s, "quiet.wav", quiet)
		dropFile(t, s, "near.wav", near)
		n := len(d.captures)
		until(t, d, "both", func() bool {
			return d.role(session.Quiet) != nil && d.role(session.Near) != nil && !d.captures[n-1].Reading
		})
		if w := post(s, "keep"); w.Code != http.StatusOK {
			t.Fatal(w.Body)
		}
	}
	if w := post(s, "session", "name", "sitting"); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	loaded, err := session.Load(filepath.Join(d.root(), "sitting", "session.toml"))
	if err != nil {
		t.Fatal(err)
	}
	if len(loaded.Runs) != 4 || loaded.Runs[3].Condition != session.Near || loaded.Runs[3].Repeat != 2 {
		t.Errorf("runs: %+v", loaded.Runs)
	}
	for _, r := range loaded.Runs {
		if _, err := os.Stat(loaded.Locate(r.Address.Path)); err != nil {
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
	o, err := overview(t.Context(), capture.Samples(100, x))
	if err != nil {
		t.Fatal(err)
	}
	if o.Seconds != 10 || len(o.Peak) != columns || o.Peak[0] != 0 || o.Peak[columns-1] != 0.5 || math.Abs(o.RMS[columns-1]-0.5) > 1e-12 {
		t.Errorf("%v s, %d columns, %v … %v", o.Seconds, len(o.Peak), o.Peak[0], o.Peak[columns-1])
	}
	if few, err := overview(t.Context(), capture.Samples(100, x[:3])); err != nil || len(few.Peak) != 3 {
		t.Errorf("three samples: %v, %d columns", err, len(few.Peak))
	}
}

// The last page that goes away takes the program with it; a reload doesn't.
func TestEnds(t *testing.T) {
	_, s := open(t, Options{})
	s.leaving = 300 * time.Millisecond
	done := make(chan error, 1)
	go func() { done <- s.Run(t.Context()) }()
	post(s, "came")
	post(s, "left")
	post(s, "came") // a reload
	select {
	case err := <-done:
		t.Fatalf("ended at a reload: %v", err)
	case <-time.After(2 * s.leaving):
	}
	if w := post(s, "end"); w.Code != http.StatusOK {
		t.Error(w.Body)
	}
	select {
	case err := <-done:
		if err != nil || s.Why() != "Ended from the page." {
			t.Error(err, s.Why())
		}
	case <-time.After(5 * time.Second):
		t.Error("still running")
	}
}

// A page that stops asking for changes without a word, its tab crashed, ends the
// program in a while; one that asks keeps it.
func TestSilenceEnds(t *testing.T) {
	_, s := open(t, Options{})
	s.silence = 300 * time.Millisecond
	done := make(chan error, 1)
	go func() { done <- s.Run(t.Context()) }()
	post(s, "came")
	for range 4 {
		ask(s, "GET", "wait?version=-1", "", nil)
		time.Sleep(150 * time.Millisecond)
	}
	select {
	case err := <-done:
		t.Fatalf("ended while a page asks: %v", err)
	default:
	}
	select {
	case err := <-done:
		if err != nil || !strings.Contains(s.Why(), "tab is gone") {
			t.Error(err, s.Why())
		}
	case <-time.After(5 * time.Second):
		t.Error("still running")
	}
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
		u, err := url.Parse(s.Address() + path)
		if err != nil {
			return
		}
		r := &http.Request{Method: method, URL: u, Host: s.host, Header: http.Header{"Origin": {"http://" + s.host}, "Content-Type": {kind}, "X-Desk": {"1"}},
			Body: io.NopCloser(bytes.NewReader(body)), ContentLength: int64(len(body))}
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, r.WithContext(t.Context()))
		if w.Code >= 500 {
			t.Errorf("%s %s: %d %s", method, path, w.Code, w.Body)
		}
	})
}
