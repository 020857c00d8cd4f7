package judge

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/fixtures/kit"
	"humdiff/report/model"
)

// JCGM 106: 13.6, u = 1.8, between 12.5 and 16.3 (computed from the normal distribution).
// The end gauge of the GUM, H.1: 25 nm of 18 degrees of freedom with 19.4 nm as good as
// known are 31.66 nm of 46.2 (Welch and Satterthwaite, by hand).
func TestConformity(t *testing.T) {
	s := student{13.6, 1.8, math.Inf(1)}
	kit.Near(t, "probability", s.above(12.5)-s.above(16.3), -0.6626, 0.00005)
	both := student{0, 25, 18}.and(19.426)
	kit.Near(t, "u", both.u, 31.66, 0.005)
	kit.Near(t, "degrees of freedom", both.dof, 18*math.Pow(31.66/25, 4), 0.05)
}

// On a passport's bound a claim above it holds, one below is open; of another cable, and on
// one placement, nothing is said.
func TestNoPassport(t *testing.T) {
	limit := model.NoLimit()
	limit.Value, limit.Unit = 1e-12, "F"
	claim := model.Claim{Kind: model.ClaimCoupling, Cable: "Rail", Limit: limit, Termination: model.Termination{Ohms: model.None}}
	p := Passport(model.Passport{Claims: []model.Claim{claim}})
	if c := p.Claims[0]; c.Verdict != model.Undecided || len(c.Reasons) != 1 || c.Reasons[0].Code != model.NoPassport {
		t.Errorf("%+v", c)
	}
}

// What the passport predicts stands beside a pickup that runs don't decide, and decides
// nothing.
func TestPredictedBeside(t *testing.T) {
	for volts, want := range map[model.Num]string{1e-6: "above", 3e-6: "both", 9e-6: "below"} {
		s := model.Session{Settings: model.Settings{Confidence: 0.95}}
		s.Claims = []model.Claim{{Kind: model.ClaimBelow, Cable: "Grebe", Volts: volts, Termination: model.Termination{Ohms: 20}}}
		p := model.Predicted{Volts: estimate.Of(3e-6, 2e-6, 4e-6)}
		p.SourceOhms = model.Within(20, model.None)
		b := newBench(s, false)
		b.Passport = &model.CableNumbers{Cables: []model.CablePassport{{Cable: "Grebe", Predicted: []model.Predicted{p}}}}
		c := b.claims()[0]
		i := slices.IndexFunc(c.Reasons, func(n model.Note) bool { return n.Code == model.PassportPredicts })
		if c.Verdict != model.Undecided || i < 0 || c.Reasons[i].Get("against") != want || c.Reasons[i].Num("volts") != 3e-6 {
			t.Errorf("%v: %+v", volts, c)
		}
	}
}

// What repeats say, against values made with SciPy (fixtures/scipy/values.py):
// Student's bounds far out, means, differences.
func TestStudentAgainstSciPy(t *testing.T) {
	text := kit.Must(os.ReadFile("../../fixtures/scipy/values.json"))(t)
	var v struct {
		Repeats struct {
			T     [][3]float64 // tail, ν, t
			Welch []struct {
				A, B      []float64
				Statistic float64    // of b − a
				Interval  [2]float64 // of a's mean
				Cautious  float64    // one-sided p with the smaller sample's degrees of freedom
			}
		}
	}
	kit.OK(t, json.Unmarshal(text, &v))
	if len(v.Repeats.T) == 0 || len(v.Repeats.Welch) == 0 {
		t.Fatal("no values")
	}
	for _, q := range v.Repeats.T {
		tail, nu, want := q[0], q[1], q[2]
		kit.Near(t, "a bound", student{0, 1, nu}.upper(tail)/want, 1, 1e-7)
		kit.Near(t, "its tail", student{want, 1, nu}.above(0)/tail, 1, 1e-7)
	}
	for _, w := range v.Repeats.Welch {
		a, b := meanOf(w.A), meanOf(w.B)
		e := b.less(a)
		kit.Near(t, "statistic", e.value/e.u, w.Statistic, 1e-9*math.Abs(w.Statistic))
		kit.Near(t, "cautious p", e.above(0), w.Cautious, 1e-9)
		kit.Near(t, "lower end", a.truth().lower(0.025), w.Interval[0], 1e-7)
		kit.Near(t, "upper end", a.truth().upper(0.025), w.Interval[1], 1e-7)
	}
}
