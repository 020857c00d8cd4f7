package session

import (
	"bytes"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"humdiff/fft/estimate"
	"humdiff/fft/fault"
	"humdiff/fixtures/kit"
	"humdiff/report/formula"
	"humdiff/report/model"
)

// write puts files into a new folder and gives the session file's path.
func write(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		kit.OK(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666))
	}
	return filepath.Join(dir, "session.toml")
}

func load(t *testing.T, path string) File {
	t.Helper()
	s, err := Load(path)
	if err != nil {
		t.Fatalf("%s:\n%s", path, err)
	}
	return s
}

const written = `title = "Three cables"
runs = "runs.csv"

[bench]
mains_volts = "230V+/-3%"
mains_hz = 50
full_scale = "2.0V"
gain = "40dB"
input_ohms = 100e3
balanced = false
spacing_mm = 10.5
notes = """
A "quoted" line,
and another"""
photos = ["bench.jpg"]

[roles]
witness = "Heron"
idle_channel = 2

[[claim]]
name = "first"
says = "Grebe picks up less"
written = 2026-04-30
kind = "less"
cable = "Grebe"
than = "Heron"
db = 20

[[claim]]
name = "second"
written = 2026-04-30
kind = "below"
cable = "Grebe"
volts = "1uV"
termination_ohms = 20
of = "harmonic 3"
`

// files are a session's, with its runs listed as a spreadsheet of the given
// habits writes them.
func files(list string) map[string]string {
	return map[string]string{"session.toml": written, "bench.jpg": "", "runs.csv": list,
		"q1.wav": "", "n1.wav": "", "q2.wav": "", "n2.wav": "", "r.wav": ""}
}

const plainList = `cable,termination_ohms,exposure,condition,repeat,replaced,plug,loaded,bonded,file,start,note
Grebe,20,,quiet,1,,,,,q1.wav,2026-05-01 10:00,
Grebe,20,beside,near,1,yes,1,no,,"n1.wav#t=0,60",2026-05-01T10:02:00+02:00,"a comma, and a ""quote"""
Heron,open,,quiet,1,,,,,q2.wav,,
Heron,open,beside,near,1,yes,2,yes,,n2.wav,,
,,,residual,1,,,,,r.wav,,
`

func TestLoad(t *testing.T) {
	f := load(t, write(t, files(plainList)))
	s := f.Sitting
	if b := s.Bench; s.Title != "Three cables" || b.InputOhms != 1e5 || b.Balanced != model.No || b.SpacingMM != 10.5 ||
		b.ParallelMM.Ok() || b.Notes != "A \"quoted\" line,\nand another" || s.Control != "Heron" || s.Idle != 2 || b.Photos[0].File != "bench.jpg" {
		t.Errorf("%+v", s)
	}
	if _, lo, hi := model.Within(s.Bench.MainsVolts, s.Bench.MainsVoltsWithin).Numbers(); math.Abs(lo-223.1) > 1e-6 || math.Abs(hi-236.9) > 1e-6 {
		t.Errorf("mains from %g to %g V", lo, hi)
	}
	want := BlankRun()
	want.Number, want.Line, want.Cable, want.Termination.Ohms, want.Exposure, want.Condition = 2, 3, "Grebe", 20, "beside", model.Near
	want.Replaced, want.Plug, want.Loaded, want.Address = true, 1, model.No, "n1.wav#t=0,60"
	want.Start, want.Note = time.Date(2026, 5, 1, 8, 2, 0, 0, time.UTC), `a comma, and a "quote"`
	kit.Alike(t, want, s.Runs[1], same)
	if at, err := f.Capture(s.Runs[1]); err != nil || at.End != 60 || at.Path != f.Locate("n1.wav") || f.Named(s.Runs[1]) != "n1.wav" {
		t.Errorf("%+v, %v", at, err)
	}
	if !s.Runs[2].Termination.Open || s.Runs[4].Termination.Open || s.Runs[4].Termination.Ohms.Ok() {
		t.Errorf("%+v", s.Runs)
	}
	if c := s.Claims[1]; c.Kind != model.ClaimBelow || c.Volts != 1e-6 || c.Quantity != (model.Quantity{Harmonic: 3}) || c.Line != 30 {
		t.Errorf("%+v", c)
	}
}

