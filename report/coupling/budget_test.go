package coupling

import (
	"math"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/report/model"
)

func budgetOf(u, dof []float64) (parts []model.BudgetPart) {
	for i := range u {
		parts = append(parts, model.BudgetPart{UDB: model.Num(u[i]), DOF: model.Of(dof[i])})
	}
	return parts
}

// The end gauge of the GUM, H.1: u_c = 31.66 nm (it prints 32), 16.7 degrees of freedom
// (16.752 unrounded), inputs as in the docs of the library GTC; and G.4.1's relative ones,
// from memory, u 1.03 %, ν 19.0, t95 2.09, U 2.2 %. t of 16 degrees at 95 % is 2.120 (NIST
// e-Handbook's table).
func TestGUM(t *testing.T) {
	u, dof := combined(budgetOf([]float64{25, 5.8, 3.9, 6.7, 2.88679, 16.599}, []float64{18, 24, 5, 8, 50, 2}))
	kit.Near(t, "H.1, u", u, 31.66, 0.005)
	kit.Near(t, "H.1, degrees of freedom", dof, 16.752, 0.001)
	kit.Near(t, "H.1, k for 95 %", coverage(dof), 2.120, 0.0005)
	u, dof = combined(budgetOf([]float64{0.25, 0.57, 0.82}, []float64{9, 4, 14}))
	kit.Near(t, "G.4.1, u", u, 1.03, 0.005)
	kit.Near(t, "G.4.1, degrees of freedom", dof, 19.0, 0.05)
	kit.Near(t, "G.4.1, U", coverage(19)*u, 2.15, 0.01)
	kit.Near(t, "k of no end of freedom", coverage(math.Inf(1)), 1.960, 0.0005)
}

// Nested components (ISO 5725-2: s_R² = s_L² + s_r²), by hand: two days of 0, 2 and 4, 6 dB
// have s_r² = 2, day means 1 and 5 of variance 8, so s_L² = 8 − 2/2 = 7; the mean of days
// has a variance of 8/2, of one degree of freedom.
func TestNested(t *testing.T) {
	at := func(day string, db float64) reading {
		return reading{day: day, value: math.Pow(10, db/20), own: 1e-12, tones: 1}
	}
	e, b := grounds{readings: []reading{at("1", 0), at("1", 2), at("2", 4), at("2", 6)}}.pool()
	v, lo, _ := e.Numbers()
	kit.Near(t, "mean, dB", 20*math.Log10(v), 3, 1e-3)
	kit.Near(t, "one placement", float64(b.PlacementDB), math.Sqrt(2), 1e-3)
	kit.Near(t, "one day", float64(b.DayDB), math.Sqrt(7), 1e-3)
	kit.Near(t, "standard uncertainty", float64(b.UDB), 2, 1e-3)
	// Placements by themselves would give 2/4 of variance with two degrees of freedom, days the
	// rest, 3.5, with (3.5/4)² of one: together 1.06, truncated to 1, whose t is 12.706.
	kit.Near(t, "half-width, dB", 20*math.Log10(v/lo), 2*12.706, 0.02)
	if b.Days != 2 || b.Placements != 4 {
		t.Errorf("%d days, %d placements", b.Days, b.Placements)
	}
}

// A value that doesn't stand out is an upper bound.
func TestBound(t *testing.T) {
	e, _ := grounds{readings: []reading{{value: 1, own: 1, tones: 5}}, scale: 0.1}.pool()
	hi, ok := e.Upper()
	if e.Measured() || !ok || hi < 2.9 || hi > 3.2 {
		t.Errorf("1 ± 1 is %v", e)
	}
}
