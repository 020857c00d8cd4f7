package estimate

import (
	"math"
	"math/cmplx"
	"testing"
)

// Unloaded 6 and 4, loaded 9 and 1, for the plug either way round: the load's own part is the
// difference, +3 and −3 (arithmetic).
func TestPlugAndLoad(t *testing.T) {
	at := func(size, phase float64) Estimate { return Disc(cmplx.Rect(size, phase), 0.1) }
	for _, c := range []struct{ loaded, unloaded, want, phase float64 }{{9, 6, 3, 0.5}, {1, 4, 3, 0.5 + math.Pi}} {
		magnetic := Minus(at(c.loaded, 0.5), at(c.unloaded, 0.5))
		v, lo, hi := magnetic.Numbers()
		if math.Abs(v-c.want) > 1e-12 || math.Abs(hi-lo-0.2*math.Sqrt2) > 1e-12 {
			t.Errorf("%g less %g is %v", c.loaded, c.unloaded, magnetic)
		}
		if phase, _, ok := magnetic.Phase(); !ok || math.Abs(math.Remainder(phase-c.phase, 2*math.Pi)) > 1e-12 {
			t.Errorf("%g less %g has the phase %g, not %g", c.loaded, c.unloaded, phase, c.phase)
		}
	}
}

// A disc that holds zero has no phase, and keeps its upper end.
func TestNoPhase(t *testing.T) {
	small := Disc(0.1, 0.3)
	if _, _, ok := small.Phase(); ok || small.State() != AtMost {
		t.Errorf("a phasor around zero: %v", small)
	}
	if hi, _ := Minus(Disc(2, 0.1), small).Upper(); math.Abs(hi-2-math.Hypot(0.1, 0.4)) > 1e-12 {
		t.Errorf("2 less almost nothing is at most %g", hi)
	}
	if Minus(Of(1, 0.9, 1.1), Disc(2, 0.1)).Known() {
		t.Error("a difference of a phasor without a phase")
	}
	if v, _ := Disc(2i, 0.1).Map(func(x float64) float64 { return 3 * x }).Value(); v != 6 {
		t.Errorf("three times 2 is %g", v)
	}
	if _, _, ok := Disc(2i, 0.1).Map(func(x float64) float64 { return 3 * x }).Phase(); !ok {
		t.Error("a phase is lost on the way to another unit")
	}
}
