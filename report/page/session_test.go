package page

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"humdiff/fixtures/browser"
	"humdiff/fixtures/sitting"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/verdict"
)

// sat is a session whose names are as long and as hostile as names can be.
func sat(t *testing.T) result.Session {
	t.Helper()
	none := math.Inf(-1)
	long := strings.Repeat("A cable with a long name ", 4) + "<script>alert(1)</script>"
	in := sitting.Draw(sitting.Design{
		Cables:  []sitting.Cable{{Name: long, PickupDB: -90, SD: 1.5, QuietDB: -112, DeadDB: -88}, {Name: "B", PickupDB: -91, SD: 1, QuietDB: -112, DeadDB: none}, {Name: "W", PickupDB: -50, SD: 1, QuietDB: -111, DeadDB: none}},
		Repeats: 3, Witness: "W", Idle: true, ResidualDB: -114, DriftSD: 0.2, NoiseSD: 0.1, LimitDB: -130, Dead: true, Exposures: []string{"beside", strings.Repeat("round", 30)},
		Claims: []session.Claim{
			{Name: long, Kind: session.Less, Cable: "B", Than: "W", DB: 20, Termination: math.NaN()},
			{Name: "b", Kind: session.Rise, Cable: "B", DB: 3, Termination: math.NaN(), Written: sitting.Written},
		},
	}, 3)
	for i, r := range in.Session.Runs { // the second exposure doesn't do anything
		if r.Exposure != "" && r.Exposure != "beside" {
			in.Runs[i] = in.Runs[i-1]
		}
	}
	return verdict.Judge(in)
}

// The page of a session as browsers show it.
func TestSessionInABrowser(t *testing.T) {
	ctx := browser.Start(t)
	var o browser.Observed
	if err := chromedp.Listen(ctx, o.Event); err != nil {
		t.Fatal(err)
	}
	b, err := Session(sat(t), func(n int) string { return fmt.Sprintf("run-%d.html", n) })
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "report.html")
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		width int64
		theme string
	}{{360, "light"}, {1280, "dark"}} {
		t.Run(fmt.Sprintf("%d/%s", c.width, c.theme), func(t *testing.T) {
			browser.Scheme(t, ctx, c.theme)
			browser.Do(t, ctx, chromedp.EmulateViewport(c.width, 800), chromedp.Navigate("file://"+path))
			shown(t, ctx, c.width, c.theme)
			if said, asked := o.Take(); len(said) > 0 || len(asked) != 1 {
				t.Errorf("the console says %q, the page asked for %q", said, asked)
			}
			if dir := os.Getenv("HUMDIFF_SHOTS"); dir != "" {
				shot, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
				if err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("session-%d-%s.png", c.width, c.theme)), shot, 0o644); err != nil {
					t.Fatal(err)
				}
			}
		})
	}
}
