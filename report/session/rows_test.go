package session

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"humdiff/fft/note"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
	"humdiff/report/formula"
	"humdiff/report/model"
)

// A list that isn't UTF-8 is read as Windows-1252, which spreadsheets write, and
// that is noted with the first line it shows in.
func TestWindows1252(t *testing.T) {
	list := "Cable;Condition;Termination;File;Note\nGr\xfcnes Kabel;ruhig;4,7 kohm;q1.wav;\x84Probe\x93\n"
	f := load(t, write(t, map[string]string{"session.toml": `runs = "runs.csv"`, "runs.csv": list, "q1.wav": ""}))
	if r := f.Sitting.Runs[0]; r.Cable != "Grünes Kabel" || r.Note != "„Probe“" || r.Termination.Ohms != 4700 {
		t.Errorf("%+v", r)
	}
	want := []model.Warning{{Note: note.New(noUTF8, "line", 2), File: "runs.csv"}}
	kit.Alike(t, want, f.Warnings)
}

// A typo in one row is the only problem told: the runs that would have gone with
// it are not said to miss anything.
func TestOneTypo(t *testing.T) {
	const sound = `cable,termination_ohms,exposure,condition,repeat,file,start
Grebe,20,,quiet,1,q1.wav,2026-05-01 10:00
Grebe,20,beside,near,1,n1.wav,2026-05-01 10:02
Heron,20,,quiet,1,q2.wav,2026-05-01 10:04
Heron,20,beside,near,1,n2.wav,2026-05-01 10:06
`
	text := strings.ReplaceAll(written, "termination_ohms = 20\n", "termination_ohms = 20\nexposure = \"beside\"\n")
	for from, want := range map[[2]string]string{
		{"", ""}:                                 "",
		{"Heron,20,,quiet", "Heron,20,,qiuet"}:   `runs.csv:4:11: condition: "qiuet" is not known`,
		{"Heron,20,,quiet", "Heron,2o,,quiet"}:   `runs.csv:4:7: termination_ohms: "2o" is no resistance`,
		{"Heron,20,,quiet", "Her\"on,20,,quiet"}: `runs.csv:4:4: bare " in non-quoted-field`,
		{"10:04", "10:64"}:                       `runs.csv:4:26: start: "2026-05-01 10:64" is no date or time`,
		{"condition,", "conditon,"}:              `runs.csv:1: there is no column "conditon"`,
		{"cable,", "kable,"}:                     `runs.csv:1: there is no column "kable"`,
	} {
		all := files(strings.Replace(sound, from[0], from[1], 1))
		all["session.toml"] = text
		_, err := Load(write(t, all))
		if want == "" {
			if err != nil {
				t.Errorf("the sound list: %v", err)
			}
			continue
		}
		problems, _ := err.(Problems)
		if len(problems) != 1 || !strings.Contains(problems[0].Error(), want) {
			t.Errorf("%q: %v, want %q alone", from[1], err, want)
		}
	}
}

// Dates as spreadsheets write them; which of two numbers between strokes is the
// day, another date of the list tells, or nothing does.
func TestDates(t *testing.T) {
	at := time.Date(2026, 5, 31, 14, 5, 0, 0, time.UTC)
	day := at.Truncate(24 * time.Hour)
	for said, want := range map[string]time.Time{
		"2026-05-31 14:05": at, "2026-05-31T14:05:00": at, "2026-05-31": day, "2026-05-31T16:05:00+02:00": at,
		"31.05.2026 14:05": at, "31.5.26": day, "31.05.2026 2:05 PM": at, "46173.5868055556": at, "46173,5868055556": at,
		"31/05/2026 14:05": at, "5/31/2026 2:05:00 PM": at,
	} {
		if got := starts(said); len(got) != 1 || !got[0].Equal(want) {
			t.Errorf("%q: %v", said, got)
		}
	}
	if got := starts("05/06/2026 10:00", "31/05/2026"); len(got) != 2 || !got[0].Equal(time.Date(2026, 6, 5, 10, 0, 0, 0, time.UTC)) {
		t.Errorf("the other date doesn't tell: %v", got)
	}
	for _, wrong := range [][]string{{"05/06/2026"}, {"13/05/2026", "05/13/2026"}, {"2026-31-05"}, {"yesterday"}, {"12"}, {"32.1.2026"}} {
		if got := starts(wrong...); len(got) > 0 {
			t.Errorf("%q was taken for %v", wrong, got)
		}
	}
}

