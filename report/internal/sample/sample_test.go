package sample

import (
	"encoding/json"
	"testing"

	"humdiff/report/result"
)

// The sample is worth testing with only while it holds every state.
func TestSampleHasEveryState(t *testing.T) {
	want := "17 measured, 24 at least, 1 at most, 58 not measurable"
	if got := Describe(Compare().Pairs[0]); got != want {
		t.Errorf("sample has %s, want %s", got, want)
	}
}

func TestSampleSurvivesJSON(t *testing.T) {
	for name, r := range map[string]result.Compare{"Compare": Compare(), "NoVolts": NoVolts(), "TwoChannels": TwoChannels(),
		"NothingFound": NothingFound(), "NewInNear": NewInNear(), "Swapped": Swapped(), "Unchanged": Unchanged()} {
		b, err := json.Marshal(r)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var back result.Compare
		if err := json.Unmarshal(b, &back); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		again, err := json.Marshal(back)
		if err != nil || string(again) != string(b) {
			t.Errorf("%s changes on its way through JSON (%v)", name, err)
		}
	}
}
