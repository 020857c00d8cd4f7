package judge

import (
	"math"
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
