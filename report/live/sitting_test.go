package live

import (
	"bytes"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
	made "humdiff/fixtures/sitting"
	"humdiff/fixtures/trials"
	"humdiff/report"
	"humdiff/report/model"
	"humdiff/report/session"
)

// spread writes a sitting of captures into a new folder.
func spread(t testing.TB, k made.Kind) (dir string, n int, bad made.Spoiled) {
	t.Helper()
	dir = t.TempDir()
	n, bad, err := made.Write(dir, k)
	kit.OK(t, err)
	return dir, n, bad
}

// small is a sitting of two cables in nine captures.
var small = made.Kind{Cables: 2, Repeats: 1, Seconds: 3}

// all waits until so many captures are in the grid and what they ask for is measured.
func all(t testing.TB, b *Bench, n int) {
	t.Helper()
	until(t, b, "all captures", func() bool {
		return len(b.takes) == n && b.stop == nil && (b.outcome.judged != nil || b.outcome.compare != nil) && len(b.outcome.ids) == b.outcome.of
	})
}

// cells are the runs of a bench by their captures: cable, far end, exposure, condition
// and repeat.
func cells(b *Bench) map[string]string {
	b.mu.Lock()
	defer b.mu.Unlock()
	said := map[string]string{}
	for _, r := range b.sitting.runs {
		said[r.Address] = session.Name(r.Run)
	}
	return said
}

