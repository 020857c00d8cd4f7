package session

import (
	"fmt"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
	"time"

	"humdiff/fft/note"
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
		v := bond(&got)
		if err := v.read(cell(said)); err != nil || got != want[0] || fmt.Sprint(v.write()) != want[1] {
			t.Errorf("%q: %q, written %v, %v", said, got, v.write(), err)
		}
	}
	got := ""
	if err := bond(&got).read(cell("floating")); err == nil || got != "" {
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
