package doc

import (
	"fmt"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/report/model"
	"humdiff/report/plan"
)

// planned is a plan with a line to be seen, a difference to be told, and an order.
func planned(t *testing.T) model.Plan {
	l := kit.Must(plan.Length(model.PlanLevel{DBFS: -150, Volts: model.None}, model.PlanLevel{DBFS: -140, Volts: model.None}, 100))(t)
	repeats := kit.Must(plan.Count(3, plan.Shown{Difference: 4, Within: model.None, Spread: 2}, 0))(t)
	cables := []string{"Heron", "Plover", "Rail"}
	o := model.PlanOrder{Seed: 7, Witness: "Grebe", Seconds: 240, Cables: cables, Exposures: []string{"beside", "wrapped"}, Blind: true, KeySHA256: "0a1b",
		Runs: plan.Order(plan.Sitting{Cables: cables, Terminations: []model.Termination{{Ohms: 20}}, Exposures: []string{"beside", "wrapped"}, Repeats: 2, Control: "Grebe", Seed: 7})}
	return model.Plan{Length: &l, Repeats: repeats, Order: &o}
}

func TestAPlanIsTold(t *testing.T) {
	d := Plan(planned(t))
	all := strings.Join(allTexts(d), "\n")
	if !strings.HasPrefix(d.Title, "To find a line of −150.0 dBFS in 90 % of recordings, record ") {
		t.Errorf("%q", d.Title)
	}
	for _, want := range []string{"probability of 80 %", "at 1.67 % for each of 3 pairs", "an even number", "with the seed 7", "is in key.toml, whose SHA-256 is 0a1b", "floor of −140.0 dBFS/Hz, as stated", "unplugged lead"} {
		if !strings.Contains(all, want) {
			t.Errorf("doesn't say %q", want)
		}
	}
	shortAndSound(t, "plan", allTexts(d))
	for want, s := range map[string]model.Num{"40 s": 39.2, "5 min": 300, "12 min": 661, "2 h 30 min": 9000, "1 h": 3600, "over 6 h": model.None} {
		kit.Same(t, Duration(s), want, "%v", s)
	}
}

// A card has every run once, each cable's turn by its numbers.
func TestACardHasEveryRun(t *testing.T) {
	r := planned(t)
	d := Card(r)
	if !d.Compact {
		t.Error("the card isn't set close")
	}
	all := strings.Join(allTexts(d), "\n")
	for _, b := range turns(*r.Order) {
		want := strings.ReplaceAll(runNumbers(b), " to ", "\u2060–\u2060")
		if !strings.Contains(all, "☐\u00a0"+want) {
			t.Errorf("no turn %s", want)
		}
	}
	for _, want := range []string{"Positive control: Grebe", fmt.Sprintf("Captures: %d of 4 min each", len(r.Order.Runs)), "Never connect a measuring input to the mains."} {
		if !strings.Contains(strings.ReplaceAll(all, "240 s", "4 min"), want) {
			t.Errorf("doesn't say %q", want)
		}
	}
}

func TestAVerificationIsTold(t *testing.T) {
	v := model.Verification{Engine: "gonum", Verdict: model.Differs, Compared: 120, LeftOut: 7,
		Report:      model.VerifiedReport{File: "/home/somebody/compare.json", Schema: model.CompareSchema, Version: "1.0"},
		Captures:    []model.VerifiedCapture{{File: "a.wav", State: model.Found, At: "a.wav"}, {File: "b.wav", State: model.Missing}, {File: "c.wav", State: model.Changed, At: "/x/c.wav"}},
		Files:       []model.VerifiedFile{{File: "report.html", State: model.Differs}, {File: "lines.csv", State: model.Same}, {File: "notes.txt", State: model.Foreign}},
		Worst:       []model.VerifiedKind{{Kind: "dB", Compared: 80, Tolerance: 0.01, Largest: 0.00123, Where: "/pairs/0/hum"}},
		Differences: []model.Difference{{Where: "/pairs/0/hum/near", Reported: -90.5, Recomputed: nil}}, NotCompared: []string{"/extra"}}
	d := Verify(v)
	if want := "The report does not stand. 1 of 120 values that were recomputed from the captures differ."; d.Title != want {
		t.Errorf("%q, want %q", d.Title, want)
	}
	all := strings.Join(allTexts(d), "\n")
	for _, want := range []string{"compare.json (humdiff/compare/2, made by humdiff 1.0)", "report.html is not what the report's numbers make", "/pairs/0/hum/near: reported -90.5, recomputed nothing.",
		"b.wav was not found", "c.wav is not what was measured", "1 file beside it", "notes.txt lies beside it", "7 values of captures", "/extra: this version", "is 0.0012 dB, of 0.01 tolerated: /pairs/0/hum."} {
		if !strings.Contains(all, want) {
			t.Errorf("doesn't say %q in %s", want, all)
		}
	}
	if strings.Contains(all, "somebody") {
		t.Error("names a folder")
	}
	v.Verdict, v.Differences = model.Stands, nil
	if got := Verify(v).Title; !strings.HasPrefix(got, "The report stands. 120 values were recomputed") {
		t.Errorf("%q", got)
	}
}
