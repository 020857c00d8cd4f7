package verify_test

import (
	"bytes"
	"errors"
	"log"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/fixtures/trials"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/verify"
	"humdiff/report/wire"
)

// honest is an honest report with its captures, to be forged again and again.
type honest struct {
	kind, dir, json string
}

// files are those of the report, its captures, and what it was read from.
func (h honest) files(t testing.TB) (names []string) {
	t.Helper()
	err := filepath.WalkDir(h.dir, func(path string, d os.DirEntry, err error) error {
		rel, _ := filepath.Rel(h.dir, path)
		switch {
		case err != nil:
			return err
		case rel == "kept":
			return filepath.SkipDir
		case !d.IsDir():
			names = append(names, rel)
		}
		return nil
	})
	kit.OK(t, err)
	return names
}

// copyOf is a copy of an honest report to forge; its captures are linked.
func (h honest) copyOf(t testing.TB) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "copy") // nothing lies next door
	for _, rel := range h.files(t) {
		from, into := filepath.Join(h.dir, rel), filepath.Join(to, rel)
		err := os.MkdirAll(filepath.Dir(into), 0o755)
		if filepath.Ext(rel) == ".wav" {
			err = errors.Join(err, os.Link(from, into))
		} else {
			data, unread := os.ReadFile(from)
			err = errors.Join(err, unread, os.WriteFile(into, data, 0o644))
		}
		kit.OK(t, err)
	}
	rel, _ := filepath.Rel(h.dir, h.json)
	return filepath.Join(to, rel)
}

// alone is a copy with other JSON in the result's place and nothing beside it: no page that
// looks otherwise gives an edit away.
func (h honest) alone(t testing.TB, edited []byte) string {
	t.Helper()
	path := h.copyOf(t)
	if dir := filepath.Dir(path); !strings.HasPrefix(h.kind, "measure") { // whose captures lie there
		kit.OK(t, errors.Join(os.RemoveAll(dir), os.Mkdir(dir, 0o755)))
	}
	kit.OK(t, os.WriteFile(path, edited, 0o644))
	return path
}

// ofKind is the honest report of a kind.
func ofKind(t testing.TB, kind string) honest {
	t.Helper()
	all := allHonest(t)
	return all[slices.IndexFunc(all, func(h honest) bool { return h.kind == kind })]
}

// root is the folder of a copy, whose report is named.
func (h honest) root(path string) string {
	rel, _ := filepath.Rel(h.dir, h.json)
	return strings.TrimSuffix(path, rel)
}

// room is where honest reports lie while tests run.
var room struct {
	dir  string
	made sync.Once
	all  []honest
}

func TestMain(m *testing.M) {
	var err error
	if room.dir, err = os.MkdirTemp("", "honest"); err != nil {
		log.Fatal(err)
	}
	code := m.Run()
	os.RemoveAll(room.dir)
	os.Exit(code)
}

// allHonest is one of each kind, made once. Each is moved then: its captures can't be
// found but in its copies.
func allHonest(t testing.TB) []honest {
	t.Helper()
	room.made.Do(func() {
		for _, kind := range slices.Sorted(maps.Keys(kinds)) {
			made, moved := filepath.Join(room.dir, "made"), filepath.Join(room.dir, kind)
			path := kinds[kind](t, made)
			kit.OK(t, os.Rename(made, moved))
			room.all = append(room.all, honest{kind, moved, moved + strings.TrimPrefix(path, made)})
		}
	})
	return room.all
}

// eachHonest tries something of each, some at the same time.
func eachHonest(t *testing.T, try func(t *testing.T, h honest)) {
	for _, h := range allHonest(t) {
		t.Run(h.kind, func(t *testing.T) {
			t.Parallel()
			try(t, h)
		})
	}
}

// stands says whether a forged report is blessed; that it can't be read at all is
// as good as that it doesn't stand.
func stands(t testing.TB, path string) bool {
	t.Helper()
	v, err := verify.Path(t.Context(), version, path, nil, nil)
	return err == nil && slices.ContainsFunc(v, func(v model.Verification) bool { return v.Verdict == model.Stands })
}

