package page

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fixtures/browser"
	"humdiff/report/internal/sample"
	"humdiff/report/result"

	"github.com/chromedp/chromedp"
)

// The page as browsers show it: quiet, alone, whole in narrow and wide windows,
// readable on light and on dark.
func TestInABrowser(t *testing.T) {
	ctx := browser.Start(t)
	var o browser.Observed
	if err := chromedp.Listen(ctx, o.Event); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for name, r := range map[string]result.Compare{"one": sample.Compare(), "two": sample.TwoChannels(),
		"nothing": sample.NothingFound(), "hostile": sample.Hostile(), "long": sample.LongNames()} {
		b, err := Compare(r)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, name+".html")
		if err := os.WriteFile(path, b, 0o644); err != nil {
			t.Fatal(err)
		}
		for _, width := range []int64{360, 768, 1280, 3840} {
			for _, theme := range []string{"light", "dark"} {
				if name != "one" && (width == 768 || width == 3840 || (width == 360) != (theme == "light")) {
					continue // all combinations for one page are enough
				}
				t.Run(fmt.Sprintf("%s/%d/%s", name, width, theme), func(t *testing.T) {
					browser.Scheme(t, ctx, theme)
					browser.Do(t, ctx, chromedp.EmulateViewport(width, 800), chromedp.Navigate("file://"+path))
					shown(t, ctx, width, theme)
					said, asked := o.Take()
					if len(said) > 0 {
						t.Errorf("the console says %q", said)
					}
					if len(asked) != 1 || asked[0] != "file://"+path {
						t.Errorf("the page asked for %q", asked)
					}
				})
			}
		}
	}
}

func shown(t *testing.T, ctx context.Context, width int64, theme string) {
	t.Helper()
	if w := browser.Ask[int64](t, ctx, "document.documentElement.scrollWidth"); w > width {
		t.Errorf("the page is %d px wide in a window of %d", w, width)
	}
	paper := map[string]string{"light": "rgb(255, 255, 255)", "dark": "rgb(21, 23, 26)"}[theme]
	if got := browser.Ask[string](t, ctx, "getComputedStyle(document.body).backgroundColor"); got != paper {
		t.Errorf("the background is %s, want %s", got, paper) // also: the policy lets the style sheet through
	}
	if got := browser.Ask[string](t, ctx, `[...new Set([...document.querySelectorAll("figure svg > path:first-of-type")].map(e => getComputedStyle(e).fill))].join()`); got != paper {
		t.Errorf("the figures' background is %s, want %s", got, paper)
	}
	for what, script := range map[string]string{
		"elements that load or run something": `document.querySelectorAll("script:not(body > script:last-child),img,iframe,object,embed,link,a[href*=':'],a[href^='/'],form,base,image,use,foreignObject,[onerror],[onclick],[onload],[style]").length`,
		"figures shown twice or not at all":   `[...document.querySelectorAll("figure")].filter(f => [...f.querySelectorAll("svg")].filter(s => s.getBoundingClientRect().width > 0).length != 1).length`,
		"ids used twice":                      `(ids => ids.length - new Set(ids).size)([...document.querySelectorAll("[id]")].map(e => e.id))`,
		"labels that lead nowhere":            `[...document.querySelectorAll("[aria-labelledby]")].flatMap(e => e.getAttribute("aria-labelledby").split(" ")).filter(id => !document.getElementById(id)).length`,
		"headings that skip a level":          `(h => h.filter((n, i) => i && n > h[i-1] + 1).length)([...document.querySelectorAll("h1,h2,h3,h4")].map(e => +e.tagName[1]))`,
		"header cells without a scope":        `document.querySelectorAll("th:not([scope])").length`,
		"tables outside of a scrolling box":   `document.querySelectorAll("table").length - document.querySelectorAll(".scroll[tabindex='0'] > table").length`,
	} {
		if n := browser.Ask[int](t, ctx, script); n != 0 {
			t.Errorf("%d %s", n, what)
		}
	}
	if n := browser.Ask[int](t, ctx, `document.querySelectorAll("h1,main,header,footer").length`); n != 4 {
		t.Errorf("%d of one h1, main, header and footer", n)
	}
	for _, s := range browser.Ask[[]string](t, ctx, lowContrast) {
		t.Errorf("low contrast: %s", s)
	}
	for _, s := range browser.Ask[[]string](t, ctx, outsideItsFigure) {
		t.Errorf("text leaves its figure: %s", s)
	}
}

