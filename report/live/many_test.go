package live

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"humdiff/fixtures/browser"
	made "humdiff/fixtures/sitting"
	"humdiff/fixtures/trials"

	"github.com/chromedp/chromedp"
)

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