// Edits of a report's JSON text by hand, each of which was blessed once or might be.
var byHand = []struct {
	name, old, new string
	kind           string // empty: of each kind in which the old text occurs
}{
	{"a second key that differs in case", `"warnings":`, `"Warnings":[],"warnings":`, ""},
	{"the same key twice", `"warnings":`, `"warnings":[],"warnings":`, ""},
	{"a second key behind", `"captures":[`, `"Captures":[],"captures":[`, ""},
	{"pairs twice", `"pairs":[`, `"Pairs":[],"pairs":[`, ""},
	{"runs twice", `"runs":[`, `"Runs":[],"runs":[`, "session"},
	{"a delta's number deleted", `"delta":{"state":"measured","db":`, `"delta":{"state":"measured","was":`, "compare"},
	{"a delta called unknown", `"delta":{"state":"measured"`, `"delta":{"state":"not_measurable"`, "compare"},
	{"a delta called a bound", `"delta":{"state":"measured"`, `"delta":{"state":"at_most"`, "compare"},
	{"a line called undetected", `"state":"detected"`, `"state":"undetected"`, ""},
	{"a key added", `{"schema":`, `{"note":"checked by an institute","schema":`, ""},
	{"a key taken out", `"tones":`, `"tunes":`, ""},
	{"white space", `,"`, `, "`, ""},
	{"an objection deleted", `"objections":[{`, `"objections":[],"was":[{`, "session"},
	{"objections emptied", `"objections":`, `"objections":[],"dropped":`, "session"},
	{"a verdict turned", `"verdict":"supported"`, `"verdict":"refuted"`, "session"},
	{"a verdict turned back", `"verdict":"refuted"`, `"verdict":"supported"`, "session"},
	{"claims reworded", `30 dB at most`, `10 dB at most`, "session"},
	{"a title reworded", `"title":"A sitting"`, `"title":"An accredited sitting"`, "session"},
	{"a cable renamed", `"cable":"Grebe"`, `"cable":"Heron"`, "session"},
	{"a run left out", `"left_out":""`, `"left_out":"clipped"`, "session"},
	{"a run called failed", `"failed":false`, `"failed":true`, "session"},
	{"a run not used", `"used":true`, `"used":false`, "session"},
	{"a termination changed", `"ohms":20`, `"ohms":2`, "session"},
	{"a start invented", `"start":""`, `"start":"2031-02-28T19:05:07Z"`, "session"},
	{"the full scale moved", `"full_scale_volts":`, `"full_scale_volts":1`, ""},
	{"what was said of it", `2.0V ±1%`, `2.1V ±1%`, ""},
	{"what the session said of it", `"full_scale":"2V"`, `"full_scale":"3V"`, "session"},
	{"another span", `"end_s":4`, `"end_s":3`, ""},
	{"another channel", `"channel":2`, `"channel":3`, ""},
	{"another rate", `"rate_hz":8000`, `"rate_hz":48000`, ""},
	{"other bits", `"bits":24`, `"bits":16`, ""},
	{"a hash changed", `"sha256":"`, `"sha256":"0`, ""},
	{"a fingerprint changed", `"fingerprint":"`, `"fingerprint":"A`, ""},
	{"may be printed", `"state":"only_as"`, `"state":"ready"`, ""},
	{"may not be printed", `"state":"not_yet"`, `"state":"only_as"`, ""},
	{"a reason deleted", `"codes":[{`, `"codes":[],"were":[{`, ""},
	{"a caption praised", `"caption":"`, `"caption":"Best of all. `, ""},
	{"a warning softened", `"message":"`, `"message":"All is well: `, ""},
	{"a warning's code", `"code":"one_placement"`, `"code":"none"`, ""},
	{"the window", `"window":"nuttall"`, `"window":"hann"`, ""},
	{"up to", `"up_to_hz":500`, `"up_to_hz":5000`, ""},
	{"the confidence", `"confidence":0.95`, `"confidence":0.99`, ""},
	{"false alarms", `"false_alarm_share":0.01`, `"false_alarm_share":0.001`, ""},
	{"another version", `"version":"1"`, `"version":"0"`, ""},
	{"an older schema", `/3"`, `/2"`, ""},
	{"a newer schema", `/2"`, `/3"`, ""},
	{"clipping denied", `"clipped":0`, `"clipped":1`, ""},
	{"the peak", `"peak_dbfs":-`, `"peak_dbfs":-1`, ""},
	{"a step's level", `"hum":{"state":"detected","dbfs":-`, `"hum":{"state":"detected","dbfs":-1`, "trend"},
	{"a span moved", `"spans":[{"state":"still","start_s":0`, `"spans":[{"state":"still","start_s":1`, "trend"},
	{"a steadier reference", `"steady_db":-`, `"steady_db":-1`, "trend by reference"},
	{"what came since", `"referred":{"why":"","steady_db":`, `"referred":{"why":"reference_weak","steady_db":`, "trend by reference"},
	{"less came", `"hi_fs":`, `"hi_fs":0.1,"was":`, "trend by reference"},
	{"something behind", "}\n", "}\n{}\n", ""},
	{"cut off", "}\n", "\n", ""},
	{"inputs forgotten", `"inputs":[{`, `"inputs":[],"input":[{`, "session"},
	{"infinity", `"u95_hz":`, `"u95_hz":1e999,"was":`, ""},
	{"a capacitance lessened", `"value":{"state":"measured","value":`, `"value":{"state":"measured","value":1`, "passport"},
	{"a ratio moved", `"re":`, `"re":1`, "passport"},
	{"less noise", `"u":`, `"u":1e-30,"was":`, "passport"},
	{"a residual called a driven run", `"condition":"residual"`, `"condition":"driven"`, "passport"},
	{"a drive renamed", `"drive":"wire"`, `"drive":"coil"`, "passport"},
	{"a drive's scale", `"full_scale":"4V ±1%"`, `"full_scale":"3V ±1%"`, "passport"},
	{"a placement's scatter", `"placements":1`, `"placements":9`, "passport"},
	{"a number as text", `"harmonic":1`, `"harmonic":"1"`, ""},
}