// starts are the times that a list's column start has.
func starts(cells ...string) (all []time.Time) {
	text := "start;condition\n"
	for _, c := range cells {
		text += c + ";residual\n"
	}
	runs, _ := rows("runs.csv", []byte(text))
	for _, e := range runs {
		var problems Problems
		var r model.Run
		e.fill(runKeys(&r), &problems)
		if len(problems) == 0 {
			all = append(all, r.Start)
		}
	}
	return all
}

// How the far device is tied to earth, as it is written and written again.
func TestBond(t *testing.T) {
	for said, want := range map[string][2]string{"bonded": {model.Yes, "true"}, "yes": {model.Yes, "true"}, "isolated": {model.No, "false"}, "no": {model.No, "false"},
		"class2": {model.ClassTwo, "class2"}, "Class II": {model.ClassTwo, "class2"}, "class_ii": {model.ClassTwo, "class2"}, "Klasse 2": {model.ClassTwo, "class2"}} {
		var got string
		v := answer(&got, bondWords)
		if err := v.read(cell(said)); err != nil || got != want[0] || fmt.Sprint(v.write()) != want[1] {
			t.Errorf("%q: %q, written %v, %v", said, got, v.write(), err)
		}
	}
	got := ""
	if err := answer(&got, bondWords).read(cell("floating")); err == nil || got != "" {
		t.Errorf("%q, %v", got, err)
	}
}

// Cells as people write them in some languages.
func TestCells(t *testing.T) {
	runs, problems := rows("runs.csv", []byte("cable;condition;termination;replaced;loaded;load_amps\nGrün;RUHIG;offen;WAHR;unloaded;0,5\nGrün;près;4k7ohm;non;yes;\"0,5 A\"\nGrün;unplugged;20 Ω;;;\n"))
	var all []model.Run
	for _, e := range runs {
		r := BlankRun()
		e.fill(runKeys(&r), &problems)
		all = append(all, r)
	}
	if len(problems) > 0 || len(all) != 3 {
		t.Fatal(problems)
	}
	a, b, c := all[0], all[1], all[2]
	if a.Cable != "Grün" || a.Condition != model.Quiet || !a.Termination.Open || !a.Replaced || a.Loaded != model.No || a.LoadAmps != 0.5 {
		t.Errorf("%+v", a)
	}
	if b.Condition != model.Near || b.Termination.Ohms != 4700 || b.Replaced || b.Loaded != model.Yes || b.LoadAmps != 0.5 {
		t.Errorf("%+v", b)
	}
	if c.Condition != model.Unplugged || c.Termination.Ohms != 20 {
		t.Errorf("%+v", c)
	}
}

