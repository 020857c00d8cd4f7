package plan

import (
	"math"
	"testing"

	"humdiff/fixtures/kit"
)

// Repeats of each of two groups by Cohen, Statistical Power Analysis (2nd ed.,
// 1988), table 2.4.1, two-sided 5 % (from memory).
func TestRepeats(t *testing.T) {
	for _, c := range []struct {
		d, power float64
		want     int
	}{{0.5, 0.8, 64}, {0.8, 0.8, 26}, {1, 0.8, 17}, {0.5, 0.95, 105}, {0.8, 0.95, 42}, {1, 0.95, 27}} {
		kit.Same(t, Repeats(c.d, 1, c.power, 0.05), c.want, "d = %g, power %g", c.d, c.power)
	}
	kit.Same(t, Repeats(0, 1, 0.8, 0.05), 0, "no difference at all")
}

// Without a difference the power is the level; noncentral t with 1 degree of
// freedom at 0 is Φ(−shift), whatever the degrees.
func TestPower(t *testing.T) {
	for _, n := range []int{2, 3, 6, 50} {
		if got := Power(n, 0, 1, 0.05); math.Abs(got-0.05) > 1e-6 {
			t.Errorf("%d repeats: %g, want the level", n, got)
		}
		if got := noncentralT(0, float64(2*n-2), 1); math.Abs(got-0.158655254) > 1e-6 {
			t.Errorf("noncentral t at 0: %g, want Φ(−1)", got)
		}
	}
}

// Two one-sided tests of pairs against CHECKS §15 (2 million trials there, ±0.001):
// margin 1 dB, 5 %; differences spread by √2 of one placement.
func TestPowerSame(t *testing.T) {
	for _, c := range []struct {
		n                   int
		truly, spread, want float64
	}{
		{5, 0, 0.5 * math.Sqrt2, 0.67}, {6, 0, 0.5 * math.Sqrt2, 0.812}, {7, 0, 0.5 * math.Sqrt2, 0.899},
		{17, 0, math.Sqrt2, 0.747}, {18, 0, math.Sqrt2, 0.782}, {20, 0, math.Sqrt2, 0.838},
		{68, 0, 2 * math.Sqrt2, 0.785}, {70, 0, 2 * math.Sqrt2, 0.801}, {80, 0, 2 * math.Sqrt2, 0.864},
		{6, 0.5, 0.5, 0.677}, {8, 0.5, 0.5, 0.816}, {10, 0.5, 0.5, 0.897}, {12, 0.5, 0.5, 0.945},
	} {
		if got := PowerSame(c.n, 1, c.truly, c.spread, 0.05); math.Abs(got-c.want) > 0.003 {
			t.Errorf("%d pairs, %g dB apart, spread %g dB: %.4f, want %g", c.n, c.truly, c.spread, got, c.want)
		}
	}
	if got := PowerSame(6, 1, 1, 0.5, 0.05); math.Abs(got-0.05) > 1e-3 {
		t.Errorf("at the margin: %g, want the level", got)
	}
	for spread, want := range map[float64]int{0.5 * math.Sqrt2: 6, math.Sqrt2: 19, 0.5: 4} {
		kit.Same(t, RepeatsSame(1, spread, 0.8, 0.05), want, "spread of differences %g dB", spread)
	}
}
