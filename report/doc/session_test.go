package doc

import (
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/fft/note"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/sessions"
	"humdiff/report/internal/samples"
	"humdiff/report/judge"
	"humdiff/report/model"
)

// roles are the codes of package model by what they are, which is the comment above
// their block; some codes of findings are reasons as well.
func roles(t *testing.T) map[string][]string {
	f := kit.Must(parser.ParseFile(token.NewFileSet(), "../model/codes.go", nil, parser.ParseComments))(t)
	heads := map[string]string{"Codes of findings.": "finding", "Reasons why a verdict is not more than it is.": "reason", "What would decide a claim.": "decide",
		"Objections, in the order in which they are listed.": "objection", "What runs say to an objection.": "answer"}
	out := map[string][]string{"reason": {model.OnePlacement, model.DeadAsHigh, model.WitnessDidNot}}
	for _, d := range f.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok {
			continue
		}
		head, _, _ := strings.Cut(g.Doc.Text(), "\n")
		for _, s := range g.Specs {
			if code, ok := literal(s.(*ast.ValueSpec).Values[0]); ok && heads[head] != "" {
				out[heads[head]] = append(out[heads[head]], code)
			}
		}
	}
	out["settle"] = out["objection"]
	return out
}

// Every code of a session has its sentence in each of its roles, and every sentence
// is of a code that judging has.
func TestEveryCodeOfASessionIsSaid(t *testing.T) {
	all := kit.Must(sentences())(t)
	used := judging(t)
	wanted := map[string]bool{}
	for role, codes := range roles(t) {
		if len(codes) < 10 {
			t.Errorf("%d codes of role %s", len(codes), role)
		}
		for _, code := range codes {
			wanted[role+"."+code] = true
			if _, err := sentenceOf(role + "." + code); err != nil {
				t.Errorf("%s %s: %v", role, code, err)
			}
			if !used[code] {
				t.Errorf("nothing judges %s", code)
			}
		}
	}
	for _, code := range slices.Sorted(maps.Keys(all)) {
		if strings.Contains(code, ".") && !wanted[code] {
			t.Errorf("%s has a sentence, and is no code", code)
		}
	}
}

// judging are the codes that package judge uses.
func judging(t *testing.T) map[string]bool {
	constants, used := map[string]string{}, map[string]bool{}
	codes := kit.Must(parser.ParseFile(token.NewFileSet(), "../model/codes.go", nil, 0))(t)
	gatherConstants(constants, codes)
	sources := kit.Must(filepath.Glob("../judge/*.go"))(t)
	for _, path := range sources {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		file := kit.Must(parser.ParseFile(token.NewFileSet(), path, nil, 0))(t)
		ast.Inspect(file, func(n ast.Node) bool {
			if s, ok := n.(*ast.SelectorExpr); ok {
				used[constants["model."+s.Sel.Name]] = true
			}
			return true
		})
	}
	return used
}

// toldSessions are sessions of many kinds.
var toldSessions = sync.OnceValue(func() map[string]model.Session {
	all := map[string]model.Session{"claims": samples.Session(), "ranked": samples.Ranked(), "no volts": samples.NoVoltsSession(),
		"hostile session": samples.HostileSession(), "nothing": judge.Session(model.Session{Settings: model.Settings{Confidence: 0.95}})}
	for _, d := range sessions.Designs() {
		all[d.Name] = judge.Session(sessions.Draw(d.Design, 3))
		d.Idle, d.Unplugged, d.Blocks = true, true, true
		for i := range d.Cables {
			d.Cables[i].UnpluggedDB = d.Cables[i].PickupDB - 4
		}
		s := sessions.Draw(d.Design, 4)
		for i := range s.Runs {
			s.Runs[i].Plug, s.Runs[i].Start, s.Runs[i].Guessed = 1+i%2, s.Runs[0].Start.AddDate(0, 0, -1), []string{model.StartKey}
			s.Runs[i].Used = true
		}
		s.Runs[3].LeftOut, s.Runs[5].Capture.Health.Clipped, s.Runs[7].Capture = "a door slammed", 3, nil
		all[d.Name+", badly done"] = judge.Session(s)
	}
	return all
})

