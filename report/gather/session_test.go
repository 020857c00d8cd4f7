package gather

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"humdiff/fixtures/sitting"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/verdict"
)

// judged is a session with much to say: every verdict, an exposure that does
// nothing, a dead run as high as near, a run left out.
func judged() (verdict.Input, result.Session) {
	none := math.Inf(-1)
	claim := func(c session.Claim) session.Claim {
		c.Termination, c.Written, c.By = math.NaN(), sitting.Written, "the maker"
		return c
	}
	in := sitting.Draw(sitting.Design{
		Cables: []sitting.Cable{{Name: "Heron", PickupDB: -90, SD: 1.5, QuietDB: -112, DeadDB: none}, {Name: "Plover", PickupDB: -60, SD: 1.5, QuietDB: -110, DeadDB: none},
			{Name: "Rail <b>", PickupDB: -88, SD: 1.5, QuietDB: -112, DeadDB: -87}, {Name: "Old wire", PickupDB: -50, SD: 1, QuietDB: -111, DeadDB: none}},
		Repeats: 4, Witness: "Old wire", Idle: true, ResidualDB: -114, DriftSD: 0.2, NoiseSD: 0.1, LimitDB: -130, Dead: true,
		Exposures: []string{"beside"},
		Claims: []session.Claim{
			claim(session.Claim{Name: "far less", Says: "Heron picks up at least 20 dB less than Plover", Kind: session.Less, Cable: "Heron", Than: "Plover", DB: 20}),
			claim(session.Claim{Name: "a microvolt", Kind: session.Below, Cable: "Heron", Volts: 1e-6}),
			claim(session.Claim{Name: "rail", Kind: session.Less, Cable: "Rail <b>", Than: "Plover", DB: 20}),
			claim(session.Claim{Name: "close", Kind: session.Less, Cable: "Heron", Than: "Plover", DB: 29.5}),
		},
	}, 5)
	in.Session.Title = "Three cables beside a lead"
	in.Session.Runs[20].LeftOut = "a door slammed"
	return in, verdict.Judge(in)
}

func sessionFiles(t *testing.T) (result.Session, []publish.File) {
	t.Helper()
	in, s := judged()
	files, err := Session(s, func(run int) (result.Capture, error) { return *in.Runs[run-1].Capture, nil })
	if err != nil {
		t.Fatal(err)
	}
	return s, files
}

func data(t *testing.T, files []publish.File, name string) string {
	t.Helper()
	i := slices.IndexFunc(files, func(f publish.File) bool { return f.Name == name })
	if i < 0 {
		t.Fatalf("no %s", name)
	}
	if files[i].Make != nil {
		b, err := files[i].Make()
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	return string(files[i].Data)
}

// Page and Markdown say the same: the verdicts, every run, the reason why one is
// left out; and every link leads to a file of the report.
func TestSessionReport(t *testing.T) {
	s, files := sessionFiles(t)
	dir := os.Getenv("HUMDIFF_SHOTS")
	if dir == "" {
		dir = t.TempDir()
	}
	if err := publish.Write(context.Background(), filepath.Join(dir, "session"), true, files); err != nil {
		t.Fatal(err)
	}
	html, md := data(t, files, "report.html"), data(t, files, "report.md")
	for _, want := range []string{"far less: supported", "a microvolt: refuted", "rail: undecided", "a door slammed", "Three cables beside a lead",
		"What would decide it", "How the hum gets in", "Repeat with the plug turned round", "unplugged lead raised", "Before you go to the bench", "Not tested"} {
		if !strings.Contains(html, want) || !strings.Contains(md, want) {
			t.Errorf("%q: page %v, Markdown %v", want, strings.Contains(html, want), strings.Contains(md, want))
		}
	}
	if strings.Contains(html, "Rail <b>") || strings.Contains(md, "Rail <b>") {
		t.Error("a cable's name is markup")
	}
	links := regexp.MustCompile(`<a href="([^"]*)">`).FindAllStringSubmatch(html, -1)
	measured := 0
	for _, r := range s.Runs {
		if r.Capture != nil {
			measured++
		}
	}
	if len(links) != measured { // dead, residual and left-out ones too
		t.Errorf("%d links for %d measured runs", len(links), measured)
	}
	for _, r := range s.Runs {
		if r.Condition == "dead" || r.Condition == "residual" || r.LeftOut != "" {
			own := data(t, files, fmt.Sprintf("run-%d.html", r.Number))
			if !strings.Contains(own, fmt.Sprintf("Run %d, %s", r.Number, r.Condition)) || r.LeftOut != "" && !strings.Contains(own, "not used: "+r.LeftOut) {
				t.Errorf("the page of run %d isn't about it", r.Number)
			}
		}
	}
	for _, l := range links {
		if !slices.ContainsFunc(files, func(f publish.File) bool { return f.Name == l[1] }) {
			t.Errorf("%s leads nowhere", l[1])
		}
	}
	if n := len(regexp.MustCompile(`(?m)^\| \[(\d+)\]\(run-\d+\.html\) \| `).FindAllString(md, -1)); n != measured {
		t.Errorf("Markdown has %d links for %d measured runs", n, measured)
	}
	if n := strings.Count(data(t, files, "runs.csv"), "\n"); n != len(s.Runs)+1 {
		t.Errorf("runs.csv has %d lines for %d runs", n, len(s.Runs))
	}
	for _, f := range files {
		if len(data(t, files, f.Name)) == 0 {
			t.Errorf("%s is empty", f.Name)
		}
		if strings.HasSuffix(f.Name, ".csv") {
			lines := strings.Split(strings.TrimSpace(data(t, files, f.Name)), "\n")
			for _, l := range lines[1:] {
				if !strings.Contains(l, `"`) && strings.Count(l, ",") != strings.Count(lines[0], ",") {
					t.Errorf("%s: %q doesn't fit %q", f.Name, l, lines[0])
				}
			}
		}
	}
}
