package session

import "testing"

func TestConditionOf(t *testing.T) {
	for name, want := range map[string]Condition{
		"quiet.wav":                 Quiet,
		"Grebe 20ohm NEAR-2.wav":    Near,
		"dead_1.flac":               Dead,
		"x/near/residual.wav":       Residual, // folders say nothing
		`C:\near\quiet take.wav`:    Quiet,
		"near-quiet.wav":            "", // which?
		"near near.wav":             Near,
		"linear.wav":                "", // a word, not a part of one
		"take 3.wav":                "",
		".wav":                      "",
		"unplugged lead, dead.wav":  Dead,
		"reference, live later.wav": "",
	} {
		if got := ConditionOf(name); got != want {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
}