// Whatever is judged is said in sentences: with all that they need, none longer than
// 25 words, no number that isn't one.
func TestSessionsAreTold(t *testing.T) {
	for name, s := range toldSessions() {
		d := Session(s, nil)
		for _, text := range allTexts(d) {
			for _, odd := range []string{"template:", "finding.", "reason.", "decide.", "answer.", "NaN", "Inf", "%!", "<no value>", "witness", "dead", "held against"} {
				if strings.Contains(text, odd) && name != "hostile session" {
					t.Errorf("%s: %q in %q", name, odd, text)
				}
			}
		}
		for _, sec := range d.Sections {
			for _, text := range sentencesOf(sec) {
				if n := len(strings.Fields(text)); n > 25 && name != "hostile session" {
					t.Errorf("%s, %s: %d words: %s", name, sec.ID, n, text)
				}
			}
		}
	}
}

// sentencesOf are a section's, lists of runs aside.
func sentencesOf(s Section) (out []string) {
	if s.ID == "hashes" || s.ID == "runs" || s.ID == "publish" {
		return nil
	}
	var texts []string
	for _, b := range s.Blocks {
		switch b := b.(type) {
		case List:
			texts = append(texts, b.Items...)
		case Table:
			for _, r := range b.Rows {
				for _, c := range r.Cells {
					texts = append(texts, c.Text)
				}
			}
		}
	}
	for _, text := range texts {
		for _, sentence := range strings.Split(strings.ReplaceAll(text, "; ", ". "), ". ") {
			if i := strings.Index(sentence, " (run"); i > 0 {
				sentence = sentence[:i]
			}
			out = append(out, sentence)
		}
	}
	return out
}

func TestSessionHeadlines(t *testing.T) {
	for name, want := range map[string]string{
		"claims":  "Supported: less. Refuted: below and rise.",
		"ranked":  "Beside, 20 Ω: Heron picks up least, 6.51 µV (4.80 to 8.54 µV). Grebe picks up 32.2 dB (28.9 to 35.7) more.",
		"nothing": "No near run could be compared with a quiet one.",
	} {
		s := toldSessions()[name]
		kit.Same(t, sessionHeadline(s, mostAnswered), want, "%s", name)
	}
	one := samples.Session()
	one.Claims = one.Claims[:1]
	kit.Same(t, sessionHeadline(one, mostAnswered), "Supported: “Heron picks up 10 dB less than Plover”.", "one claim")
	kit.Has(t, "a caption gives claims in full", SessionCaption(toldSessions()["claims"]), "Supported: “Heron picks up 10 dB less than Plover”.")
}

// Every number in a session's tables is one of what its row is of, as rounded for print.
func TestNumbersOfASessionAreTheModels(t *testing.T) {
	s := samples.Session()
	n := 0
	check := func(table Table, of []any) {
		if len(table.Rows) != len(of) {
			t.Fatalf("%s has %d rows, of %d", table.ID, len(table.Rows), len(of))
		}
		for i, row := range table.Rows {
			known := numbersOf(s.Settings, of[i])
			for k, c := range row.Cells {
				head := table.Columns[k].Head
				if head != "pickup" && head != "measured" && table.Columns[k].Unit != "dB" {
					continue
				}
				for _, token := range numbersIn(c.Text) {
					if n++; !anyOf(token, c.Text, known) {
						t.Errorf("%s, %s: %s in %q is none of %v", table.ID, head, token, c.Text, known)
					}
				}
			}
		}
	}
	runs, parts := make([]any, len(s.Runs)), []any{}
	for i, r := range s.Runs {
		runs[i] = model.Repeat{}
		for _, c := range s.Cells {
			for _, of := range c.Repeats {
				if c.Quantity == (model.Quantity{}) && of.Run == r.Number {
					runs[i] = of
				}
			}
		}
	}
	for _, c := range s.Claims {
		parts = append(parts, anys(c.Parts)...)
	}
	check(meansTable(s), anys(s.Cells))
	check(runTable(s, func(int) string { return "" }), runs)
	check(claimTable(s), parts)
	for i, r := range s.Rankings {
		check(placesTable(s, i, r), anys(r.Places))
		check(differencesTable(i, r), anys(r.Pairs))
	}
	if n < 300 {
		t.Errorf("only %d numbers", n)
	}
}

func anys[T any](all []T) []any { return each(all, func(x T) any { return x }) }

// numbersOf are those of a part of a session, levels as volts too, in any prefix.
func numbersOf(set model.Settings, of any) (all []float64) {
	var plain []float64
	collect(reflect.ValueOf(of), &plain)
	for _, x := range plain {
		v, ok := PickupVolts(set, exactly(model.Num(x))).Value()
		for _, x := range append([]float64{x}, []float64{v}[:bit(ok)]...) {
			all = append(all, x, x*1e3, x*1e6, x*1e9)
		}
	}
	return all
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}

