package words

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"strings"
	"testing"

	"humdiff/report/result"
)

// codes are the codes that package result has, by the comment above their block.
func codes(t *testing.T) map[string][]string {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), "../result/codes.go", nil, parser.ParseComments)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	for _, d := range f.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok {
			continue
		}
		for _, s := range g.Specs {
			code, err := strconv.Unquote(s.(*ast.ValueSpec).Values[0].(*ast.BasicLit).Value)
			if err != nil {
				t.Fatal(err)
			}
			head, _, _ := strings.Cut(strings.TrimSpace(g.Doc.Text()), "\n")
			out[head] = append(out[head], code)
		}
	}
	return out
}

// Every code has a sentence: a capital, a full stop, no code, no missing verb.
func TestEveryCodeHasASentence(t *testing.T) {
	none := result.None
	note := func(code string) result.Note {
		return result.Note{Code: code, Cable: "Heron", Runs: []int{3, 4, 5}, DB: 4, Count: 2, Times: 7}
	}
	say := map[string]func(string) string{
		"Codes of findings.": func(c string) string {
			return Finding(result.Finding{Code: c, Cable: "Heron", Where: result.Where{Exposure: "beside", Termination: result.Termination{Ohms: 20}},
				Runs: []int{3}, DB: result.Interval{Value: 4, Lo: 3, Hi: 5}, Count: 2})
		},
		"Reasons why a verdict is not more than it is.":      func(c string) string { return Reason(note(c)) },
		"What would decide a claim.":                         func(c string) string { return Decide(note(c)) },
		"Objections, in the order in which they are listed.": func(c string) string { return Objects(c) + " " + WouldSettle(c) },
		"What runs say to an objection.":                     func(c string) string { return Answer(note(c)) },
	}
	all := codes(t)
	for head, f := range say {
		if len(all[head]) == 0 {
			t.Errorf("no codes under %q", head)
		}
		for _, c := range all[head] {
			s := f(c)
			if s == c || len(s) < 15 || !strings.HasSuffix(s, ".") || strings.Contains(s, "%!") || strings.Contains(s, "_") || strings.ToUpper(s[:1]) != s[:1] {
				t.Errorf("%s: %q", c, s)
			}
		}
	}
	for _, c := range []string{result.OnePlacement, result.DeadAsHigh, result.WitnessDidNot} { // reasons that are findings as well
		if s := Reason(note(c)); s == c {
			t.Errorf("no reason for %s", c)
		}
	}
	if s := DBInterval(result.Interval{Value: none, Lo: none, Hi: 3.04}); s != "at most 3.1 dB" {
		t.Errorf("%q", s)
	}
}

func TestCitations(t *testing.T) {
	for want, list := range map[string][]int{"no run": nil, "run 3": {3, 3}, "runs 3, 4": {4, 3}, "runs 1, 3 to 5, 9": {9, 5, 4, 3, 1}} {
		if got := Runs(list); got != want {
			t.Errorf("%v: %q, want %q", list, got, want)
		}
	}
	for want, c := range map[string]result.Termination{"20 Ω": {Ohms: 20}, "4.7 kΩ": {Ohms: 4700}, "open": {Ohms: result.None, Open: true}, "termination not stated": {Ohms: result.None}} {
		if got := Termination(c); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	for want, i := range map[string]result.Interval{
		"at most 1.20 µV":              {Value: result.None, Lo: 0, Hi: 1.2e-6},
		"1.00 µV (0.900 to 1.20 µV)":   {Value: 1e-6, Lo: 0.9e-6, Hi: 1.2e-6},
		"1.00 µV, without an interval": {Value: 1e-6, Lo: result.None, Hi: result.None},
		"not known":                    {Value: result.None, Lo: result.None, Hi: result.None},
	} {
		if got := VoltsInterval(i); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
