package live

import (
	"context"
	"encoding/base64"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"humdiff/fixtures/browser"
	"humdiff/fixtures/kit"
	"humdiff/report/model"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// dropped lets files fall on the page, as from a file manager.
func dropped(t *testing.T, ctx context.Context, paths ...string) {
	t.Helper()
	var files strings.Builder
	for _, p := range paths {
		data := kit.Must(os.ReadFile(p))(t)
		fmt.Fprintf(&files, "dt.items.add(new File([Uint8Array.from(atob(%q), c => c.charCodeAt(0))], %q));\n", base64.StdEncoding.EncodeToString(data), filepath.Base(p))
	}
	marked := browser.Ask[bool](t, ctx, `(() => {
		const dt = new DataTransfer();
		`+files.String()+`
		const fire = kind => document.querySelector(".drop").dispatchEvent(new DragEvent(kind, {dataTransfer: dt, bubbles: true, cancelable: true}));
		fire("dragenter"); fire("dragover");
		const marked = document.querySelector(".drop").classList.contains("over");
		fire("drop");
		return marked && !document.querySelector(".drop").classList.contains("over");
	})()`)
	if !marked {
		t.Error("the place to drop on doesn't show that files are over it")
	}
}

// drag draws on an element from one share of its width to another.
func drag(t *testing.T, ctx context.Context, selector string, from, to float64) {
	t.Helper()
	box := browser.Ask[[]float64](t, ctx, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.scrollIntoView({block: "center"}); const b = e.getBoundingClientRect(); return [b.left, b.top + b.height / 2, b.width]; })()`, selector))
	at := func(share float64) (x, y float64) { return box[0] + share*box[2], box[1] }
	for _, m := range []struct {
		kind  input.DispatchMouseEventType
		share float64
	}{{input.DispatchMouseEventTypeMousePressed, from}, {input.DispatchMouseEventTypeMouseMoved, (from + to) / 2}, {input.DispatchMouseEventTypeMouseMoved, to}, {input.DispatchMouseEventTypeMouseReleased, to}} {
		x, y := at(m.share)
		browser.Do(t, ctx, chromedp.MouseEvent(m.kind, x, y, chromedp.ButtonLeft, chromedp.ClickCount(1)))
	}
}

// Two captures dropped: roles from their names, a comparison, then a span drawn
// on one's overview, which the fields and the result have too.
func TestDroppedInABrowser(t *testing.T) {
	dir := t.TempDir()
	quiet, near := filepath.Join(dir, "bench quiet ü.wav"), filepath.Join(dir, "bench near ü.wav")
	record(t, quiet, -95, 1)
	record(t, near, -80, 2)
	b, _, ctx, _ := visit(t, Options{Version: "1"})
	dropped(t, ctx, quiet, near)
	until(t, b, "a comparison of what was dropped", func() bool {
		return compared(b)() && b.outcome.compare.Pairs[0].Quiet.File == "bench quiet ü.wav" && b.outcome.compare.Pairs[0].Near.File == "bench near ü.wav"
	})
	sees(t, ctx, `document.querySelectorAll("#found figure").length > 0 && document.querySelectorAll(".overview").length == 2`)
	drag(t, ctx, ".overview", 0.25, 0.75)
	until(t, b, "a comparison of the span", func() bool {
		// A capture of 3 s: to a pixel, of some hundred.
		return compared(b)() && math.Abs(float64(b.outcome.compare.Pairs[0].Quiet.StartS)-0.75) < 0.04 && math.Abs(float64(b.outcome.compare.Pairs[0].Quiet.EndS)-2.25) < 0.04
	})
	sees(t, ctx, `Math.abs(document.querySelector("[name=start]").value - 0.75) < 0.04 && Math.abs(document.querySelector("[name=end]").value - 2.25) < 0.04`)
	drag(t, ctx, ".overview", 0.5, 0.5) // a click: the whole again
	until(t, b, "the whole again", func() bool {
		return compared(b)() && b.outcome.compare.Pairs[0].Quiet.StartS == 0 && b.outcome.compare.Pairs[0].Quiet.EndS == 3
	})
}

// Ten captures at once are all there, each read; one has each role, the latest.
func TestTenDropped(t *testing.T) {
	dir := t.TempDir()
	var paths []string
	for i := range 10 {
		path := filepath.Join(dir, fmt.Sprintf("%s %d.wav", []string{"quiet", "near"}[i%2], i))
		record(t, path, -95+15*float64(i%2), int64(i))
		paths = append(paths, path)
	}
	b, _, ctx, _ := visit(t, Options{})
	dropped(t, ctx, paths...)
	sees(t, ctx, `document.querySelectorAll(".capture").length == 10`)
	until(t, b, "all ten read, the last pair compared", func() bool {
		for _, c := range b.captures {
			if c.Reading || c.Err != nil {
				return false
			}
		}
		return len(b.captures) == 10 && b.role(model.Near).Name == "near 9.wav" && compared(b)() && b.outcome.compare.Pairs[0].Quiet.File == "quiet 8.wav" &&
			b.outcome.compare.Pairs[0].Near.File == "near 9.wav"
	})
	sees(t, ctx, `[...document.querySelectorAll("select[name=role]")].filter(s => s.value == "near").length == 1`)
}

// What one tab changes another shows; the program goes on while either is open,
// and ends with the last.
func TestTwoTabs(t *testing.T) {
	path := filepath.Join(t.TempDir(), "near.wav")
	record(t, path, -80, 1)
	_, s, ctx, ran := visit(t, Options{}, "ERR_")
	s.pages.mu.Lock()
	s.pages.leaving = 700 * time.Millisecond
	s.pages.mu.Unlock()
	second, shut := chromedp.NewContext(ctx)
	defer shut()
	browser.Do(t, second, chromedp.Navigate(s.room()))
	choose(t, ctx, path)
	for _, tab := range []context.Context{ctx, second} {
		sees(t, tab, `document.querySelectorAll("#found table").length > 0`)
	}
	focus(t, second, "full-scale")
	browser.Do(t, second, chromedp.KeyEvent("2.0V"), chromedp.KeyEvent("\r"))
	sees(t, ctx, `document.querySelector("#full-scale").value == "2.0V"`)
	browser.Do(t, second, chromedp.Navigate("about:blank"))
	select {
	case err := <-ran:
		t.Fatalf("ended with one of two tabs: %v", err)
	case <-time.After(2 * s.pages.leaving):
	}
	browser.Do(t, ctx, chromedp.Navigate("about:blank"))
	select {
	case err := <-ran:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(time.Minute): // a busy machine's browser takes its time to leave
		t.Error("goes on without a tab")
	}
}

// A question of the page goes once it is answered.
func TestAnsweredInABrowser(t *testing.T) {
	dir := t.TempDir()
	quiet, near := filepath.Join(dir, "grebe quiet.wav"), filepath.Join(dir, "heron near.wav")
	record(t, quiet, -95, 1)
	record(t, near, -80, 2)
	_, _, ctx, _ := visit(t, Options{})
	dropped(t, ctx, quiet, near)
	sees(t, ctx, `document.querySelector(".ask")?.textContent.includes("share no cable")`)
	press(t, ctx, "They are of one cable")
	sees(t, ctx, `!document.querySelector(".ask")`)
}