// holdsPassport is the kind of a report that edits of passports are tried of too.
const holdsPassport = "session of a known source"

// cheapFirst are kinds by how long it takes to verify one.
var cheapFirst = []string{"trend", "measure", "session", "trend by reference", "passport", "session by reference", "measure of two", "compare by reference", "compare", holdsPassport}

// None of them stands. One that is of several kinds is tried of each only where all
// trials are asked for, else of one: of the three cheapest by turns, if they have it.
func TestEditsByHand(t *testing.T) {
	tried := 0
	for i, e := range byHand {
		before := tried
		kinds := slices.Clone(cheapFirst)
		kinds[0], kinds[i%3] = kinds[i%3], kinds[0]
		for _, kind := range kinds {
			h := ofKind(t, kind)
			text := kit.Must(os.ReadFile(h.json))(t)
			edited := strings.Replace(string(text), e.old, e.new, 1)
			of := strings.HasPrefix(h.kind, e.kind) || e.kind == "passport" && kind == holdsPassport
			if edited == string(text) || !of || tried > before && !trials.Full() {
				continue
			}
			tried++
			if stands(t, h.alone(t, []byte(edited))) {
				t.Errorf("%s: %s: it stands", h.kind, e.name)
			}
		}
	}
	if tried < 50 {
		t.Errorf("only %d edits were tried", tried)
	}
}

// What lies beside an honest result is compared to the byte, and nothing lies there
// that the result doesn't make.
func TestFilesBeside(t *testing.T) {
	for _, h := range allHonest(t) {
		if h.kind != "compare of all" && h.kind != "session" && h.kind != "trend" {
			continue // the same lies beside others, or nothing
		}
		entries := kit.Must(os.ReadDir(filepath.Dir(h.json)))(t)
		var names []string
		for _, e := range entries {
			if e.Name() != filepath.Base(h.json) && e.Name() != publish.ListName {
				names = append(names, e.Name())
			}
		}
		for _, c := range []struct {
			state string
			names []string
			do    func(path string) error
		}{
			{model.Differs, names, func(path string) error { return replaceIn(path, "e", "3") }},
			{model.Missing, names, os.Remove},
			{model.Foreign, []string{"seal-of-approval.svg", "REPORT.HTML", "notes.txt"}, func(path string) error { return os.WriteFile(path, []byte("x"), 0o644) }},
			{model.Differs, []string{publish.ListName}, func(path string) error { return replaceIn(path, "e", "3") }},
		} {
			path := h.copyOf(t)
			for _, name := range c.names {
				kit.OK(t, c.do(filepath.Join(filepath.Dir(path), name)))
			}
			all, err := verify.Path(t.Context(), version, path, nil, nil)
			if err != nil && len(c.names) == 1 {
				continue // a list that can't be read any more
			}
			if err != nil || all[0].Verdict != model.Differs {
				t.Fatalf("%s, files %s: %v", h.kind, c.state, err)
			}
			for _, name := range c.names {
				if !slices.Contains(all[0].Files, model.VerifiedFile{File: name, State: c.state}) {
					t.Errorf("%s: %s is not said to be %s:\n%s", h.kind, name, c.state, told(all[0]))
				}
			}
		}
	}
}

