package live

import (
	"bufio"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"humdiff/fixtures/browser"
	"humdiff/fixtures/kit"
	made "humdiff/fixtures/sitting"
	"humdiff/fixtures/trials"
	"humdiff/report/session"

	"github.com/chromedp/chromedp"
)

// edited is the folder of a bench that edits its session without an end, and says each
// edit that the page was told of.
const edited = "HUMDIFF_TEST_EDITED"

// TestEditing is what TestKilled kills.
func TestEditing(t *testing.T) {
	dir := os.Getenv(edited)
	if dir == "" {
		t.Skip("for TestKilled")
	}
	_, s := open(t, Options{Folder: dir})
	for n := 1; ; n++ {
		if w := post(s, "state/top", "title", fmt.Sprint("edit ", n)); w.Code != http.StatusOK {
			t.Fatal(w.Body)
		}
		post(s, "replaced")
		fmt.Println("edit", n)
	}
}

// A program that is killed while it edits has lost nothing that the page was told of:
// its session is whole, and no file of it is torn.
func TestKilled(t *testing.T) {
	dir, n, _ := spread(t, made.Kind{Cables: 3, Repeats: 2, Seconds: 2})
	rounds := 2
	if trials.Full() {
		rounds = 10
	}
	for round := range rounds {
		c := exec.Command(os.Args[0], "-test.run", "^TestEditing$")
		c.Env = append(os.Environ(), edited+"="+dir, "TMPDIR="+t.TempDir())
		out := kit.Must(c.StdoutPipe())(t)
		kit.OK(t, c.Start())
		told := 0
		lines := bufio.NewScanner(out)
		for lines.Scan() {
			if fmt.Sscanf(lines.Text(), "edit %d", &told); told > 30+7*round {
				break
			}
		}
		kit.OK(t, c.Process.Kill())
		c.Wait()
		f := kit.Must(session.Load(filepath.Join(dir, "session.toml")))(t)
		var last int
		fmt.Sscanf(f.Sitting.Title, "edit %d", &last)
		if last < told {
			t.Errorf("told of edit %d, the session has %q", told, f.Sitting.Title)
		}
		b, _ := open(t, Options{Folder: dir})
		until(t, b, "the captures", func() bool { return len(b.takes) == n && len(b.sitting.runs) == n })
	}
}

// Edits from several tabs at once are all there, in memory and on the disk.
func TestManyTabs(t *testing.T) {
	dir, n, _ := spread(t, made.Kind{Cables: 3, Repeats: 2, Seconds: 2})
	b, s := open(t, Options{Folder: dir})
	until(t, b, "the captures", func() bool { return len(b.takes) == n })
	runs := b.sitting.session().Sitting.Runs
	var tabs sync.WaitGroup
	for i, r := range runs {
		id := b.idOf(t, r.Address)
		tabs.Go(func() { post(s, "run", "id", id, "file", r.Address, "note", fmt.Sprint("tab ", i)) })
	}
	tabs.Wait()
	saved := kit.Must(session.Load(filepath.Join(dir, "session.toml")))(t)
	for i, r := range runs {
		found := false
		for _, x := range saved.Sitting.Runs {
			found = found || x.Address == r.Address && x.Note == fmt.Sprint("tab ", i)
		}
		if !found {
			t.Errorf("what was said of %s is lost", r.Address)
		}
	}
}

// An earlier sitting that a killed program left is offered, and goes on where it was.
func TestGoesOn(t *testing.T) {
	home := t.TempDir()
	from, n, _ := spread(t, small)
	first, s := open(t, Options{Home: home})
	files := kit.Must(filepath.Glob(filepath.Join(from, "*.wav")))(t)
	for _, f := range files {
		dropFile(t, s, filepath.Base(f), f)
		dropFile(t, s, filepath.Base(f), f) // twice is once
	}
	post(s, "confirm")
	next, again := open(t, Options{Home: home})
	name := filepath.Base(first.sitting.dir())
	if html := shows(again); !strings.Contains(html, `value="`+name+`"`) {
		t.Fatal("it isn't offered")
	}
	if w := post(again, "earlier", "name", name); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	all(t, next, n)
	if was, is := cells(first), cells(next); len(was) != n || fmt.Sprint(was) != fmt.Sprint(is) {
		t.Errorf("%v\nbecame %v", was, is)
	}
	kit.Same(t, post(again, "earlier", "name", "../x").Code, http.StatusUnprocessableEntity, "what is no sitting is opened")
	time.Sleep(2 * next.opt.often)
	kit.Same(t, len(next.sitting.runs), n, "runs")
}

