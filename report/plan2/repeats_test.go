package plan

import (
	"math"
	"testing"
)

// Repeats of each of two groups by Cohen, Statistical Power Analysis (2nd ed.,
// 1988), table 2.4.1, two-sided 5 % (from memory).
func TestRepeats(t *testing.T) {
	for _, c := range []struct {
		d, power float64
		want     int
	}{{0.5, 0.8, 64}, {0.8, 0.8, 26}, {1, 0.8, 17}, {0.5, 0.95, 105}, {0.8, 0.95, 42}, {1, 0.95, 27}} {
		if got := Repeats(c.d, 1, c.power, 0.05); got != c.want {
			t.Errorf("d = %g, power %g: %d, want %d", c.d, c.power, got, c.want)
		}
	}
	if got := Repeats(0, 1, 0.8, 0.05); got != 0 {
		t.Errorf("no difference at all: %d", got)
	}
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
