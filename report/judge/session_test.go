package judge_test

import (
	"math"
	"slices"
	"testing"

	"humdiff/fft/estimate"
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

// A pickup 40 dB below the room's own hum is known as well as the ratio is steady: ±1.1 dB at
// −64 dB, −1.8 to +1.6 at −60, −3.5 to +2.7 at −55 (tried before with NumPy; two ratios'
// Gaussian scatter, 1.96 standard deviations of the part along the pickup, gives the same).
func TestPickupFarBelowTheRoom(t *testing.T) {
	for steady, want := range map[float64][2]float64{-64: {-1.15, 1.0}, -60: {-1.9, 1.55}, -55: {-3.7, 2.6}} {
		scatter := model.Num(math.Pow(10, steady/20))
		side := func(re float64) model.Capture {
			level := estimate.Of(-60, -60.1, -59.9)
			return model.Capture{Mains: model.Mains{NominalHz: 50, Hz: 50}, Reference: &model.Reference{Channel: 2}, UpToHz: 50,
				Lines: []model.Line{{Harmonic: 1, Hz: 50, Level: level, Share: model.Share{Excess: 1e-6, Noise: 1e-12, Variance: 1e-20},
					Ratio: &model.Ratio{Re: model.Num(re), Lo: model.Num(re - 1e-9), Hi: model.Num(re + 1e-9), Scatter: scatter, Spans: 200, DBFS: -60}}}}
		}
		p := judge.Pair(model.Settings{Step: model.Step{Complete: true}}, side(1), side(1.01))
		v, lo, hi := p.Lines[0].Pickup.Numbers()
		if math.Abs(v-1e-5) > 1e-11 {
			t.Fatalf("%g dB: pickup %v", steady, p.Lines[0].Pickup)
		}
		if down, up := 20*math.Log10(lo/v), 20*math.Log10(hi/v); math.Abs(down-want[0]) > 0.1 || math.Abs(up-want[1]) > 0.1 {
			t.Errorf("steady to %g dB: %.2f to %+.2f dB, not %v", steady, down, up, want)
		}
		if phase, _, ok := p.Lines[0].Pickup.Phase(); !ok || math.Abs(phase) > 1e-6 {
			t.Errorf("phase %g", phase)
		}
	}
}
