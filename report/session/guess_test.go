package session

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
	"humdiff/report/formula"
	"humdiff/report/model"
)

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
				if r.Start.IsZero() != slices.Contains(r.Guessed, model.StartKey) {
					t.Errorf("%s: start %v, guessed %v", Name(r), r.Start, r.Guessed)
				}
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
