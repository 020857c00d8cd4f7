package live

import (
	"context"
	"encoding/base64"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"humdiff/fixtures/browser"
	"humdiff/fixtures/kit"

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
	focus(t, second, "bench-0-full_scale")
	browser.Do(t, second, chromedp.KeyEvent("2.0V"), chromedp.KeyEvent("\r"))
	sees(t, ctx, `document.querySelector("#bench-0-full_scale").value == "2.0V"`)
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

// Two captures dropped fall into their cells and are compared; a folder of folders is
// taken too, the inner one's name before the file's.
func TestDroppedInABrowser(t *testing.T) {
	dir := t.TempDir()
	quiet, near := filepath.Join(dir, "grebe quiet ü.wav"), filepath.Join(dir, "grebe near ü.wav")
	record(t, quiet, -95, 1)
	record(t, near, -80, 2)
	b, _, ctx, _ := visit(t, Options{Version: "1"})
	dropped(t, ctx, quiet, near)
	until(t, b, "a comparison of what was dropped", func() bool {
		return compared(b)() && b.outcome.compare.Pairs[0].Quiet.File == "grebe quiet ü.wav" && b.outcome.compare.Pairs[0].Near.File == "grebe near ü.wav"
	})
	sees(t, ctx, `document.querySelectorAll("#found figure").length > 0 && document.querySelectorAll(".cells td .chip").length == 2`)
	folder := filepath.Join(t.TempDir(), "captures", "Heron")
	kit.OK(t, os.MkdirAll(folder, 0o755))
	record(t, filepath.Join(folder, "quiet.wav"), -95, 3)
	browser.Do(t, ctx, chromedp.SetUploadFiles("#folder", []string{filepath.Dir(folder)}))
	until(t, b, "what was in the folder", func() bool { return len(b.takes) == 3 })
	if got := cells(b)["Heron quiet.wav"]; got != "Heron, quiet, repeat 1" {
		t.Errorf("it is %q: %v", got, cells(b))
	}
}