func replaceIn(path, old, new string) error {
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	return os.WriteFile(path, bytes.Replace(text, []byte(old), []byte(new), 1), 0o644)
}

// A page beside a result that lies by itself is one that nobody has compared; notes and
// captures beside it are just that, and so are captures beside a report.
func TestBesideAResultAlone(t *testing.T) {
	for _, h := range allHonest(t) {
		if h.kind != "measure" && h.kind != "compare" {
			continue
		}
		for added, want := range map[string]string{"notes.txt": model.Stands, "README.md": model.Stands, "report.html": model.Differs, "Proof.SVG": model.Differs} {
			path := h.copyOf(t)
			root := h.root(path)
			if h.kind == "compare" { // its JSON alone, beside its captures
				kit.OK(t, os.Rename(path, filepath.Join(root, "compare.json")))
				path = filepath.Join(root, "compare.json")
			}
			kit.OK(t, os.WriteFile(filepath.Join(filepath.Dir(path), added), []byte("x"), 0o644))
			if v := verified(t, path); v.Verdict != want {
				t.Errorf("%s with %s beside it: %s\n%s", h.kind, added, v.Verdict, told(v))
			}
		}
		if h.kind == "compare" {
			path := h.copyOf(t)
			root, dir := h.root(path), filepath.Dir(path)
			for _, name := range []string{"quiet.wav", "near.wav"} {
				kit.OK(t, os.Rename(filepath.Join(root, name), filepath.Join(dir, name)))
			}
			if v := verified(t, path); v.Verdict != model.Stands {
				t.Errorf("captures beside a report: %s\n%s", v.Verdict, told(v))
			}
		}
	}
}

// Of a run that could not be measured its file's bytes are held to, that it can't be, and
// why; of one left out that it was measured; and of a warning what it says, not only that
// it warns.
func TestForgedSessions(t *testing.T) {
	for _, c := range []struct {
		name, kind string
		forge      func(s *model.Session)
	}{
		{"the file is another", "session of all", nil},
		{"the file is forgotten", "session of all", func(s *model.Session) { s.Inputs = s.Inputs[:1] }},
		{"the reason is reworded", "session of all", func(s *model.Session) { s.Runs[18].Unused.Args[0].Value = "a door slammed" }},
		{"one left out was never measured", "session of all", func(s *model.Session) { s.Runs[17].Capture = nil }},
		{"forty seconds are called short", "session", func(s *model.Session) {
			at := slices.IndexFunc(s.Warnings, func(w model.Warning) bool { return w.Code == "short" && w.File != "" })
			s.Warnings[at].Args[0].Value = 40.0 // it has four
		}},
	} {
		h := ofKind(t, c.kind)
		s := kit.Must(wire.Read(kit.Must(os.ReadFile(h.json))(t)))(t).(*model.Session)
		if c.kind == "session of all" && (len(s.Inputs) != 2 || s.Inputs[1].File != "broken.wav" || !s.Runs[18].Failed || s.Runs[17].LeftOut == "") {
			t.Fatal("the session is another")
		}
		if c.forge != nil {
			c.forge(s)
		}
		kit.OK(t, wire.Seal(s))
		path := h.alone(t, kit.Must(wire.Write(s))(t))
		if c.forge == nil {
			file := filepath.Join(h.root(path), "bench", "broken.wav") // a link
			kit.OK(t, errors.Join(os.Remove(file), os.WriteFile(file, []byte("RIFF, but another"), 0o644)))
		}
		if stands(t, path) {
			t.Errorf("%s: it stands", c.name)
		}
	}
}
