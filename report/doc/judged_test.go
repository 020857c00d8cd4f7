package doc

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"humdiff/fft/note"
	"humdiff/fixtures/kit"
	"humdiff/report/model"
	"humdiff/report/plan"
)

// judgedExamples are notes as judging makes them, each with what its sentence says.
var judgedExamples = []example{
	{note.New("gate_other_comb", "side", "near", "mains_hz", 50.0, "other_hz", 60.02, "other_dbfs", -80.0, "total_dbfs", -90.0), "In near another comb, of 60.02 Hz,"},
	{note.New("gate_tone", "side", "near", "tone_hz", 49.6, "tone_dbfs", -80.0, "total_dbfs", -90.0), "a tone at 49.60 Hz"},
	{note.New("gate_harmonic", "side", "quiet", "tone_hz", 1000.2, "tone_dbfs", -80.0, "total_dbfs", -90.0), "1000.20 Hz, on a harmonic"},
	{note.New("gate_left_out", "side", "near", "harmonic", 20, "line_dbfs", -80.0, "total_dbfs", -90.0), "harmonic 20, hidden"},
	{note.New("gate_one_line", "side", "near", "harmonic", 3, "line_hz", 150.0, "share", 0.953), "is 95 % of"},
	{note.New("gate_sum", "side", "near", "lines_dbfs", -80.0, "total_dbfs", -90.0), "add up to −80.0 dBFS"},
	{note.New("gate_sum", "side", "near", "total_dbfs", -90.0), "In near no line was found by itself, yet the hum total is −90.0 dBFS."},
	{note.New("gate_line", "harmonic", 1, "db", -3.0, "total_db", 4.0), "changed by −3.0 dB, and the total by +4.0 dB."},
	{note.New("change_open", "db", 2.5), "by as much as 2.5 dB."},
	{note.New("no_limits"), "there is no upper limit to print."},
	{note.New("no_difference"), "It shows no difference"},
	{note.New("perhaps_copy", "correlation", 0.07), "beside hum is the same in both, all or part of it"},
	{note.New("perhaps_copy", "correlation", 0.07, "other", "a.wav"), "beside hum is also in a.wav, all or part of it"},
	{note.New("other_cable", "quiet", []string{"heron"}, "near", []string{"egret", "blue"}), "no cable: heron in quiet, egret, blue in near."},
	{note.New("rate_label", "stated_hz", 44100.0, "rates_hz", []float64{48000}, "nominal_hz", []float64{50}, "share", 0.9, "stated_share", 0.1), "says 44.1 kHz. Its mains lies where that of a recording at 48 kHz does, at 50 Hz:"},
	{note.New("rate_label_perhaps", "stated_hz", 96000.0, "rates_hz", []float64{48000}, "nominal_hz", []float64{50}, "share", 0.9, "stated_share", 0.1), "at 48 kHz, where its mains would be 50 Hz"},
	{note.New("copies_in_reach", "count", 2000, "reach", 10), "compared with the 10 before it."},
	{note.New("odd_rate", "files", []string{"a.wav"}, "rates_hz", []float64{44100}, "usual_hz", 48000.0), "It is sampled otherwise than at the 48 kHz usual here."},
	{note.New("odd_bits", "files", []string{"a.wav", "b.wav"}, "bits", []float64{16, 16}, "usual_bits", 24.0), "another number of bits than the 24 usual here."},
	{note.New("odd_channels", "files", []string{"a.wav"}, "channels", []float64{1}, "usual_channels", 2.0), "than the 2 usual here."},
	{note.New("odd_length", "files", []string{"a.wav"}, "seconds", []float64{1}, "usual_s", 60.0), "than the 60.0 s usual here."},
	{note.New("odd_floor", "files", []string{"a.wav"}, "off_db", []float64{20}, "usual_dbfs_hz", -140.0), "than the −140.0 dBFS/Hz usual here"},
	{note.New("runs_failed", "count", 2, "runs", []int{3, 7}), "2 runs could not be measured: 3, 7."},
	{note.New("mains_of_runs", "runs", []int{3, 7}), "see runs 3, 7."},
}

func TestWhatIsJudgedIsSaid(t *testing.T) {
	shown := map[string]bool{}
	for _, e := range judgedExamples {
		shown[e.note.Code] = true
		kit.Has(t, e.note.Code, Says(e.note), e.want)
	}
	all := kit.Must(sentences())(t)
	for _, code := range slices.Sorted(maps.Keys(all)) {
		if shown[code] || strings.Contains(code, ".") || slices.ContainsFunc(examples, func(e example) bool { return e.note.Code == code }) {
			continue
		}
		if got := Says(note.New(code)); got == note.New(code).String() {
			t.Errorf("%s needs arguments, and no example has them", code)
		}
	}
}

// Every code that stands among the judge's constants beside its arguments, in the
// files on pairs, scales and print, has its sentence.
func TestEveryCodeOfJudgingIsSaid(t *testing.T) {
	for _, name := range []string{"warnings.go", "scales.go", "gate.go", "publish.go"} {
		path := filepath.Join("..", "judge", name)
		if _, err := os.Stat(path); err != nil {
			continue
		}
		file := kit.Must(parser.ParseFile(token.NewFileSet(), path, nil, 0))(t)
		ast.Inspect(file, func(n ast.Node) bool {
			group, ok := n.(*ast.GenDecl)
			if !ok || group.Tok != token.CONST {
				return true
			}
			for _, spec := range group.Specs {
				for _, v := range spec.(*ast.ValueSpec).Values {
					if code, ok := literal(v); ok {
						if _, err := sentenceOf(code); err != nil {
							t.Errorf("%s of %s: %v", code, name, err)
						}
					}
				}
			}
			return true
		})
	}
}

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
	for _, want := range []string{"probability of 80 %", "at 1.67 % for each of 3 pairs", "an even number", "with the seed 7", "is in key.toml, whose SHA-256 is 0a1b", "floor of −140.0 dBFS/Hz, as stated", "+ unplugged"} {
		kit.Has(t, "doesn't say", all, want)
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
		kit.Has(t, "the turns", all, "☐\u00a0"+want)
	}
	for _, want := range []string{"Positive control: Grebe", fmt.Sprintf("Captures: %d of 4 min each", len(r.Order.Runs)), "Never connect a measuring input to the mains."} {
		kit.Has(t, "doesn't say", strings.ReplaceAll(all, "240 s", "4 min"), want)
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
	for _, want := range []string{"compare.json (humdiff/compare/4, made by humdiff 1.0)", "report.html is not what the report's numbers make", "/pairs/0/hum/near: reported -90.5, recomputed nothing.",
		"b.wav was not found", "c.wav is not what was measured", "1 file beside it", "notes.txt lies beside it", "7 values of captures", "/extra: this version", "is 0.0012 dB, of 0.01 tolerated: /pairs/0/hum."} {
		kit.Has(t, "doesn't say", all, want)
	}
	kit.Lacks(t, "names a folder", all, "somebody")
	v.Verdict, v.Differences = model.Stands, nil
	if got := Verify(v).Title; !strings.HasPrefix(got, "The report stands. 120 values were recomputed") {
		t.Errorf("%q", got)
	}
}
