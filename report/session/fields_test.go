package session

import (
	"slices"
	"testing"

	"humdiff/fixtures/kit"

	"humdiff/report/model"
)

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
