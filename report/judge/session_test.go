package judge_test

import (
	"math"
	"slices"
	"testing"

	"humdiff/fixtures/sessions"
	"humdiff/report/judge"
	"humdiff/report/model"
)

var none = math.Inf(-1)

// simple is a quiet bench with a cable that picks up little, one that picks up much,
// and the positive control.
func simple() sessions.Design {
	return sessions.Design{
		Cables: []sessions.Cable{{Name: "Heron", PickupDB: -90, SD: 1, QuietDB: -120, UnpluggedDB: none}, {Name: "Plover", PickupDB: -60, SD: 1, QuietDB: -120, UnpluggedDB: none},
			{Name: "Wire", PickupDB: -50, SD: 1, QuietDB: -120, UnpluggedDB: none}},
		Repeats: 4, Control: "Wire", ResidualDB: -122, DriftSD: 0.05, NoiseSD: 0.02, LimitDB: -140, Unplugged: true, Idle: true,
	}
}

func claim(c model.Claim) model.Claim {
	c.Termination.Ohms, c.Written = model.None, sessions.Written
	return c
}

func judged(d sessions.Design, change func(*model.Session)) model.Session {
	in := sessions.Draw(d, 7)
	if change != nil {
		change(&in)
	}
	return judge.Session(in)
}

func found(s model.Session, code string) (out []model.Finding) {
	for _, f := range s.Findings {
		if f.Code == code {
			out = append(out, f)
		}
	}
	return out
}

func objection(t *testing.T, s model.Session, code string) model.Objection {
	t.Helper()
	i := slices.IndexFunc(s.Objections, func(o model.Objection) bool { return o.Code == code })
	if i < 0 {
		t.Fatalf("no objection %q", code)
	}
	return s.Objections[i]
}

func codes(notes []model.Note) (out []string) {
	for _, n := range notes {
		out = append(out, n.Code)
	}
	return out
}

func has(_ float64, ok bool) bool    { return ok }
func value(e model.Estimate) float64 { v, _, _ := e.Numbers(); return v }
func lo(e model.Estimate) float64    { _, lo, _ := e.Numbers(); return lo }
func hi(e model.Estimate) float64    { _, _, hi := e.Numbers(); return hi }