// Keys may be called by the words that the trade has for them.
func TestAlso(t *testing.T) {
	sound := "[roles]\npositive_control = 'Grebe'\n[[run]]\ncondition = 'quiet'\ncable = 'Grebe'\ntermination = '20ohm'\nfile = 'r.wav'\n"
	f := load(t, write(t, map[string]string{"session.toml": sound, "r.wav": ""}))
	if f.Sitting.Control != "Grebe" || f.Sitting.Runs[0].Termination.Ohms != 20 {
		t.Errorf("%+v", f.Sitting)
	}
	for text, want := range map[string]string{
		strings.Replace(sound, "[roles]", "[roles]\nwitness = 'Grebe'", 1):            "session.toml:3:1: positive_control is witness by another name",
		strings.Replace(sound, "positive_control = 'Gr", "positive_control = 'Cr", 1): `session.toml:2:1: the witness "Crebe" is in no run`,
	} {
		if _, err := Load(write(t, map[string]string{"session.toml": text, "r.wav": ""})); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

// Every key for a quantity reads it with its unit, and with a tolerance where
// one has a use; where it has none that is said.
func TestQuantities(t *testing.T) {
	bench := func(text string) (model.Bench, error) {
		f, err := Load(write(t, map[string]string{"session.toml": "[bench]\n" + text + "\n[[run]]\ncondition = 'residual'\nfile = 'r.wav'\n", "r.wav": ""}))
		return f.Sitting.Bench, err
	}
	b, err := bench("mains_volts = '230V ±3%'\ninput_ohms = '10 kohm +- 100ohm'\ninput_farads = '100pF+/-10%'\nspacing_mm = '1cm'\nmains_hz = '50Hz'\nfull_scale = '2.0V+/-3%'")
	if err != nil || b.MainsVolts != 230 || b.MainsVoltsWithin != 0.03 || b.InputOhms != 1e4 || b.InputOhmsWithin != 0.01 ||
		b.InputFarads != 1e-10 || b.InputFaradsWithin != 0.1 || b.SpacingMM != 10 || b.MainsHz != 50 {
		t.Errorf("%+v, %v", b, err)
	}
	if file, _ := (File{Sitting: model.Sitting{Bench: b}}).Encode(); !strings.Contains(string(file), "mains_volts = '230V +-3%'\nmains_hz = 50\n") {
		t.Errorf("written as\n%s", file)
	}
	for text, want := range map[string]string{
		"mains_volts = '230A'":              "mains_volts: ",
		"mains_volts = -230":                "mains_volts: -230 is less than 0",
		"mains_hz = 400":                    "400 is no nominal mains frequency",
		"spacing_mm = '10mm+-1mm'":          "spacing_mm: ",
		"full_scale = '2'":                  "full_scale: ",
		"calibration = ['tone.wav']":        "calibration: ",
		"gain = '40dB'\nspacing_mm = 'ten'": "a gain of 40dB alone gives no volts",
	} {
		if _, err := bench(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// A form that is sent as it was shown changes nothing, and neither does one with a field
// that can't be understood: that one says why.
func TestForms(t *testing.T) {
	f := load(t, write(t, files(plainList)))
	was := f
	for _, table := range []string{TopTable, BenchTable, RolesTable, ClaimTable, RunTable} {
		for i := range map[string]int{ClaimTable: len(f.Sitting.Claims), RunTable: len(f.Sitting.Runs)}[table] + 1 {
			said := map[string]string{}
			for _, x := range f.Fields(table, i) {
				said[x.Name] = x.Value
			}
			if i == len(f.Sitting.Runs) || table == ClaimTable && i == len(f.Sitting.Claims) {
				continue // a new one
			}
			if wrong := f.Fill(table, i, said); len(wrong) > 0 {
				t.Errorf("%s %d: %v", table, i, wrong)
			}
		}
	}
	for i := range f.Sitting.Runs {
		f.Sitting.Runs[i].Number, f.Sitting.Runs[i].Line = was.Sitting.Runs[i].Number, was.Sitting.Runs[i].Line
	}
	for i := range f.Sitting.Claims {
		f.Sitting.Claims[i].Line = was.Sitting.Claims[i].Line
	}
	kit.Alike(t, was.Sitting, f.Sitting, same)
	before := f.Sitting.Runs[1]
	if wrong := f.Fill(RunTable, 1, map[string]string{"cable": "Rail", "repeat": "x", "plug": "3"}); wrong["repeat"] == "" || wrong["plug"] == "" || len(wrong) != 2 || f.Sitting.Runs[1].Cable != before.Cable {
		t.Errorf("%v, %+v", wrong, f.Sitting.Runs[1])
	}
}

// Check finds what Load would, and says at which table and key.
func TestCheckSaysWhere(t *testing.T) {
	f := load(t, write(t, files(plainList)))
	if p := f.Check(); len(p) > 0 {
		t.Fatal(p)
	}
	f.Sitting.Bench.FullScale = "loud"
	f.Sitting.Claims[0].Than = "Nobody"
	f.Sitting.Runs[0].LeftOut = "a door"
	f.Sitting.Runs[3].Address = "gone.wav"
	var at []string
	for _, p := range f.Check() {
		at = append(at, p.At)
	}
	for _, want := range []string{"bench.full_scale", "claim[0].than", "run[1]", "run[3].file"} {
		if !slices.Contains(at, want) {
			t.Errorf("nothing is wrong at %s: %v", want, at)
		}
	}
}

// What was confirmed of a run stays, whatever its name is read as.
func TestConfirmed(t *testing.T) {
	guess, r := BlankRun(), BlankRun()
	guess.Cable, guess.Exposure, guess.Condition, guess.Guessed = "Grebe wrapped", "beside", model.Near, []string{"cable", "exposure", "condition", "start"}
	r.Cable, r.Exposure, r.Note, r.Guessed = "Grebe", "wrapped", "windy", []string{"exposure"}
	got := Confirmed(guess, r)
	if got.Cable != "Grebe" || got.Exposure != "beside" || got.Condition != model.Near || got.Note != "windy" || !slices.Equal(got.Guessed, []string{"exposure", "condition"}) {
		t.Errorf("%+v", got)
	}
}

// What of a chain says nothing by itself is told, all at once; a whole one is
// written again as it was read.
func TestPlayback(t *testing.T) {
	list := "cable,termination_ohms,exposure,condition,repeat,file\nGrebe,20,,quiet,1,q1.wav\nGrebe,20,beside,near,1,n1.wav\n"
	read := func(playback string) (File, error) {
		return Load(write(t, map[string]string{"session.toml": "runs = \"runs.csv\"\n" + playback, "runs.csv": list, "q1.wav": "", "n1.wav": ""}))
	}
	whole := "[playback]\nprogramme = '2V'\ngain = '26dB'\nspeaker = '87dB'\ndistance = '2.5m'\nspeakers = 2\nroom_margin = '10dB'\n"
	s := kit.Must(read(whole))(t)
	want := &model.Playback{ProgrammeVolts: 2, GainDB: 26, Kind: model.KindLoudspeaker, SensitivityDB: 87, DistanceMetres: 2.5, Loudspeakers: 2, MarginDB: 10}
	kit.Alike(t, want, s.Sitting.Playback)
	if file, _ := s.Encode(); !strings.Contains(string(file), whole) {
		t.Errorf("written as\n%s", file)
	}
	if s, err := read(""); err != nil || s.Sitting.Playback != nil {
		t.Errorf("none: %v, %+v", err, s.Sitting.Playback)
	}
	for text, want := range map[string][]string{
		"speaker = '87dB'\n": {"speaker says nothing by itself", "state distance too", "state gain too"},
		"distance = '2m'\n":  {"distance says nothing by itself"},
		"gain = '3dB'\n":     {"gain says nothing by itself"},
		"speaker = 87\n":     {"speaker: 87 is no text"},
		"speaker = '87'\n":   {`speaker: "87"`, "unit"},
		"gain = '0dB'\nspeaker = '87dB'\ndistance = '2m'\nheadphone = '100dB/V'\n": {"two chains"},
		"gain = '0dB'\nheadphone = '100dB/V'\nroom_margin = '-3dB'\n":              {"takes something off"},
		"headphone = '100dB/V'\n": {"headphone says nothing by itself", "state gain too"},
		"volume = 3\n":            {`there is no key "volume" here`},
	} {
		_, err := read("[playback]\n" + text)
		for _, w := range want {
			if err == nil || !strings.Contains(err.Error(), w) {
				t.Errorf("%q: %v, want %q", text, err, w)
			}
		}
	}
}

const drivenList = "cable,condition,drive,termination_ohms,reference,file\nGrebe,driven,wire,20,ch=2,d.wav\n,residual,wire,20,ch=2,r.wav\nGrebe,quiet,,20,,q.wav\n"

func drivenFiles(claim string) map[string]string {
	return map[string]string{"session.toml": "runs = \"runs.csv\"\n[drive]\nfull_scale = \"4V\"\n" + claim, "runs.csv": drivenList, "d.wav": "", "r.wav": "", "q.wav": ""}
}

// Rows of a known source are no runs of the ranking.
func TestDrivenRowsStandApart(t *testing.T) {
	s := load(t, write(t, drivenFiles(""))).Sitting
	if len(s.Driven) != 2 || len(s.Runs) != 1 || s.Runs[0].Address != "q.wav" {
		t.Errorf("%d driven, %d others", len(s.Driven), len(s.Runs))
	}
}

// A claim about a cable's own numbers states one limit, in a unit that tells of what, and is
// written as it was read.
func TestLimits(t *testing.T) {
	head := "[[claim]]\nname = 'n'\nwritten = 2026-05-01\nkind = 'coupling'\ncable = 'Grebe'\n"
	for text, want := range map[string]model.Limit{
		"farads = '5pF'\n":                 {Value: 5e-12, Unit: "F"},
		"henries = '20nH/m'\n":             {Value: 20e-9, Unit: "H/m"},
		"ohms = '15mohm/m'\nhz = '1kHz'\n": {Value: 0.015, Unit: "Ω/m", Hz: 1000},
		"predicted = '10uV'\ntermination_ohms = 20\nmains_volts = '120V'\nhz = 60\ninput_ohms = '10kohm'\n": {Value: 1e-5, Unit: "V", Hz: 60, MainsVolts: 120, InputOhms: 10e3},
	} {
		f := load(t, write(t, drivenFiles(head+text)))
		got := f.Sitting.Claims[0].Limit
		for _, n := range []*model.Num{&got.Hz, &got.MainsVolts, &got.InputOhms} {
			if !n.Ok() {
				*n = 0
			}
		}
		kit.Same(t, got, want, "%s", text)
		for line := range strings.Lines(strings.ReplaceAll(text, "'", "\"")) {
			file, _ := f.Encode()
			if key, _, _ := strings.Cut(line, " ="); !strings.Contains(string(file), "\n"+key+" = ") {
				t.Errorf("%q isn't in\n%s", line, file)
			}
		}
		if again := f.Check(); len(again) > 0 {
			t.Errorf("%s: written again: %v", text, again)
		}
	}
	for text, want := range map[string]string{
		"":                                  "states 0 limits",
		"farads = '5pF'\nhenries = '1nH'\n": "states 2 limits",
		"predicted = '10uV'\n":              "no termination_ohms",
		"farads = '5pF'\nhz = 50\n":         "hz says nothing",
		"farads = '5pF'\ndb = 1\n":          "db says nothing",
		"predicted = '10uV/m'\ntermination_ohms=20": "predicted",
	} {
		_, err := Load(write(t, drivenFiles(head+text)))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

func TestConditionOf(t *testing.T) {
	for name, want := range map[string]string{
		"quiet.wav":                  model.Quiet,
		"Grebe 20ohm NEAR-2.wav":     model.Near,
		"dead_1.flac":                model.Unplugged,
		"x/near/residual.wav":        model.Residual, // folders say nothing
		`C:\near\quiet take.wav`:     model.Quiet,
		"near-quiet.wav":             "", // which?
		"near near.wav":              model.Near,
		"linear.wav":                 "", // a word, not a part of one
		"take 3.wav":                 "",
		".wav":                       "",
		"unplugged lead, dead.wav":   model.Unplugged,
		"reference, live later.wav":  "",
		"Kabel_ruhig.wav":            model.Quiet,
		"Kabel nah leise.wav":        "",
		"câble PRÈS.wav":             model.Near,
		"ca\u0302ble pre\u0300s.wav": model.Near, // accents as some file systems keep them
		"cable desenchufado.wav":     model.Unplugged,
		"cavo silenzioso 2.wav":      model.Quiet,
	} {
		kit.Same(t, ConditionOf(name), want, "%q", name)
	}
}

// take writes 6 s of silence.
func take(t *testing.T, path string, before ...wavfile.Chunk) {
	t.Helper()
	const rate = 1000
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: rate, Bits: 16, Before: before}, make([]float64, 6*rate)))
}

// Names of captures and what they tell; "common practice, no source".
func TestGuess(t *testing.T) {
	for name, c := range map[string]struct{ files, want []string }{
		"one of each": {
			[]string{"Grebe_4k7ohm_near_wrapped_02", "grebe-open-quiet", "Rail 20R dead p2", "residual", "Rail 4.7kohm near loaded isolated"},
			[]string{"Grebe, 4700 ohms, wrapped, near, repeat 2", "Rail, 20 ohms, beside, dead, repeat 1", "grebe, open, quiet, repeat 1", "residual, repeat 1",
				"Rail, 4700 ohms, beside, near, repeat 1"}},
		"names of several words": {
			[]string{"grebe-mk2-1.5m-quiet", "grebe-mk2-1.5m-window-near", "rail-twin-quiet-laid-beside", "rail-twin-near-laid-beside"},
			[]string{"grebe mk2 1.5m, quiet, repeat 1", "grebe mk2 1.5m, window, near, repeat 1", "rail twin, laid beside, quiet, repeat 1", "rail twin, laid beside, near, repeat 1"}},
		"the cable comes last": {
			[]string{"quiet grebe mk2 1", "near across grebe mk2 1"},
			[]string{"grebe mk2, quiet, repeat 1", "grebe mk2, across, near, repeat 1"}},
		"no formulas": {
			[]string{"=grebe quiet", "+grebe near @home"},
			[]string{"grebe, quiet, repeat 1", "grebe, home, near, repeat 1"}},
		"dates are no repeats": {
			[]string{"20260302_0915 grebe quiet", "run017 20260302_0917 grebe near"},
			[]string{"grebe, quiet, repeat 1", "grebe, beside, near, repeat 1"}},
		"as people write ohms": {
			[]string{"Grebe 20 Ohm quiet", "Grebe 4,7 kΩ quiet", "Grebe 4R7 quiet", "Grebe_10_kohm_quiet"},
			[]string{"Grebe, 20 ohms, quiet, repeat 1", "Grebe, 4700 ohms, quiet, repeat 1", "Grebe, 4.7 ohms, quiet, repeat 1", "Grebe, 10000 ohms, quiet, repeat 1"}},
		"German": {
			[]string{"Grünes Kabel offen ruhig 1", "Grünes Kabel offen nah neben 1", "Grünes Kabel offen tot 1"},
			[]string{"Grünes Kabel, open, quiet, repeat 1", "Grünes Kabel, open, neben, near, repeat 1", "Grünes Kabel, open, beside, dead, repeat 1"}},
		"French, Spanish, Italian": {
			[]string{"rouge ouvert calme", "rouge ouvert près", "rojo abierto silencio", "rojo abierto cerca", "rosso aperto quiet", "rosso aperto vicino avvolto"},
			[]string{"rouge, open, quiet, repeat 1", "rouge, open, beside, near, repeat 1", "rojo, open, quiet, repeat 1", "rojo, open, beside, near, repeat 1",
				"rosso, open, quiet, repeat 1", "rosso, open, avvolto, near, repeat 1"}},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			os.WriteFile(filepath.Join(dir, "notes.txt"), nil, 0o666)
			for _, file := range c.files {
				take(t, filepath.Join(dir, file+".wav"))
			}
			f := kit.Must(Guess(dir, false))(t)
			var got []string
			for _, r := range f.Sitting.Runs {
				got = append(got, Name(r))
				kit.Same(t, r.Start.IsZero(), slices.Contains(r.Guessed, model.StartKey), "%s: start %v, guessed %v", Name(r), r.Start, r.Guessed)
			}
			slices.Sort(got)
			slices.Sort(c.want)
			kit.Alike(t, c.want, got)
			_, list := f.Encode()
			for cell := range strings.FieldsFuncSeq(string(list), func(r rune) bool { return r == ',' || r == '\n' }) {
				if formula.Opens(cell) {
					t.Errorf("a spreadsheet takes %q for a formula", cell)
				}
			}
		})
	}
}

// Order comes from the captures' metadata where all hold it; from when files were
// last changed only where it's asked for, and they can't all be copies.
func TestGuessOrder(t *testing.T) {
	dir := t.TempDir()
	at := time.Date(2026, 3, 2, 10, 0, 0, 0, time.Local)
	names := []string{"c quiet.wav", "a near.wav", "b quiet.wav"} // as recorded
	for i, name := range names {
		path := filepath.Join(dir, name)
		take(t, path)
		kit.OK(t, os.Chtimes(path, at, at.Add(time.Duration(i)*time.Minute)))
	}
	order := func(f File) (all []string) {
		return each(f.Sitting.Runs, func(r model.Run) string { return r.Address })
	}
	f, err := Guess(dir, false)
	missing := Missing(f.Sitting)
	if err != nil || !slices.IsSorted(order(f)) || len(Guessed(f.Sitting)) == 0 || missing[len(missing)-1] != (KeyCount{Key: "start", Runs: 3}) {
		t.Errorf("%v, %v, missing %v", order(f), err, missing)
	}
	if f, err = Guess(dir, true); err != nil || !slices.Equal(order(f), names) {
		t.Errorf("%v, %v", order(f), err)
	}
	if r := f.Sitting.Runs[1]; !r.Start.Equal(time.Date(2026, 3, 2, 10, 0, 54, 0, time.UTC)) || !slices.Contains(r.Guessed, model.StartKey) {
		t.Errorf("%v, %v", r.Start, r.Guessed)
	}
	os.Chtimes(filepath.Join(dir, names[1]), at, at.Add(time.Second))
	if _, err = Guess(dir, true); err == nil || !strings.Contains(err.Error(), "of copies") {
		t.Errorf("copies were taken for recordings: %v", err)
	}
	for i, name := range names {
		take(t, filepath.Join(dir, name), wavfile.Broadcast{Began: at.Add(time.Duration(i) * time.Minute)}.Chunk())
	}
	f, err = Guess(dir, false)
	if err != nil || !slices.Equal(order(f), names) || slices.Contains(f.Sitting.Runs[0].Guessed, model.StartKey) {
		t.Errorf("%v, %v", order(f), err)
	}
}

// A planned order becomes a list of its captures; those of the tone go to the
// bench, where its voltage is known.
func TestPlanned(t *testing.T) {
	o := model.PlanOrder{Title: "Three", Seed: 7, Witness: "old", Runs: []model.PlanRun{
		{Condition: "calibration", Termination: model.None, File: "run001-calibration.wav"},
		{Condition: model.Near, Cable: "Grebe", Termination: 20, Exposure: "beside", Repeat: 2, Replaced: true, Plug: 1, File: "run002-near.wav"},
	}}
	f := Planned("x/session.toml", o, Blank().Bench, "1V")
	s := f.Sitting
	if len(s.Runs) != 1 || Name(s.Runs[0]) != "Grebe, 20 ohms, beside, near, repeat 2" || s.Runs[0].Address != "run002-near.wav" || !s.Runs[0].Replaced ||
		s.Control != "old" || !slices.Equal(s.Bench.Calibration, []string{"run001-calibration.wav=1V"}) {
		t.Errorf("%+v", s)
	}
	if f := Planned("x/session.toml", o, Blank().Bench, ""); len(f.Sitting.Bench.Calibration) > 0 {
		t.Errorf("%+v", f.Sitting.Bench)
	}
}
