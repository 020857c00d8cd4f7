package live

import (
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"humdiff/fixtures/browser"
	"humdiff/fixtures/kit"
	made "humdiff/fixtures/sitting"
	"humdiff/report/doc"
	"humdiff/report/model"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

func TestMain(m *testing.M) { os.Exit(browser.Main(m)) }

// visit shows a running bench in a browser. What the page must never do, ask
// anybody else or complain, is looked for at the end.
func visit(t *testing.T, o Options, expected ...string) (*Bench, *Server, context.Context, <-chan error) {
	t.Helper()
	t.Parallel() // pages wait for the program, and it for them
	ctx := browser.Start(t)
	b, s := open(t, o)
	ran := make(chan error, 1)
	running, stop := context.WithCancel(t.Context())
	t.Cleanup(stop)
	go func() { ran <- s.Run(running) }()
	way := "file://" + filepath.ToSlash(s.File())
	var seen browser.Observed
	kit.OK(t, chromedp.Listen(ctx, seen.Event))
	t.Cleanup(func() {
		said, asked := seen.Take()
		for _, line := range said {
			if !slices.ContainsFunc(expected, func(a string) bool { return strings.Contains(line, a) }) {
				t.Errorf("the console says %q", line)
			}
		}
		for _, url := range asked {
			if !strings.HasPrefix(url, s.room()) && !strings.HasPrefix(url, "data:") && url != way {
				t.Errorf("the page asked for %s", url)
			}
		}
	})
	browser.Do(t, ctx, chromedp.EmulateViewport(1280, 900), chromedp.Navigate(way))
	arrives(t, ctx)
	return b, s, ctx, ran
}

// arrives waits until the file has led through the door to the page: on the way there
// is at times no page to ask.
func arrives(t *testing.T, ctx context.Context) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		if there, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.readyState == "complete" && typeof bench == "object"`)); err == nil && there {
			return
		}
	}
	t.Fatal("the file doesn't lead to the page")
}

// sees waits until an expression in the page is true.
func sees(t *testing.T, ctx context.Context, expression string) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		if browser.Ask[bool](t, ctx, "Boolean("+expression+")") {
			return
		}
	}
	t.Fatalf("never: %s\n%s", expression, browser.Ask[string](t, ctx, "document.body.innerText"))
}

// choose hands files to the page as its user's choice.
func choose(t *testing.T, ctx context.Context, paths ...string) {
	t.Helper()
	browser.Do(t, ctx, chromedp.SetUploadFiles("#files", paths))
}

// handle does something to an element e as soon as there is one. In the page, because
// between finding a node from outside and handling it the page may have taken in a change.
func handle(t *testing.T, ctx context.Context, element, do string) {
	t.Helper()
	sees(t, ctx, fmt.Sprintf(`(e => e && (%s, true))(%s)`, do, element))
}

// focus puts the keyboard on an element.
func focus(t *testing.T, ctx context.Context, id string) {
	t.Helper()
	handle(t, ctx, fmt.Sprintf(`document.getElementById(%q)`, id), `e.focus()`)
}

// fill writes into a field, as a user's paste would.
func fill(t *testing.T, ctx context.Context, id, text string) {
	t.Helper()
	handle(t, ctx, fmt.Sprintf(`document.getElementById(%q)`, id), fmt.Sprintf(`e.value = %q`, text))
}

// press presses the button of a name.
func press(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	handle(t, ctx, fmt.Sprintf(`[...document.querySelectorAll("button")].find(b => b.textContent == %q)`, name), `e.click()`)
}

// sameLines holds the page's delta table against the result's numbers.
func sameLines(t *testing.T, ctx context.Context, r model.Compare) {
	t.Helper()
	cells := browser.Ask[[]string](t, ctx, `[...document.querySelectorAll("#found table.sorts tbody tr")].map(r => r.querySelector("[data-head=delta]").textContent)`)
	var lines []model.LineChange
	for _, p := range r.Pairs {
		lines = append(lines, p.Lines...)
	}
	if len(cells) != len(lines) || len(cells) == 0 {
		t.Fatalf("%d rows for %d lines", len(cells), len(lines))
	}
	compared := 0
	for i, l := range lines {
		db, measured := l.Delta.Value()
		if !measured {
			continue
		}
		compared++
		text, _, _ := strings.Cut(strings.TrimSpace(strings.ReplaceAll(cells[i], "−", "-")), " ")
		_, digits, _ := strings.Cut(text, ".")
		if want := strconv.FormatFloat(db, 'f', len(digits), 64); text != want {
			t.Errorf("row %d: %q, the result has %s dB", i+1, cells[i], want)
		}
	}
	if compared == 0 {
		t.Error("no line was measured in both")
	}
}

// Stopping is told at once, the keyboard's place is kept while percents move, and
// only the state, not the percent, is in a live region.
func TestStoppedInABrowser(t *testing.T) {
	path := filepath.Join(t.TempDir(), "near.wav")
	record(t, path, -80, 1)
	b, _, ctx, _ := visit(t, Options{})
	choose(t, ctx, path)
	until(t, b, "a measurement", func() bool { return b.outcome.measure != nil })
	percent := func(n int64) {
		b.mu.Lock()
		defer b.mu.Unlock()
		b.outcome.measuring, b.outcome.done, b.outcome.total = true, n, 100
		b.stop = func() {}
		b.touch()
	}
	percent(1)
	sees(t, ctx, `document.querySelector("progress")?.value == 1`)
	browser.Ask[string](t, ctx, `window.told = 0; new MutationObserver(() => told++).observe(document.querySelector("#head"), {subtree: true, childList: true, characterData: true}); ""`)
	focus(t, ctx, "stop")
	for n := range int64(5) {
		percent(10 * (n + 1))
	}
	sees(t, ctx, `document.querySelector("progress")?.value == 50`)
	if told := browser.Ask[int](t, ctx, "told"); told != 0 {
		t.Errorf("the state was told %d times while it stayed the same", told)
	}
	browser.Do(t, ctx, chromedp.KeyEvent(kb.Enter))
	sees(t, ctx, `document.querySelector(".state").textContent == "Stopped."`)
	press(t, ctx, "Measure again")
	sees(t, ctx, `document.querySelector(".state").textContent == "Measured."`)
}

// A program that ended is said on the page.
func TestEndedInABrowser(t *testing.T) {
	_, s, ctx, ran := visit(t, Options{}, "ERR_")
	s.pages.end(errors.New("ended by a test"))
	if err := <-ran; err != nil {
		t.Error(err)
	}
	sees(t, ctx, `document.querySelector("#wrong").textContent.includes("has ended") && document.querySelector("#files").disabled`)
}

// look looks at the page in windows of a phone, a desk and a wall. axe-core looks at the
// first two; the wall's only makes things larger, and dark only changes colours.
func look(t *testing.T, ctx context.Context, axe, name string) {
	t.Helper()
	for _, theme := range []string{"light", "dark"} {
		browser.Scheme(t, ctx, theme)
		for _, width := range []int64{360, 1280, 3840} {
			browser.Do(t, ctx, chromedp.EmulateViewport(width, 900))
			var found []string
			switch {
			case theme == "light" && width < 3840:
				found = browser.Violations(t, ctx, axe)
			case width == 1280:
				found = browser.Violations(t, ctx, axe, browser.OfColours...)
			}
			for _, v := range found {
				t.Errorf("%s, %s, %d px: %s", name, theme, width, v)
			}
			if w := browser.Ask[int64](t, ctx, "document.documentElement.scrollWidth"); w > width {
				t.Errorf("%s: %d px wide in a window of %d", name, w, width)
			}
			if shots := os.Getenv("HUMDIFF_SHOTS"); shots != "" {
				png := kit.Must(chromedp.Run(ctx, chromedp.FullScreenshot(100)))(t)
				kit.OK(t, os.WriteFile(filepath.Join(shots, fmt.Sprintf("bench-%s-%s-%d.png", name, theme, width)), png, 0o644))
			}
		}
	}
}

// The whole way with a pair: its cells by typing, the bench, the result, which is
// compare's, the report, a reload, the end.
func TestTheWholeWay(t *testing.T) {
	dir := t.TempDir()
	one, two := filepath.Join(dir, "one.wav"), filepath.Join(dir, "two.wav")
	record(t, one, -95, 1)
	record(t, two, -80, 2)
	b, s, ctx, ran := visit(t, Options{Version: "1"}, "422", "ERR_")
	choose(t, ctx, one, two)
	sees(t, ctx, `document.querySelectorAll(".loose .chip").length == 2`)
	for _, k := range [][2]string{{"one.wav", "q"}, {"two.wav", "n"}} {
		focus(t, ctx, "chip-"+b.idOf(t, k[0]))
		browser.Do(t, ctx, chromedp.KeyEvent(kb.Enter))
		sees(t, ctx, `document.querySelector("dialog[open] #run-condition")`)
		fill(t, ctx, "run-cable", "Grebe")
		focus(t, ctx, "run-exposure")
		browser.Do(t, ctx, chromedp.KeyEvent("beside"))
		focus(t, ctx, "run-condition")
		browser.Do(t, ctx, chromedp.KeyEvent(k[1]))
		focus(t, ctx, "run-cable")
		browser.Do(t, ctx, chromedp.KeyEvent(kb.Enter))
		sees(t, ctx, `!document.querySelector("dialog[open]")`)
	}
	sees(t, ctx, `document.querySelectorAll(".cells td .chip").length == 2`)
	focus(t, ctx, "bench-0-full_scale")
	browser.Do(t, ctx, chromedp.KeyEvent("loud"), chromedp.KeyEvent(kb.Enter))
	sees(t, ctx, `document.querySelector("#wrong").textContent != "" && document.querySelector("#bench-0-full_scale[aria-invalid]") && document.querySelector("#bench-0-full_scale-why").textContent != ""`)
	fill(t, ctx, "bench-0-full_scale", "")
	focus(t, ctx, "bench-0-full_scale")
	browser.Do(t, ctx, chromedp.KeyEvent("2.0V"), chromedp.KeyEvent(kb.Enter))
	until(t, b, "a comparison in volts", func() bool {
		return compared(b)() && b.stop == nil && b.sitting.file.Sitting.Bench.FullScale == "2.0V" && b.outcome.compare.Pairs[0].Near.File == "two.wav"
	})
	r := *b.outcome.compare
	headline := doc.CompareHeadline(r)
	sees(t, ctx, fmt.Sprintf(`document.querySelector("h1").textContent.startsWith(%q) && document.querySelector("#wrong").textContent == ""`, headline))
	sameLines(t, ctx, r)
	nameStays(t, ctx, s)
	press(t, ctx, "Save report")
	sees(t, ctx, `document.querySelector(".saved")?.textContent.includes("report.html")`)
	if _, err := os.Stat(filepath.Join(b.root(), "amp ü", "compare.json")); err != nil {
		t.Error(err)
	}
	browser.Do(t, ctx, chromedp.Reload())
	sees(t, ctx, fmt.Sprintf(`document.querySelector("h1").textContent.startsWith(%q)`, headline))
	press(t, ctx, "End humdiff")
	sees(t, ctx, `document.querySelector("#wrong").textContent.includes("has ended")`)
	if err := <-ran; err != nil {
		t.Error(err)
	}
}

// nameStays gives the report a name, which stays through changes of the page.
func nameStays(t *testing.T, ctx context.Context, s *Server) {
	t.Helper()
	fill(t, ctx, "report-name", "amp ü")
	focus(t, ctx, "save")
	for _, hz := range []string{"50", ""} {
		post(s, "state/bench", "mains_hz", hz)
		sees(t, ctx, fmt.Sprintf(`document.querySelector("#bench-0-mains_hz").value == %q && document.querySelector("#report-name")?.value == "amp ü"`, hz))
	}
	sees(t, ctx, `document.querySelector(".state").textContent == "Measured."`)
}

// A recording that the recorder finishes is shown by itself; so are a broken
// file, with why, and a folder that went away.
func TestWatchedInABrowser(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "takes")
	kit.OK(t, os.Mkdir(dir, 0o755))
	b, _, ctx, _ := visit(t, Options{Folder: dir})
	record(t, filepath.Join(dir, "near.wav"), -80, 1)
	sees(t, ctx, `document.querySelector("h1").textContent != "Hum at the bench"`)
	if b.outcome.measure == nil {
		t.Error("a lone capture isn't measured")
	}
	kit.OK(t, os.WriteFile(filepath.Join(dir, "quiet.wav"), []byte("RIFF"), 0o644))
	sees(t, ctx, `[...document.querySelectorAll(".why-odd")].some(e => e.textContent.startsWith("quiet.wav: "))`)
	kit.OK(t, os.RemoveAll(dir))
	sees(t, ctx, `document.querySelector("#grid").textContent.includes("cannot be read")`)
	kit.OK(t, os.Mkdir(dir, 0o755))
	sees(t, ctx, `!document.querySelector("#grid").textContent.includes("cannot be read")`)
}

// Empty, with one capture, with an error, with a pair, with a sitting and a run chosen
// in it: axe-core finds nothing, and nothing is wider than the window.
// HUMDIFF_SHOTS=FOLDER keeps pictures.
func TestBenchAccessible(t *testing.T) {
	axe := browser.Axe(t)
	dir := t.TempDir()
	one, two, bad := filepath.Join(dir, "near.wav"), filepath.Join(dir, "quiet "+strings.Repeat("long name ", 12)+".wav"), filepath.Join(dir, "dead.wav")
	record(t, one, -80, 1)
	record(t, two, -95, 2)
	kit.OK(t, os.WriteFile(bad, []byte("RIFF"), 0o644))
	_, _, ctx, _ := visit(t, Options{})
	look(t, ctx, axe, "empty")
	for _, state := range []struct{ name, path, until string }{
		{"one", one, `document.querySelectorAll("#found table").length > 0`},
		{"error", bad, `document.querySelectorAll(".why-odd").length > 0`},
		{"pair", two, `document.querySelectorAll("#found figure").length > 0`},
	} {
		choose(t, ctx, state.path)
		sees(t, ctx, state.until)
		look(t, ctx, axe, state.name)
	}
}

// The same of a plan, one of whose runs is recorded.
func TestPlanAccessible(t *testing.T) {
	axe := browser.Axe(t)
	dir := t.TempDir()
	planned(t, dir)
	record(t, filepath.Join(dir, "ZOOM1.wav"), -95, 1)
	_, _, ctx, _ := visit(t, Options{Folder: dir})
	sees(t, ctx, `document.querySelectorAll(".steps .done").length == 1`)
	look(t, ctx, axe, "plan")
}

func TestGridAccessible(t *testing.T) {
	axe := browser.Axe(t)
	dir, n, _ := spread(t, made.Kind{Cables: 2, Repeats: 3, Seconds: 10, Spoiled: true})
	b, s, ctx, _ := visit(t, Options{Folder: dir})
	all(t, b, n)
	post(s, "replaced")
	post(s, "state/claim", "id", "0", "name", "less", "kind", "less", "cable", "Grebe", "than", "Nobody")
	sees(t, ctx, `document.querySelectorAll("#found figure").length > 0`)
	look(t, ctx, axe, "grid")
	handle(t, ctx, `document.querySelector(".chip.odd")`, `e.click()`)
	sees(t, ctx, `document.querySelector("dialog[open] .wrong")`)
	look(t, ctx, axe, "chosen")
}

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
