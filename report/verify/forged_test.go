package verify_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"humdiff/report"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/verify"
	"humdiff/report/wire"
)

var forgeries = flag.Int("forgeries", 5, "random edits tried of each kind of report, of each way of making them")

// bench is an honest report with its captures, to be forged again and again.
type honest struct {
	kind, dir, json string
}

// copyOf is a copy of an honest report to forge; its captures are linked.
func (h honest) copyOf(t testing.TB) string {
	t.Helper()
	to := t.TempDir()
	err := filepath.WalkDir(h.dir, func(path string, d os.DirEntry, err error) error {
		rel, _ := filepath.Rel(h.dir, path)
		if err != nil || rel == "kept" {
			if d.IsDir() && rel == "kept" {
				return filepath.SkipDir
			}
			return err
		}
		if d.IsDir() {
			return os.MkdirAll(filepath.Join(to, rel), 0o755)
		}
		if filepath.Ext(path) == ".wav" {
			return os.Link(path, filepath.Join(to, rel))
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(to, rel), data, 0o644)
	})
	if err != nil {
		t.Fatal(err)
	}
	rel, _ := filepath.Rel(h.dir, h.json)
	return filepath.Join(to, rel)
}

func allHonest(t testing.TB) (all []honest) {
	t.Helper()
	for kind, make := range kinds {
		dir := t.TempDir()
		all = append(all, honest{kind, dir, make(t, dir)})
	}
	return all
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
	{"an older schema", `/2"`, `/1"`, ""},
	{"a newer schema", `/2"`, `/3"`, ""},
	{"clipping denied", `"clipped":0`, `"clipped":1`, ""},
	{"the peak", `"peak_dbfs":-`, `"peak_dbfs":-1`, ""},
	{"a step's level", `"hum":{"state":"detected","dbfs":-`, `"hum":{"state":"detected","dbfs":-1`, "trend"},
	{"a span moved", `"spans":[{"state":"still","start_s":0`, `"spans":[{"state":"still","start_s":1`, "trend"},
	{"something behind", "}\n", "}\n{}\n", ""},
	{"cut off", "}\n", "\n", ""},
	{"inputs forgotten", `"inputs":[{`, `"inputs":[],"input":[{`, "session"},
	{"infinity", `"u95_hz":`, `"u95_hz":1e999,"was":`, ""},
	{"a number as text", `"harmonic":1`, `"harmonic":"1"`, ""},
}

// None of them stands.
func TestEditsByHand(t *testing.T) {
	tried := 0
	for _, h := range allHonest(t) {
		text, err := os.ReadFile(h.json)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range byHand {
			edited := strings.Replace(string(text), e.old, e.new, 1)
			if edited == string(text) || e.kind != "" && e.kind != h.kind {
				continue
			}
			tried++
			path := h.copyOf(t)
			if err := os.WriteFile(path, []byte(edited), 0o644); err != nil {
				t.Fatal(err)
			}
			if stands(t, path) {
				t.Errorf("%s: %s: it stands", h.kind, e.name)
			}
		}
	}
	t.Logf("%d edits by hand, none stands", tried)
	if tried < 100 {
		t.Errorf("only %d edits were tried", tried)
	}
}