// Five hundred captures stand in the grid within two seconds of the page, no task keeps
// the page's thread for more than a tenth of a second, and memory doesn't grow with
// samples.
func TestFiveHundred(t *testing.T) {
	if !trials.Full() {
		t.Skip("five hundred captures are measured: " + trials.Variable + "=full")
	}
	dir, n, _ := spread(t, made.FiveHundred)
	old := time.Now().Add(-time.Hour)
	files, _ := filepath.Glob(filepath.Join(dir, "*.wav"))
	for _, f := range files {
		os.Chtimes(f, old, old)
	}
	began := time.Now()
	b, _, ctx, _ := visit(t, Options{Folder: dir})
	browser.Ask[string](t, ctx, `window.longest = 0; new PerformanceObserver(l => { for (const e of l.getEntries()) longest = Math.max(longest, e.duration); }).observe({type: "longtask", buffered: true}); ""`)
	sees(t, ctx, `document.querySelectorAll(".cells .chip").length == 501`)
	t.Logf("the grid after %v, the browser's start included", time.Since(began))
	browser.Do(t, ctx, chromedp.Reload())
	browser.Ask[string](t, ctx, `window.longest = 0; new PerformanceObserver(l => { for (const e of l.getEntries()) longest = Math.max(longest, e.duration); }).observe({type: "longtask", buffered: true}); ""`)
	if ms := browser.Ask[float64](t, ctx, `performance.getEntriesByType("navigation")[0].domContentLoadedEventEnd`); ms > 2000 {
		t.Errorf("the grid takes %.0f ms", ms)
	} else {
		t.Logf("the grid after %.0f ms", ms)
	}
	var heap uint64
	for end := time.Now().Add(90 * time.Second); time.Now().Before(end); time.Sleep(200 * time.Millisecond) {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		heap = max(heap, m.HeapAlloc)
		b.mu.Lock()
		done := len(b.takes) == n && b.stop == nil && b.outcome.judged != nil && len(b.outcome.ids) == n
		b.mu.Unlock()
		if done {
			break
		}
	}
	t.Logf("all after %v, %d judged; heap up to %d MB; the longest task %.0f ms", time.Since(began), len(b.outcome.ids), heap>>20, browser.Ask[float64](t, ctx, "longest"))
	if ms := browser.Ask[float64](t, ctx, "longest"); ms > 100 {
		t.Errorf("a task of %.0f ms kept the page", ms)
	}
	if heap > 1<<30 {
		t.Errorf("%d MB", heap>>20)
	}
}

// enter asks for an address as a browser does that a file has sent there.
func enter(s *Server, address string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest("GET", address, nil)
	r.Host = s.door.host
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	s.handler().ServeHTTP(w, r)
	return w
}

// What a browser's command line names, a file, tells nobody anything but the user,
// who alone can read it.
func TestTheWayInIsTheUsersAlone(t *testing.T) {
	_, s := open(t, Options{})
	file := kit.Must(os.Stat(s.File()))(t)
	folder := kit.Must(os.Stat(filepath.Dir(s.File())))(t)
	if runtime.GOOS != "windows" && (file.Mode().Perm() != 0o600 || folder.Mode().Perm() != 0o700) {
		t.Errorf("%v in %v", file.Mode(), folder.Mode())
	}
	kit.Lacks(t, "the path", s.File(), s.door.ticket, s.door.key, s.door.room)
	html := kit.Must(os.ReadFile(s.File()))(t)
	if !strings.Contains(string(html), `0;url=`+s.Address()+`"`) || strings.Contains(string(html), s.door.key) {
		t.Errorf("the file holds %s", html)
	}
}

// The ticket is worth one cookie, which scripts don't see and other sites' pages
// don't send. A browser that fetches ahead uses nothing up, one that is in may come
// again, all others come too late.
func TestTicketWorksOnce(t *testing.T) {
	_, s := open(t, Options{})
	file, address := s.File(), s.Address()
	if w := enter(s, address[:len(address)-1]); w.Code != http.StatusForbidden {
		t.Errorf("half a ticket: %d", w.Code)
	}
	if w := enter(s, address, "Sec-Purpose", "prefetch;prerender"); w.Code != http.StatusForbidden {
		t.Errorf("fetched ahead: %d", w.Code)
	}
	w := enter(s, address)
	if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), `0;url=`+s.door.room+`"`) {
		t.Fatalf("the ticket: %d %s", w.Code, w.Body)
	}
	c := w.Result().Cookies()[0]
	if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != s.door.room || c.Domain != "" || c.MaxAge != 0 {
		t.Errorf("the cookie is %v", c)
	}
	if _, err := os.Stat(file); err == nil {
		t.Error("the file is still there")
	}
	if w := enter(s, address); w.Code != http.StatusForbidden || len(w.Result().Cookies()) > 0 {
		t.Errorf("the ticket again: %d", w.Code)
	}
	if w := enter(s, s.room()+"enter?ticket="); w.Code != http.StatusForbidden {
		t.Errorf("no ticket: %d", w.Code)
	}
	if w := enter(s, s.room(), "Cookie", c.Name+"="+c.Value); w.Code != http.StatusOK {
		t.Errorf("the page: %d", w.Code)
	}
	if w := enter(s, address, "Cookie", c.Name+"="+c.Value); w.Code != http.StatusOK {
		t.Errorf("the same browser again: %d", w.Code)
	}
}
