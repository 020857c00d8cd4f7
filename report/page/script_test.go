package page

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fixtures/browser"
	"humdiff/report/internal/sample"
	"humdiff/report/result"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// opened is the sample's page in a browser, with what else it does.
func opened(t *testing.T, r result.Compare, width int64) (say func(string) string, o *browser.Observed) {
	t.Helper()
	ctx := browser.Start(t)
	o = &browser.Observed{}
	if err := chromedp.Listen(ctx, o.Event); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(path, []byte(write(t, r)), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true}); err != nil {
		t.Fatal(err)
	}
	browser.Do(t, ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate("file://"+path))
	return func(script string) string {
		t.Helper()
		return browser.Ask[string](t, ctx, "String("+script+")")
	}, o
}

// Sorted by the script, each column runs as its numbers in the JSON do; what has
// none comes last; a third press restores the order.
func TestSorting(t *testing.T) {
	r := sample.Compare()
	say, _ := opened(t, r, 1280)
	const order = `[...document.querySelector("table.sorts").tBodies[0].rows].map(r => r.dataset.line).join()`
	asWritten := say(order)
	for _, c := range []struct {
		column int
		of     func(result.PairLine) result.Num
	}{
		{2, func(l result.PairLine) result.Num { return either(l.Quiet) }},
		{3, func(l result.PairLine) result.Num { return either(l.Near) }},
		{6, func(l result.PairLine) result.Num { return l.Near.FloorDBFSHz }},
	} {
		for _, sign := range []result.Num{1, -1} {
			way := say(press(c.column))
			if want := map[result.Num]string{1: "ascending", -1: "descending"}[sign]; way != want {
				t.Errorf("column %d says it is sorted %q, want %q", c.column, way, want)
			}
			last := result.Num(math.Inf(-1))
			for _, h := range strings.Split(say(order), ",") {
				v := sign * c.of(r.Pairs[0].Lines[number1(t, h)-1])
				if v < last {
					t.Errorf("column %d, %s: harmonic %s is out of order", c.column, way, h)
				}
				last = v
			}
		}
		say(press(c.column))
		if got := say(order); got != asWritten {
			t.Errorf("the third press of column %d leaves %s", c.column, got)
		}
	}
}

func either(l result.Line) result.Num {
	if l.State == result.Detected {
		return l.DBFS
	}
	return l.LimitDBFS
}

func number1(t *testing.T, s string) int {
	t.Helper()
	v, _ := number(t, s)
	return int(v)
}

func press(column int) string {
	return strings.ReplaceAll(`(() => { const h = document.querySelector("table.sorts").tHead.rows[0].cells[N]; h.querySelector("button").click(); return h.getAttribute("aria-sort") })()`, "N", string(rune('0'+column)))
}

// A row that has the focus is marked, and so are its marks in the figures; arrows
// go on, and pass over hidden rows; buttons below a figure step and say the line.
func TestRowsAndLinesMarkEachOther(t *testing.T) {
	say, o := opened(t, sample.Compare(), 1280)
	const first = `document.querySelector("table.sorts").tBodies[0].rows[0]`
	if got := say(`[...document.querySelectorAll("table.sorts tbody tr")].filter(r => r.tabIndex === 0).length`); got != "1" {
		t.Errorf("%s rows are in the order of the tab key, want 1", got)
	}
	say(first + `.focus()`)
	const rings = `[...document.querySelectorAll("figure")].map(f => f.querySelectorAll(".ring").length).join()`
	if got := say(rings); got != "2,1,0" { // quiet and near in the spectrum, a stem in the delta, nothing in the cycle
		t.Errorf("%s rings", got)
	}
	const key = `document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key: "KEY", bubbles: true})) && ""`
	for _, c := range [][2]string{{"ArrowDown", "2"}, {"End", "63"}, {"Home", "1"}, {"ArrowUp", "1"}} {
		say(strings.Replace(key, "KEY", c[0], 1))
		if got := say(`document.activeElement.dataset.line + " " + document.querySelector("tr.marked").dataset.line`); got != c[1]+" "+c[1] {
			t.Errorf("after %s: %s, want %s", c[0], got, c[1])
		}
	}
	say(`document.querySelectorAll(".readout button")[1].click()`)
	if got := say(`document.querySelector(".readout .said").textContent`); !strings.HasPrefix(got, "harmonic 2, frequency 99.99 Hz, quiet -126.7 ±0.2 dBFS, near ") {
		t.Errorf("the figure says %q", got)
	}
	// The pointer over a mark in the figure marks the row.
	say(`(() => { const g = document.querySelector(".wide g[data-line='3']"), b = g.getBoundingClientRect();
	  g.closest("svg").dispatchEvent(new PointerEvent("pointermove", {clientX: b.x + b.width / 2, clientY: b.y + b.height / 2, bubbles: true})); return "" })()`)
	if got := say(`document.querySelector("tr.marked").dataset.line`); got != "3" {
		t.Errorf("the pointer is over harmonic 3, marked is %s", got)
	}
	if said, _ := o.Take(); len(said) > 0 {
		t.Errorf("the console says %q", said)
	}
}

// Lines that were not found are there, hidden until the reader wants them.
func TestLinesNotFoundCanBeHidden(t *testing.T) {
	say, _ := opened(t, sample.Compare(), 1280)
	const shown = `[...document.querySelectorAll("table.sorts tbody tr")].filter(r => r.getClientRects().length).length`
	if got := say(shown); got != "42" {
		t.Errorf("%s rows are shown, want 42", got)
	}
	say(`document.querySelector(".hide input").click()`)
	if got := say(shown); got != "100" {
		t.Errorf("%s rows are shown, want 100", got)
	}
}

// Without scripts the page is complete: nothing but the steps and the sorting is
// missing.
func TestWithoutScripts(t *testing.T) {
	ctx := browser.Start(t)
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "page.html")
	r := sample.Compare()
	if err := os.WriteFile(path, []byte(write(t, r)), 0o644); err != nil {
		t.Fatal(err)
	}
	browser.Do(t, ctx, chromedp.EmulateViewport(1280, 900), chromedp.Navigate("file://"+path))
	if got := browser.Ask[int](t, ctx, `document.querySelectorAll("button").length`); got != 0 {
		t.Fatalf("%d buttons: the script ran", got)
	}
	if got := browser.Ask[int](t, ctx, `document.querySelectorAll("table.sorts tbody tr").length`); got != len(r.Pairs[0].Lines) {
		t.Errorf("%d rows", got)
	}
}

// axe-core finds nothing against the page, in light and dark, wide and narrow,
// with a line marked.
func TestAccessibleByAxe(t *testing.T) {
	axe := browser.Axe(t)
	ctx := browser.Start(t)
	for name, r := range map[string]result.Compare{"one": sample.Compare(), "two": sample.TwoChannels(), "nothing": sample.NothingFound()} {
		path := filepath.Join(t.TempDir(), name+".html")
		if err := os.WriteFile(path, []byte(write(t, r)), 0o644); err != nil {
			t.Fatal(err)
		}
		for _, theme := range []string{"light", "dark"} {
			for _, width := range []int64{360, 1280} {
				browser.Scheme(t, ctx, theme)
				browser.Do(t, ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate("file://"+path))
				browser.Ask[string](t, ctx, `document.querySelector(".readout button")?.click(); ""`)
				for _, v := range browser.Violations(t, ctx, axe) {
					t.Errorf("%s, %s, %d px: %s", name, theme, width, v)
				}
			}
		}
	}
}
