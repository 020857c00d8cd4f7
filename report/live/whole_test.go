package live

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"humdiff/fixtures/browser"
	"humdiff/fixtures/kit"
	made "humdiff/fixtures/sitting"
	"humdiff/fixtures/trials"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// hands are a reader's, who does all by the mouse or all by the keyboard. Each thing
// that they do is counted.
type hands struct {
	t    *testing.T
	ctx  context.Context
	did  int
	keys bool
}

// press presses a key.
func (h *hands) press(key string, with ...chromedp.KeyOption) {
	h.t.Helper()
	h.did++
	browser.Do(h.t, h.ctx, chromedp.KeyEvent(key, with...))
}

// at is where the middle of an element is seen.
func (h *hands) at(selector string) (x, y float64) {
	h.t.Helper()
	p := browser.Ask[[]float64](h.t, h.ctx, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.scrollIntoView({block: "center", inline: "center"}); const b = e.getBoundingClientRect(); return [b.left + b.width / 2, b.top + b.height / 2]; })()`, selector))
	return p[0], p[1]
}

// does presses a button: by a click, or by Tab to it and Enter.
func (h *hands) does(id string) {
	h.t.Helper()
	sees(h.t, h.ctx, fmt.Sprintf(`document.querySelector(%q)?.disabled === false || document.querySelector(%q)?.matches("a")`, "#"+id, "#"+id))
	if !h.keys {
		x, y := h.at("#" + id)
		h.did++
		browser.Do(h.t, h.ctx, chromedp.MouseClickXY(x, y))
		return
	}
	back := browser.Ask[bool](h.t, h.ctx, fmt.Sprintf(`Boolean(document.activeElement.compareDocumentPosition(document.getElementById(%q)) & Node.DOCUMENT_POSITION_PRECEDING)`, id))
	for range 120 {
		if browser.Ask[bool](h.t, h.ctx, fmt.Sprintf(`document.activeElement.id == %q`, id)) {
			h.press(kb.Enter)
			return
		}
		if back {
			h.press(kb.Tab, chromedp.KeyModifiers(chromedp.ModifierShift))
		} else {
			h.press(kb.Tab)
		}
	}
	h.t.Fatalf("Tab never reaches %s", id)
}

// chip gets to a run.
func (h *hands) chip(id string) {
	h.t.Helper()
	for range 200 {
		if browser.Ask[bool](h.t, h.ctx, fmt.Sprintf(`document.activeElement.id == %q`, id)) {
			return
		}
		if browser.Ask[bool](h.t, h.ctx, `document.activeElement.matches(".chip")`) {
			h.press("o")
		} else {
			h.press(kb.Tab)
		}
	}
	h.t.Fatalf("no key reaches %s", id)
}

// leave leaves a run out.
func (h *hands) leave(id string) {
	h.t.Helper()
	if h.keys {
		h.chip("chip-" + id)
		h.press("l")
	} else {
		h.does("chip-" + id)
		h.does("leave")
	}
	sees(h.t, h.ctx, fmt.Sprintf(`document.querySelector("#chip-%s.out") && !document.querySelector("dialog[open]")`, id))
}

// drag drags a run into a cell.
func (h *hands) drag(id, cell string) {
	h.t.Helper()
	h.did++
	moved := browser.Ask[bool](h.t, h.ctx, fmt.Sprintf(`(() => {
		const dt = new DataTransfer(), chip = document.getElementById("chip-%s"), cell = document.querySelector(%q);
		const fire = (e, kind) => e.dispatchEvent(new DragEvent(kind, {dataTransfer: dt, bubbles: true, cancelable: true}));
		fire(chip, "dragstart");
		const taken = !fire(cell, "dragover") && cell.classList.contains("over");
		fire(cell, "drop");
		return taken;
	})()`, id, cell))
	if !moved {
		h.t.Errorf("%s doesn't take a run", cell)
	}
}

// A sitting of fifty captures, six of them spoiled, from the drop to the figure for an
// article, by the mouse alone and by the keyboard alone.
func TestSittingByHand(t *testing.T) {
	kind := made.Kind{Cables: 2, Repeats: 2, Seconds: 10, Spoiled: true}
	if trials.Full() {
		kind = made.Fifty
	}
	for name, keys := range map[string]bool{"mouse": false, "keyboard": true} {
		t.Run(name, func(t *testing.T) { byHand(t, kind, keys) })
	}
}

func byHand(t *testing.T, kind made.Kind, keys bool) {
	from, n, bad := spread(t, kind)
	b, _, ctx, _ := visit(t, Options{Version: "1"})
	h := &hands{t: t, ctx: ctx, keys: keys}
	began := time.Now()
	h.did++
	choose(t, ctx, kit.Must(filepath.Glob(filepath.Join(from, "*.wav")))(t)...) // the system's own dialog, or what a drop does
	all(t, b, n)
	measured := time.Since(began)
	sees(t, ctx, `document.querySelectorAll(".chip.odd").length == 5 && document.querySelectorAll(".chip.out").length == 1`)
	alone := b.idOf(t, bad.Alone)
	if keys {
		h.chip("chip-" + alone)
		for range 4 { // over quiet, the open end's near and quiet, to 20 ohms
			was := browser.Ask[string](t, ctx, fmt.Sprintf(`JSON.stringify({...document.querySelector("#chip-%s").closest("td").dataset})`, alone))
			h.press(kb.ArrowLeft, chromedp.KeyModifiers(chromedp.ModifierShift))
			sees(t, ctx, fmt.Sprintf(`JSON.stringify({...document.querySelector("#chip-%s")?.closest("td").dataset}) != %q`, alone, was))
		}
	} else {
		h.drag(alone, `td[data-cable="Grebe"][data-termination_ohms="20"][data-condition="near"]`)
	}
	sees(t, ctx, fmt.Sprintf(`document.querySelector('td[data-cable="Grebe"][data-termination_ohms="20"][data-condition="near"] #chip-%s:not(.odd)')`, alone))
	for _, file := range []string{bad.Rate, bad.Mains, bad.Clipped, bad.Short} {
		h.leave(b.idOf(t, file))
	}
	h.does("confirm-all")
	sees(t, ctx, `!document.querySelector(".chip.guessed")`)
	h.does("replaced")
	all(t, b, n)
	sees(t, ctx, `document.querySelector(".next").textContent.includes("full scale") && document.querySelector("#found figure")`)
	h.does("save")
	sees(t, ctx, `document.querySelector(".saved")`)
	if _, err := os.Stat(filepath.Join(b.sitting.dir(), "hum-report", "article.svg")); err != nil {
		t.Error(err)
	}
	t.Logf("%d captures: all measured after %.1f s, the article's figure after %.1f s and %d actions", n, measured.Seconds(), time.Since(began).Seconds(), h.did)
}