// same takes absent numbers for equal.
var same = cmp.Options{
	cmp.Comparer(func(a, b model.Num) bool { return a == b || !a.Ok() && !b.Ok() }),
	cmp.Comparer(func(a, b estimate.Estimate) bool { return a.String() == b.String() }),
	cmpopts.EquateComparable(),
}

// Whatever a spreadsheet makes of the list, it reads the same.
func TestSpreadsheets(t *testing.T) {
	first := files(strings.ReplaceAll(plainList, "Grebe,20", "Grebe,4.7"))
	first["session.toml"] = strings.Replace(written, "termination_ohms = 20", "termination_ohms = 4.7", 1)
	want := load(t, write(t, first))
	semicolons := `file;Condition;Cable;Termination ohms;exposure;repeat;replaced;plug;loaded;start;note
q1.wav;quiet;Grebe;4,7;;1;;;;2026-05-01 10:00;
"n1.wav#t=0,60";near;Grebe;4,7;beside;1;TRUE;1;FALSE;2026-05-01T10:02:00+02:00;"a comma, and a ""quote"""
q2.wav;quiet;Heron;open;;1;;;;;
n2.wav;near;Heron;Open;beside;1;1;2;1;;
r.wav;residual;;;;1;;;;;
;;;;;;;;;;
`
	for name, list := range map[string]string{
		"semicolons": semicolons,
		"tabs":       strings.ReplaceAll(semicolons, ";", "\t"),
		"bom":        "\ufeff" + semicolons,
		"crlf":       strings.ReplaceAll(semicolons, "\n", "\r\n"),
		"words":      strings.ReplaceAll(strings.ReplaceAll(semicolons, ";FALSE;", ";Unloaded;"), ";2;1;;", ";2;loaded;;"),
		"quoted":     strings.ReplaceAll(semicolons, "Grebe", `"Grebe"`),
	} {
		all := files(list)
		all["session.toml"] = strings.Replace(written, "termination_ohms = 20", "termination_ohms = 4.7", 1)
		s := load(t, write(t, all))
		if d := cmp.Diff(want.Sitting.Runs, s.Sitting.Runs, same, cmpopts.IgnoreFields(model.Run{}, "Line")); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

// Everything that is wrong is said at once, each with its line.
func TestProblems(t *testing.T) {
	text := strings.NewReplacer(
		`gain = "40dB"`, `gian = "40dB"`,
		`witness = "Heron"`, `witness = "Herron"`,
		`than = "Heron"`, `than = "Egret"`,
		`volts = "1uV"`, `volts = 1`,
		`harmonic 3`, `third harmonic`,
	).Replace(written)
	list := `cable,termination,exposure,condition,repeat,file,colour
Grebe,20,,quiet,1,q1.wav,
Grebe,20,beside,near,1,n1.wav,red
Grebe,20,beside,near,1,n2.wav,
Heron,open,beside,near,1,gone.wav,
Heron,open,,silent,1,q2.wav,
Heron,open,beside,dead,zero,n1.wav,
`
	list = strings.Replace(list, "termination,", "termination_ohms,", 1)
	all := files(list)
	all["session.toml"] = text
	delete(all, "bench.jpg")
	path := write(t, all)
	_, err := Load(path)
	want := `session.toml:8:1: there is no key "gian" here
  hint: did you mean "gain"?
session.toml:15:1: there is no file bench.jpg
  hint: names count from the session file's folder
session.toml:18:1: the witness "Herron" is in no run
  hint: did you mean "Heron"?
session.toml:27:1: the cable "Egret" is in no run
  hint: there are Grebe, Heron
session.toml:35:1: volts: 1 is no text
  hint: write it in quotes
session.toml:37:1: of: "third harmonic" is not known
  hint: write "hum", "A-weighted hum", or a line such as "harmonic 3"
runs.csv:1: there is no column "colour"
  hint: there are cable, termination_ohms, exposure, condition, repeat, replaced, plug, loaded, load_amps, bonded, file, drive, reference, measured, start, note, left_out, guessed
runs.csv:4: the same run is listed twice: Grebe, 20 ohms, beside, near, repeat 1, first at line 3
  hint: number them with repeat, or say under left_out why one isn't used
runs.csv:5:26: there is no file gone.wav
  hint: names count from the session file's folder
runs.csv:6:13: condition: "silent" is not known
  hint: write one of quiet, near, dead, residual, driven
runs.csv:7:24: repeat: "zero" is no number
  hint: write digits alone, without unit and without a sign between thousands
runs.csv:7:29: the same capture is listed twice: n1.wav, first at line 3
  hint: a capture belongs to one run; of one file, runs have spans or channels of their own`
	got := strings.ReplaceAll(err.Error(), filepath.Dir(path)+string(filepath.Separator), "")
	kit.Alike(t, strings.Split(want, "\n"), strings.Split(got, "\n"))
}

func TestBroken(t *testing.T) {
	for name, c := range map[string]struct{ text, list, want string }{
		"syntax":       {"title = \"a\"\nruns = \n", "", "session.toml:2:"},
		"twice":        {"title = \"a\"\ntitle = \"b\"\n", "", "session.toml:2"},
		"no runs":      {"title = \"a\"\n", "", "it lists no runs"},
		"no list":      {"runs = \"list.csv\"\n", "", "session.toml:1:1: "},
		"empty list":   {"runs = \"runs.csv\"\n", "", "runs.csv:1: it is empty"},
		"utf-16":       {"runs = \"runs.csv\"\n", "\xff\xfec\x00", "UTF-16"},
		"bare quote":   {"runs = \"runs.csv\"\n", "cable,file\nGr\"ebe,q1.wav\n", "runs.csv:2:"},
		"both places":  {"runs = \"runs.csv\"\n[[run]]\ncondition = \"residual\"\nfile = \"r.wav\"\n", "cable,condition,file\n,residual,q1.wav\n", "list them in one place"},
		"single run":   {"[run]\nfile = \"q1.wav\"\n", "", "double brackets"},
		"bench list":   {"bench = 3\n", "", "no table"},
		"gain alone":   {"[bench]\ngain = \"40dB\"\n[[run]]\ncondition = \"residual\"\nfile = \"r.wav\"\n", "", "session.toml:2:1: "},
		"too many":     {"runs = \"runs.csv\"\n", "condition,file\nresidual,r.wav,more\n", "runs.csv:2:"},
		"column twice": {"runs = \"runs.csv\"\n", "file,file\nr.wav,r.wav\n", "twice"},
	} {
		all := files(c.list)
		all["session.toml"] = c.text
		_, err := Load(write(t, all))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", name, err, c.want)
		}
	}
}

// What Write writes, Load reads back, runs in either place.
func TestRoundTrip(t *testing.T) {
	path := write(t, files(plainList))
	s := load(t, path)
	runs := s.Sitting.Runs
	runs[0].Guessed = []string{"cable", "condition"}
	runs[1].LeftOut = "=door, \"slammed\"\nloud"
	runs[0].Note, runs[1].Note = "\t-1", "'@home"
	for _, list := range []string{"again.csv", ""} {
		s.Path = filepath.Join(filepath.Dir(path), "again"+list+".toml")
		s.RunsFile = list
		kit.OK(t, s.Write())
		got := load(t, s.Path)
		kit.Alike(t, s, got, same, cmpopts.IgnoreFields(model.Run{}, "Line"), cmpopts.IgnoreFields(model.Claim{}, "Line"))
		if err := s.Write(); err == nil {
			t.Error("wrote over a session")
		}
	}
	text := kit.Must(os.ReadFile(filepath.Join(filepath.Dir(path), "again.csv")))(t)
	cells := kit.Must(csv.NewReader(bytes.NewReader(text)).ReadAll())(t)
	for _, cell := range slices.Concat(cells...) {
		if formula.Opens(cell) {
			t.Errorf("a spreadsheet takes %q for a formula", cell)
		}
	}
}

// The examples of a first session are sound: with every # taken away it loads,
// and each key of bench and roles is there; as it is written it says what it was
// given, and nothing of the examples.
func TestFirst(t *testing.T) {
	runs := "cable,condition,exposure,termination_ohms,repeat,file\n"
	files := map[string]string{"tone.wav": "", "bench.jpg": ""}
	for _, cable := range []string{"cable one", "cable two", "old wire"} {
		for _, r := range []string{"quiet,", "near,beside"} {
			name := cable + " " + r[:4] + ".wav"
			files[name] = ""
			runs += cable + "," + r + ",20,1," + name + "\n"
		}
	}
	nothing := File{RunsFile: "runs.csv", Sitting: Blank()}
	first, _ := nothing.First()
	files["runs.csv"], files["session.toml"] = runs, string(first)
	path := write(t, files)
	blank := load(t, path)
	if d := cmp.Diff(nothing.Sitting, blank.Sitting, same, cmpopts.IgnoreFields(model.Sitting{}, "Runs")); d != "" {
		t.Errorf("examples count: %s", d)
	}
	f := File{Sitting: Blank()}
	chain := noPlayback()
	tables := [][]key{topKeys(&f), benchKeys(&f.Sitting.Bench), roleKeys(&f.Sitting), playbackKeys(&chain), claimKeys(new(model.Claim))}
	var lines []string
	for _, l := range strings.Split(string(first), "\n") {
		for _, name := range names(slices.Concat(tables...)) {
			if strings.HasPrefix(l, "# "+name+" = ") || l == "# [[claim]]" {
				l = strings.TrimPrefix(l, "# ")
			}
		}
		lines = append(lines, l)
	}
	kit.OK(t, os.WriteFile(path, []byte(strings.Join(lines, "\n")), 0o666))
	f = load(t, path)
	chain = *f.Sitting.Playback
	for _, k := range slices.Concat(tables[:4]...) {
		if k.value.write() == nil && k.name != "headphone" {
			t.Errorf("there is no example of %s", k.name)
		}
	}
	if c := f.Sitting.Claims; len(c) != 4 || c[0].Kind != model.ClaimLess || c[1].Kind != model.ClaimBelow || c[2].Kind != model.ClaimRise || c[3].Kind != model.ClaimSame {
		t.Errorf("%+v", c)
	}
	kit.Has(t, "columns explained", string(first), "# In that list, termination_ohms is ohms, as 20 or 4k7ohm, or \"open\"; exposure is how")
}

// What was given in a session file's place is told, with what to give.
func TestMistaken(t *testing.T) {
	list := "cable;condition;file\r\nGrebe;quiet;q.wav\r\n"
	path := write(t, map[string]string{"session.toml": "", "runs.csv": "\ufeff" + list, "q.wav": "RIFF", "session.json": "{}"})
	dir := filepath.Dir(path)
	alone := filepath.Join(t.TempDir(), "runs.csv")
	kit.OK(t, os.WriteFile(alone, []byte(list), 0o666))
	for file, want := range map[string][2]string{
		filepath.Join(dir, "runs.csv"):     {"a list of runs, not a session file", "session.toml"},
		alone:                              {"a list of runs, not a session file", `runs = "runs.csv"`},
		filepath.Join(dir, "q.wav"):        {"a capture, not a session file", "--new"},
		filepath.Join(dir, "session.json"): {"a result, not a session file", "verify"},
	} {
		_, err := Load(file)
		if err == nil || !strings.Contains(err.Error(), want[0]) || !strings.Contains(fault.Hint(err), want[1]) {
			t.Errorf("%s: %v, hint %q", file, err, fault.Hint(err))
		}
	}
}

func TestLocate(t *testing.T) {
	s := File{Path: filepath.Join("bench", "session.toml")}
	kit.Same(t, s.Locate("a/q.wav"), filepath.Join("bench", "a", "q.wav"), "beside the session file")
	abs := filepath.Join(t.TempDir(), "q.wav")
	kit.Same(t, s.Locate(abs), abs, "s.Locate(abs)")
}