// lowContrast lists texts with less than 4.5 to 1 (WCAG 2.2, 1.4.3) to the
// nearest background behind them.
const lowContrast = `(() => {
  const rgb = s => s.match(/[\d.]+/g).map(Number);
  const luminance = c => { const [r, g, b] = c.slice(0, 3).map(v => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4 }); return 0.2126*r + 0.7152*g + 0.0722*b };
  const behind = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor); if (c.length == 3 || c[3] > 0) return c } return [255, 255, 255] };
  const out = [];
  for (const e of document.querySelectorAll("body *:not(svg *)")) {
    if (![...e.childNodes].some(n => n.nodeType == 3 && n.textContent.trim())) continue;
    const a = luminance(rgb(getComputedStyle(e).color)), b = luminance(behind(e));
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) out.push(e.tagName + " " + e.textContent.slice(0, 40) + " " + ratio.toFixed(2));
  }
  return out })()`

const outsideItsFigure = `(() => {
  const out = [];
  for (const s of document.querySelectorAll("figure svg")) {
    const f = s.getBoundingClientRect();
    if (!f.width) continue;
    for (const t of s.querySelectorAll("text")) {
      const b = t.getBoundingClientRect();
      if (b.left < f.left || b.right > f.right || b.top < f.top || b.bottom > f.bottom + 1) out.push(t.textContent);
    }
  }
  return out })()`

// On paper the page is dark on white whatever its reader's screen is, fits A4,
// has its figures once and no buttons but the headings of its tables, and prints to a few sheets.
func TestPrinted(t *testing.T) {
	ctx := browser.Start(t)
	b, err := Compare(sample.Compare())
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "report.html")
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	const a4 = 718 // px within margins of 10 mm
	browser.Do(t, ctx, chromedp.EmulateViewport(a4, 1000), chromedp.Navigate("file://"+path))
	browser.OnPaper(t, ctx)
	shown(t, ctx, a4, "light")
	if n := browser.Ask[int](t, ctx, `[...document.querySelectorAll("button, input, select")].filter(e => !e.closest("th") && e.getClientRects().length).length`); n != 0 {
		t.Errorf("%d controls are printed", n)
	}
	if cut := browser.Ask[[]string](t, ctx, `[...document.querySelectorAll(".scroll")].filter(e => e.scrollWidth > e.clientWidth + 1).map(e => e.getAttribute("aria-label") ?? e.className)`); len(cut) != 0 {
		t.Errorf("cut off at the paper's edge: %q", cut)
	}
	pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4)))
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(pdf, []byte("/Type /Page\n")); !bytes.HasPrefix(pdf, []byte("%PDF-")) || n < 3 || n > 12 {
		t.Errorf("%d bytes, %d sheets", len(pdf), n)
	}
}

// Shots of the page for a person to look at, on demand:
// HUMDIFF_SHOTS=FOLDER go test -run TestShots ./report/page
func TestShots(t *testing.T) {
	dir := os.Getenv("HUMDIFF_SHOTS")
	if dir == "" {
		t.Skip("HUMDIFF_SHOTS names no folder")
	}
	ctx := browser.Start(t)
	for name, r := range map[string]result.Compare{"one": sample.Compare(), "two": sample.TwoChannels(), "nothing": sample.NothingFound(), "hostile": sample.Hostile()} {
		b, err := Compare(r)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), name+".html")
		if err := os.WriteFile(path, b, 0o644); err != nil {
			t.Fatal(err)
		}
		for _, theme := range []string{"light", "dark"} {
			for _, width := range []int64{360, 1280} {
				browser.Scheme(t, ctx, theme)
				browser.Do(t, ctx, chromedp.EmulateViewport(width, 800), chromedp.Navigate("file://"+path))
				for _, part := range []string{"found", "figures", "lines", "conditions", "others", "check", "method", "hashes"} {
					shot, err := chromedp.Run(ctx, chromedp.Screenshot("section[aria-labelledby="+part+"]"))
					if err != nil {
						t.Fatal(err)
					}
					file := strings.Join([]string{name, theme, fmt.Sprint(width), part}, "-") + ".png"
					if err := os.WriteFile(filepath.Join(dir, file), shot, 0o644); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
		pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4)))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name+".pdf"), pdf, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