// A range is told as a range: no value is made up between its ends.
func TestARangeHasNoMiddle(t *testing.T) {
	r := model.Ranking{Where: model.Where{Exposure: "beside", Termination: model.Termination{Ohms: 20}}, Places: []model.Place{
		{Cable: "Heron", Pickup: estimate.Between(-128.3, -124.7), Placements: 3}}}
	want := "Beside, 20 Ω: Heron picks up −128.3 to −124.7 dBFS. No other cable can be compared with it."
	kit.Same(t, rankingSaid(model.Settings{FullScaleVolts: model.None}, r), want, "rankingSaid(model.Settings{FullScaleVolts: model.None}, r)")
	kit.Same(t, PlaceSaid(model.Settings{FullScaleVolts: 1}, r.Places[0]), "385 to 582 nV, 3 placements", "PlaceSaid(model.Settings{FullScaleVolts: 1}, r.Places[0])")
}

func TestCitations(t *testing.T) {
	for want, list := range map[string][]int{"no run": nil, "run 3": {3, 3}, "runs 3, 4": {4, 3}, "runs 1, 3 to 5, 9": {9, 5, 4, 3, 1}} {
		kit.Same(t, Runs(list), want, "%v", list)
	}
	kit.Same(t, runs([]int{1, 3, 5, 6, 8, 10}, 4), "runs 1, 3, 5, 6 and 2 more", "runs([]int{1, 3, 5, 6, 8, 10}, 4)")
	for want, c := range map[string]model.Termination{"20 Ω": {Ohms: 20}, "4.7 kΩ": {Ohms: 4700}, "open": {Ohms: model.None, Open: true}, "termination not stated": {Ohms: model.None}} {
		kit.Same(t, Termination(c), want, "Termination(c)")
	}
	for want, e := range map[string]model.Estimate{
		"below 1.20 µV": estimate.Between(0, 1.2e-6), "1.00 µV (0.900 to 1.20 µV)": estimate.Of(1e-6, 0.9e-6, 1.2e-6),
		"1.00 µV": estimate.Of(1e-6, estimateNaN, estimateNaN), "unknown": {},
	} {
		kit.Same(t, withEnds(e, "V"), want, "withEnds(e)")
	}
	for want, p := range map[string]model.Num{"p < 0.0001": 0.00001, "p ≤ 0.002": 0.002, "p ≤ 0.0021": 0.00204, "p ≤ 0.02": 0.0199, "": model.None} {
		kit.Same(t, pAtMost(p), want, "%v", p)
	}
}

var estimateNaN = note.New("").Num("none")

// On a page what stands open, figures aside, has at most 1500 words, of a pair with
// fifty lines as of a session; its short form fits a screen with room to spare (package
// text tries that).
func TestPagesAreShort(t *testing.T) {
	for name, d := range map[string]Document{"pair": Compare(samples.Compare(), InDBFS), "two channels": Compare(samples.TwoChannels(), InDBFS),
		"capture": Measure(samples.Measure(), InDBFS), "trend": Trend(samples.Trend(), InDBFS), "session": Session(samples.Session(), nil)} {
		n := 0
		for _, s := range d.Sections {
			if !s.Folded {
				n += words(s)
			}
		}
		t.Log(name, n, "words")
		if n > 1500 || n < 100 {
			t.Errorf("%s: %d words are not folded", name, n)
		}
	}
}

// words are those of a section as its page opens: warnings too, and of a table the rows
// that it shows first.
func words(s Section) (n int) {
	for i, b := range s.Blocks {
		switch b := b.(type) {
		case List:
			b.Kind = Plain
			s.Blocks[i] = b
		case Table:
			b.Rows = slices.DeleteFunc(slices.Clone(b.Rows), func(r Row) bool { return !r.Shown || b.Views[0] != "" && !r.Key })
			s.Blocks[i] = b
			n += len(strings.Fields(strings.Join(b.Views[:], " ")))
		}
	}
	for _, text := range allTexts(Document{Sections: []Section{s}}) {
		n += len(strings.Fields(text))
	}
	return n
}

// Each kind of claim has a sentence of its own: none is told in another's words.
func TestEveryKindOfClaimIsTold(t *testing.T) {
	told := map[string]string{}
	for _, kind := range model.ClaimKinds {
		says := tellOne("claim.means", model.Claim{Kind: kind, Cable: "Grebe", Than: "Rook", DB: 6, Volts: 1e-6, Termination: model.Termination{Ohms: model.None}})
		if other := told[says]; other != "" || strings.Contains(says, "kind") {
			t.Errorf("%s: %q, as of kind %q", kind, says, other)
		}
		told[says] = kind
	}
}
