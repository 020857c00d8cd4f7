package session

import (
	"strings"
	"testing"

	"humdiff/report/model"
)

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
		if got != want {
			t.Errorf("%s is %+v", text, got)
		}
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
