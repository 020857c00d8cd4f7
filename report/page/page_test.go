package page_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"humdiff/fixtures/browser"
	"humdiff/fixtures/kit"
	"humdiff/report/doc"
	"humdiff/report/figure"
	"humdiff/report/internal/samples"
	"humdiff/report/page"
)

func TestMain(m *testing.M) { os.Exit(browser.Main(m)) }

// told are documents of every kind, without their figures.
func told() map[string]doc.Document {
	return map[string]doc.Document{"pair": doc.Compare(samples.Compare(), doc.InDBFS), "two channels": doc.Compare(samples.TwoChannels(), doc.InDBFS), "session": doc.Session(samples.Session(), nil),
		"measure": doc.Measure(samples.Measure(), doc.InDBFS), "check": doc.Check(samples.Check()), "trend": doc.Trend(samples.Trend(), doc.InDBFS)}
}

// visit opens a document's page in a window of so many pixels.
func visit(t *testing.T, ctx context.Context, d doc.Document, width int) {
	t.Helper()
	text, err := page.HTML(d, func(doc.Figure) (figure.Figure, bool) { return figure.Figure{}, false })
	kit.OK(t, err)
	path := filepath.Join(t.TempDir(), "report.html")
	kit.OK(t, os.WriteFile(path, text, 0o600))
	_, err = chromedp.Call(ctx, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: int64(width), Height: 900, DeviceScaleFactor: 1})
	kit.OK(t, err)
	browser.Do(t, ctx, chromedp.Navigate("file://"+path))
}

// covered lists values that the first column, which stays where it is, covers in
// part, so that "-185.66" could be read as "85.66".
const covered = `[...document.querySelectorAll("table.numbers tr")].flatMap(row => {
  const first = row.cells[0].getBoundingClientRect(), text = document.createRange();
  return [...row.cells].slice(1).filter(cell => {
    text.selectNodeContents(cell);
    const r = text.getBoundingClientRect();
    return r.width > 0 && r.left < first.right - 1 && r.right > first.right + 1;
  }).map(cell => row.cells[0].textContent + ": " + cell.textContent);
})`

// On a phone the delta stands beside the harmonic in the first screen's width, and
// however far the table is pushed, no value stands half below the first column.
func TestAPhonesTable(t *testing.T) {
	ctx := browser.Start(t)
	visit(t, ctx, doc.Compare(samples.Compare(), doc.InDBFS), 360)
	const delta = `(() => { const head = [...document.querySelectorAll("#lines1 ~ .scroll thead th")].find(h => h.textContent.startsWith("delta")).getBoundingClientRect(); return head.width > 20 && head.left > 0 && head.right <= 360 })()`
	if !browser.Ask[bool](t, ctx, delta) {
		t.Error("the delta doesn't stand in the first 360 px")
	}
	for _, by := range []int{0, 37, 90, 160, 250} {
		browser.Ask[string](t, ctx, fmt.Sprintf(`(async () => { document.querySelector(".scroll:has(.numbers)").scrollLeft = %d; await new Promise(f => setTimeout(f, 400)); return "" })()`, by))
		if all := browser.Ask[[]string](t, ctx, covered); len(all) > 0 {
			t.Errorf("pushed by %d px: half covered are %q", by, all[:min(3, len(all))])
		}
	}
	if seen := browser.Ask[float64](t, ctx, `document.querySelectorAll("table.numbers td").length`); seen < 200 {
		t.Errorf("only %g cells were looked at", seen)
	}
}

// A page opens with the lines that matter; a reader has all that were found, or all.
func TestLinesAreChosen(t *testing.T) {
	ctx := browser.Start(t)
	d := doc.Compare(samples.Compare(), doc.InDBFS)
	visit(t, ctx, d, 1280)
	var table doc.Table
	for _, s := range d.Sections {
		if s.ID == "lines" {
			table = s.Blocks[0].(doc.Table)
		}
	}
	key, shown := 0, 0
	for _, r := range table.Rows {
		if r.Shown {
			shown++
		}
		if r.Key {
			key++
		}
	}
	for i, want := range []int{key, shown, len(table.Rows)} {
		choose := fmt.Sprintf(`document.querySelectorAll(".views input")[%d].click(); [...document.querySelectorAll(".views + .scroll tbody tr")].filter(r => r.getClientRects().length).length`, i)
		if got := browser.Ask[float64](t, ctx, choose); got != float64(want) {
			t.Errorf("%q shows %g lines, want %d", table.Views[i], got, want)
		}
	}
}

// No page is wider than its window, and axe-core finds nothing against it.
func TestPagesAccessible(t *testing.T) {
	axe := browser.Axe(t)
	ctx := browser.Start(t)
	for name, d := range told() {
		for _, width := range []int{360, 1280} {
			scheme := map[int]string{360: "dark", 1280: "light"}[width]
			browser.Scheme(t, ctx, scheme)
			visit(t, ctx, d, width)
			if over := browser.Ask[float64](t, ctx, "document.documentElement.scrollWidth"); over > float64(width) {
				t.Errorf("%s at %d px is %g px wide", name, width, over)
			}
			if found := browser.Violations(t, ctx, axe); len(found) > 0 {
				t.Errorf("%s at %d px, %s:\n%s", name, width, scheme, strings.Join(found, "\n"))
			}
		}
	}
}

// A table's headings come again on each sheet of paper, and what is folded on a
// screen stands open.
func TestOnPaper(t *testing.T) {
	ctx := browser.Start(t)
	browser.OnPaper(t, ctx)
	visit(t, ctx, doc.Compare(samples.Compare(), doc.InDBFS), 720)
	if h := browser.Ask[float64](t, ctx, `document.querySelector("details dl").getBoundingClientRect().height`); h < 10 {
		t.Errorf("what is folded prints %g px high", h)
	}
	sorted := browser.Printed(t, ctx)
	browser.Ask[any](t, ctx, `document.querySelectorAll("th button").forEach(b => b.replaceWith(...b.childNodes))`)
	plain := browser.Printed(t, ctx)
	browser.Ask[any](t, ctx, `document.querySelectorAll("thead").forEach(h => h.style.display = "table-row-group")`)
	once := browser.Printed(t, ctx)
	if sorted != plain || plain <= once {
		t.Errorf("sheets have %d texts, %d without buttons in headings, %d with headings that come once", sorted, plain, once)
	}
}