// What lies beside an honest result is compared to the byte, and nothing lies there
// that the result doesn't make.
func TestFilesBeside(t *testing.T) {
	for _, h := range allHonest(t) {
		if h.kind == "measure" {
			continue // nothing lies beside it
		}
		names, err := os.ReadDir(filepath.Dir(h.json))
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range names {
			if d.Name() == filepath.Base(h.json) {
				continue
			}
			for what, do := range map[string]func(path string) error{
				"edited":  func(path string) error { return replaceIn(path, "e", "3") },
				"removed": os.Remove,
			} {
				path := h.copyOf(t)
				if err := do(filepath.Join(filepath.Dir(path), d.Name())); err != nil {
					t.Fatal(err)
				}
				if d.Name() == publish.ListName && what == "removed" {
					continue // without the list the report's own files still count
				}
				if stands(t, path) {
					t.Errorf("%s: %s %s: it stands", h.kind, d.Name(), what)
				}
			}
		}
		for _, added := range []string{"seal-of-approval.svg", "REPORT.HTML", "notes.txt"} {
			path := h.copyOf(t)
			if err := os.WriteFile(filepath.Join(filepath.Dir(path), added), []byte("x"), 0o644); err != nil {
				t.Fatal(err)
			}
			if stands(t, path) {
				t.Errorf("%s: with %s beside it, it stands", h.kind, added)
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

// leaf is a value in decoded JSON that can be changed.
type leaf struct {
	where string
	get   any
	set   func(any)
}

func leaves(where string, v any, set func(any), out *[]leaf) {
	switch x := v.(type) {
	case map[string]any:
		for _, k := range slices.Sorted(func(yield func(string) bool) {
			for k := range x {
				if !yield(k) {
					return
				}
			}
		}) {
			leaves(where+"."+k, x[k], func(n any) { x[k] = n }, out)
		}
	case []any:
		for i := range x {
			leaves(fmt.Sprintf("%s[%d]", where, i), x[i], func(n any) { x[i] = n }, out)
		}
	default:
		*out = append(*out, leaf{where, v, set})
	}
}

// forgedValue is another value in the place of one.
func forgedValue(r *rand.Rand, v any) any {
	switch x := v.(type) {
	case float64:
		return []any{x + 1, x * 1.01, -x, 0.0, x - 3, nil}[r.IntN(6)]
	case bool:
		return !x
	case string:
		return []any{x + "x", "", "detected", "measured", "supported", "yes"}[r.IntN(6)]
	}
	return []any{1.0, -80.0, "x", true}[r.IntN(4)]
}

// A forger with the program: any value changed, the result written as humdiff
// writes it, sealed, and every file of the report drawn anew from it. Nothing but
// the captures betrays it.
func TestForgedWithTheProgram(t *testing.T) {
	for _, h := range allHonest(t) {
		text, err := os.ReadFile(h.json)
		if err != nil {
			t.Fatal(err)
		}
		// Decoding loses the order in which a note's arguments stand: an edit counts
		// only where more than that differs.
		unedited := sealed(t, text)
		tried, seed := 0, uint64(0)
		for tried < *forgeries && seed < uint64(20**forgeries) {
			seed++
			r := rand.New(rand.NewPCG(seed, 7))
			var tree any
			if err := json.Unmarshal(text, &tree); err != nil {
				t.Fatal(err)
			}
			var all []leaf
			leaves("", tree, nil, &all)
			at := all[r.IntN(len(all))]
			at.set(forgedValue(r, at.get))
			edited, err := json.Marshal(tree)
			if err != nil {
				t.Fatal(err)
			}
			path, ok := resealed(t, h, edited, unedited)
			if !ok {
				continue // nothing that a result holds was changed, or none comes of it
			}
			tried++
			if stands(t, path) {
				t.Errorf("%s, seed %d: %s changed from %v: it stands", h.kind, seed, at.where, at.get)
			}
		}
		t.Logf("%s: %d forged with the program, none stands", h.kind, tried)
	}
}

// sealed is a result's text decoded, written by humdiff and sealed.
func sealed(t testing.TB, text []byte) []byte {
	t.Helper()
	var tree any
	if err := json.Unmarshal(text, &tree); err != nil {
		t.Fatal(err)
	}
	plain, err := json.Marshal(tree)
	if err != nil {
		t.Fatal(err)
	}
	r, err := wire.Read(plain)
	if err != nil {
		t.Fatal(err)
	}
	if err := wire.Seal(r); err != nil {
		t.Fatal(err)
	}
	again, err := wire.Write(r)
	if err != nil {
		t.Fatal(err)
	}
	return again
}

// resealed is a copy of a report remade from an edited result; false where the edit
// comes to nothing.
func resealed(t testing.TB, h honest, edited, honestText []byte) (path string, ok bool) {
	defer func() {
		if recover() != nil {
			ok = false // its values contradict each other: not even drawn
		}
	}()
	r, err := wire.Read(edited)
	if err != nil || wire.Seal(r) != nil {
		return "", false
	}
	again, err := wire.Write(r)
	if err != nil || bytes.Equal(again, honestText) {
		return "", false
	}
	path = h.copyOf(t)
	if h.kind == "measure" {
		return path, os.WriteFile(path, again, 0o644) == nil
	}
	files, err := report.Files(r)
	if err != nil {
		return "", false
	}
	if err := os.RemoveAll(filepath.Dir(path)); err != nil {
		t.Fatal(err)
	}
	if err := publish.Write(t.Context(), filepath.Dir(path), true, files); err != nil {
		return "", false
	}
	return path, true
}

// A forger with an editor: bytes of any file of a report changed, or taken out, or
// files exchanged.
func TestForgedWithAnEditor(t *testing.T) {
	for _, h := range allHonest(t) {
		names, err := os.ReadDir(filepath.Dir(h.json))
		if err != nil {
			t.Fatal(err)
		}
		for seed := range uint64(*forgeries) {
			r := rand.New(rand.NewPCG(seed, 8))
			path := h.copyOf(t)
			name := names[r.IntN(len(names))].Name()
			if filepath.Ext(name) == ".wav" {
				name = filepath.Base(h.json)
			}
			file := filepath.Join(filepath.Dir(path), name)
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			at := r.IntN(len(text))
			before := bytes.Clone(text)
			switch r.IntN(3) {
			case 0:
				text[at] = "0123456789 abc{}[],:"[r.IntN(20)]
			case 1:
				text = slices.Delete(text, at, min(len(text), at+1+r.IntN(40)))
			case 2:
				text = slices.Insert(text, at, []byte("1")...)
			}
			if bytes.Equal(text, before) {
				continue
			}
			if err := os.WriteFile(file, text, 0o644); err != nil {
				t.Fatal(err)
			}
			if stands(t, path) {
				t.Errorf("%s, seed %d: %s edited at byte %d: it stands", h.kind, seed, name, at)
			}
		}
	}
}