// A folder falls into the grid as batch --new reads it, all of it marked as guessed, and
// what is spoiled is said in its cell and kept out of what it would spoil.
func TestFiftyFallIntoTheGrid(t *testing.T) {
	kind := made.Kind{Cables: 2, Repeats: 3, Seconds: 10, Spoiled: true}
	if trials.Full() {
		kind = made.Fifty
	}
	dir, n, bad := spread(t, kind)
	want := kit.Must(session.Guess(dir, false))(t)
	b, s := open(t, Options{Folder: dir})
	all(t, b, n)
	kit.Lacks(t, "a part of the session may be published", shows(s), `class="gate"`)
	got := cells(b)
	for _, r := range want.Sitting.Runs {
		kit.Same(t, got[r.Address], session.Name(r), "%s", r.Address)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	said := map[string]string{}
	g := b.gridOf()
	for _, row := range g.Rows {
		for _, c := range row.Cells {
			for _, x := range c.Chips {
				if x.Guesses == "" {
					t.Errorf("%s doesn't look guessed", x.Name)
				}
				if x.State == "odd" || x.State == "out" {
					said[x.File] = strings.Join(x.Odd, " ")
				}
			}
		}
	}
	for file, word := range map[string]string{bad.Copy: "one recording with", bad.Rate: "sampled otherwise", bad.Mains: "50 Hz and of 60 Hz",
		bad.Clipped: "clipped", bad.Short: "far shorter or longer", bad.Alone: "without quiet"} {
		kit.Has(t, file, said[file], word)
		delete(said, file)
	}
	if len(said) > 0 {
		t.Errorf("sound captures are odd: %v", said)
	}
	for _, r := range b.outcome.judged.Runs {
		if r.Address == bad.Alone || r.Address == bad.Copy && r.LeftOut == "" {
			t.Errorf("%s was judged", r.Address)
		}
	}
}

// What the grid saves is what batch reads, and says the same of it.
func TestSavedIsTheSession(t *testing.T) {
	dir, n, _ := spread(t, small)
	b, s := open(t, Options{Folder: dir})
	all(t, b, n)
	if w := post(s, "confirm"); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	for table, fields := range map[string][]string{"bench": {"full_scale", "2.0V", "calibration", "", "mains_volts", "230V +-3%"}, "roles": {"witness", "Plover"}, "top": {"title", "Two cables"},
		"claim": {"id", "0", "name", "less", "kind", "less", "cable", "Grebe", "than", "Plover", "db", "3", "written", "2026-03-01"}} {
		if w := post(s, "state/"+table, fields...); w.Code != http.StatusOK {
			t.Fatal(table, w.Body)
		}
	}
	all(t, b, n)
	f := kit.Must(session.Load(filepath.Join(dir, "session.toml")))(t)
	if f.Sitting.Title != "Two cables" || f.Sitting.Control != "Plover" || f.Sitting.Bench.FullScale != "2.0V" || f.Sitting.Bench.MainsVoltsWithin != 0.03 || len(f.Sitting.Claims) != 1 {
		t.Errorf("%+v", f.Sitting)
	}
	for _, r := range f.Sitting.Runs {
		if len(r.Guessed) > 0 {
			t.Errorf("%s: %v is a guess still", r.Address, r.Guessed)
		}
	}
	if w := post(s, "save", "name", "out"); w.Code != http.StatusOK {
		t.Fatal(w.Body)
	}
	for _, name := range []string{"report.html", "session.json"} {
		if _, err := os.Stat(filepath.Join(dir, "out", name)); err != nil {
			t.Error(err)
		}
	}
	if page := ask(s, "GET", "report/run-3.html", "", nil); page.Code != http.StatusOK {
		t.Errorf("a run's page: %d %s", page.Code, page.Body)
	}
	batch := kit.Must(report.Session(t.Context(), report.Request{}, report.Sitting{File: f, Cache: t.TempDir()}))(t)
	kit.Same(t, batch.Fingerprint, b.outcome.judged.Fingerprint, "batch says otherwise")
	text, _ := f.Encode() // without its examples
	kit.OK(t, os.WriteFile(f.Path, text, 0o644))
	again, _ := open(t, Options{Folder: dir})
	all(t, again, n)
	if now := kit.Must(os.ReadFile(f.Path))(t); !bytes.Equal(now, text) {
		t.Error("a session that was only looked at is written")
	}
	if was, is := cells(b), cells(again); len(was) != len(is) {
		t.Errorf("opened again there are %d runs of %d", len(is), len(was))
	}
	kit.Same(t, fmt.Sprint(again.outcome.told), fmt.Sprint(b.outcome.told), "opened again, another result is told")
}

// Every correction can be undone and made again, and what was guessed is a guess again.
func TestCorrections(t *testing.T) {
	dir, n, _ := spread(t, small)
	b, s := open(t, Options{Folder: dir})
	all(t, b, n)
	file := func() []byte { return kit.Must(os.ReadFile(filepath.Join(dir, "runs.csv")))(t) }
	states := [][]byte{file()}
	near := b.idOf(t, "Grebe 20ohm wrapped near 1.wav")
	for _, edit := range [][]string{
		{"move", "id", near, "cable", "Plover", "termination_ohms", "open", "exposure", "wrapped", "condition", "near"},
		{"rename", "key", "cable", "was", "Plover", "now", "Golden plover"},
		{"rename", "key", "termination_ohms", "was", "20", "now", "4k7ohm"},
		{"run", "id", near, "file", "Grebe 20ohm wrapped near 1.wav", "note", "=1+1", "left_out", "a door slammed"},
		{"confirm", "cable", "Golden plover"},
		{"replaced"},
	} {
		if w := post(s, edit[0], edit[1:]...); w.Code != http.StatusOK {
			t.Fatal(edit, w.Body)
		}
		states = append(states, file())
		if bytes.Equal(states[len(states)-1], states[len(states)-2]) && edit[0] != "replaced" {
			t.Errorf("%v changed nothing", edit)
		}
	}
	if got := cells(b)["Grebe 20ohm wrapped near 1.wav"]; got != "Golden plover, open, wrapped, near, repeat 2" {
		t.Errorf("moved, it is %s", got)
	}
	for i := len(states) - 2; i >= 0; i-- {
		post(s, "undo")
		if !bytes.Equal(file(), states[i]) {
			t.Errorf("undoing step %d: %s", i+1, file())
		}
	}
	if w := post(s, "undo"); w.Code != http.StatusUnprocessableEntity {
		t.Error("there was more to undo")
	}
	for i := 1; i < len(states); i++ {
		post(s, "undo", "again", "1")
		if !bytes.Equal(file(), states[i]) {
			t.Errorf("step %d again: %s", i, file())
		}
	}
}

// What another program writes into the session's files is never written over unasked,
// and what is there as somebody wrote it is kept beside the first time.
func TestForeignChanges(t *testing.T) {
	dir, n, _ := spread(t, small)
	list := filepath.Join(dir, "runs.csv")
	b, s := open(t, Options{Folder: dir})
	all(t, b, n)
	post(s, "confirm")
	theirs := bytes.Replace(kit.Must(os.ReadFile(list))(t), []byte("Grebe,20,"), []byte("Great grebe,20,"), -1)
	if !bytes.Contains(theirs, []byte("Great grebe")) {
		t.Fatalf("the list has no such row: %s", theirs)
	}
	theirs = bytes.ReplaceAll(theirs, []byte(","), []byte(";"))
	kit.OK(t, os.WriteFile(list, theirs, 0o644))
	post(s, "rename", "key", "cable", "was", "Plover", "now", "Rail")
	if now := kit.Must(os.ReadFile(list))(t); !bytes.Equal(now, theirs) || !strings.Contains(shows(s), "another program has changed it") {
		t.Error("it was written over, or nothing is said")
	}
	kit.OK(t, os.Rename(list, list+".theirs"))
	post(s, "keep")
	if now := kit.Must(os.ReadFile(list))(t); !bytes.Contains(now, []byte("Grebe,20,")) || strings.Contains(shows(s), "another program") {
		t.Errorf("it isn't saved with theirs moved away: %s", now)
	}
	b.Close()
	kit.OK(t, os.WriteFile(list, theirs, 0o644))
	b, s = open(t, Options{Folder: dir})
	if names := cells(b); !strings.HasPrefix(names["Grebe 20ohm quiet 1.wav"], "Great grebe") {
		t.Errorf("%v", names)
	}
	post(s, "rename", "key", "cable", "was", "Great grebe", "now", "Grebe")
	if kept := kit.Must(os.ReadFile(filepath.Join(dir, "runs-before.csv")))(t); !bytes.Equal(kept, theirs) {
		t.Errorf("what they wrote is kept as %s", kept)
	}
	kit.OK(t, os.WriteFile(filepath.Join(dir, "session.toml"), []byte("colour = 1\nruns = 'runs.csv'\n"), 0o644))
	if _, err := New(t.Context(), Options{Folder: dir, Cache: t.TempDir()}); err == nil || !strings.Contains(err.Error(), "colour") {
		t.Errorf("a session that isn't understood is opened: %v", err)
	}
}

// planned writes a planned session of four runs, each of 3 s.
func planned(t *testing.T, dir string) {
	t.Helper()
	order := model.PlanOrder{Seed: 1, Seconds: 3}
	for i, condition := range []string{model.Residual, model.Quiet, model.Near, model.Quiet} {
		run := model.PlanRun{Number: i + 1, Condition: condition, Termination: model.None, Repeat: max(1, i-1), File: fmt.Sprintf("run%03d-%s.wav", i+1, condition)}
		if condition != model.Residual {
			run.Cable, run.Termination = "Grebe", 20
		}
		if condition == model.Near {
			run.Exposure, run.Repeat = "beside", 1
		}
		order.Runs = append(order.Runs, run)
	}
	kit.OK(t, session.Planned(filepath.Join(dir, "session.toml"), order, session.Blank().Bench, "").Write())
}

// Captures land in the cell that the plan expects next, marked as guessed, unless their
// names say otherwise.
func TestPlanComesAlong(t *testing.T) {
	dir, takes := t.TempDir(), t.TempDir()
	planned(t, dir)
	b, s := open(t, Options{Folder: dir, Session: "session.toml"})
	next := func(want string) {
		t.Helper()
		kit.Has(t, "next", b.view().Next, want)
	}
	next("Record run 1 of 4 next, for 3 s: residual")
	for i, name := range []string{"run001-residual.wav", "ZOOM0002.wav", "take quiet 9.wav"} {
		record(t, filepath.Join(takes, name), -95, int64(i))
		dropFile(t, s, name, filepath.Join(takes, name))
	}
	runs := b.sitting.session().Sitting.Runs
	for i, want := range []string{"run001-residual.wav", "ZOOM0002.wav", "run003-near.wav", "take quiet 9.wav"} {
		if runs[i].Address != want || (i%2 == 1) != slices.Contains(runs[i].Guessed, fileKey) {
			t.Errorf("run %d: %s %v", i+1, runs[i].Address, runs[i].Guessed)
		}
	}
	next("Say on which channel")
	if w := post(s, "channel", "n", "1"); w.Code != http.StatusOK {
		t.Error(w.Body)
	}
	next("Record run 3 of 4 next, for 3 s: Grebe, far end 20 Ω, near: the live lead beside")
	if html := shows(s); strings.Count(html, "Work near mains can kill") != 1 || strings.Count(html, "taken for it by its turn") != 2 {
		t.Error("safety isn't said once, or guesses aren't")
	}
	record(t, filepath.Join(takes, "ZOOM0009.wav"), -80, 7)
	dropFile(t, s, "ZOOM0009.wav", filepath.Join(takes, "ZOOM0009.wav"))
	all(t, b, 4)
	if r := b.sitting.session().Sitting.Runs[2]; r.Address != "ZOOM0009.wav#ch=1" || !slices.Contains(r.Guessed, fileKey) {
		t.Errorf("%+v", r)
	}
	next("Check what was guessed of 3 runs")
}
