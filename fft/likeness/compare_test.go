package likeness

import (
	"flag"
	"math"
	"testing"
)

// kinds are ways to come by a second capture.
var kinds = []struct {
	name string
	copy bool
	make func(t testing.TB, d drawn, a []float64) (x, y []float64)
}{
	{"trimmed", true, func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		a = rounded(a, 24, 1)
		return a, d.trimmed(a)
	}},
	{"gain, inverted, 24 bit", true, func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		a = rounded(a, 24, 1)
		return a, rounded(scaled(d.trimmed(a), -math.Pow(10, d.between(-12, 6)/20)), 24, 0)
	}},
	{"16 bit with dither", true, func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		return rounded(a, 24, 1), rounded(a, 16, 2)
	}},
	{"16 bit, trimmed, −3 dB", true, func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		return rounded(a, 24, 1), rounded(scaled(d.trimmed(a), 0.7), 16, 2)
	}},
	{"resampled and back", true, func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		ratio := d.between(0.9, 1.1)
		return rounded(a, 24, 1), rounded(resampled(resampled(a, ratio, 0), 1/ratio, 0), 24, 1)
	}},
	{"speed", true, func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		return rounded(a, 24, 1), rounded(resampled(a, 1+d.between(-100, 100)*1e-6, 0), 24, 1)
	}},
	{"separate", false, func(t testing.TB, d drawn, a []float64) (x, y []float64) {
		return rounded(a, 24, 1), rounded(d.record(t), 24, 2)
	}},
	{"separate, one dither", false, func(t testing.TB, d drawn, a []float64) (x, y []float64) {
		bits := 14 + d.r.IntN(3)
		return rounded(a, bits, 1), rounded(d.record(t), bits, 1)
	}},
	{"separate, programme in both", false, func(t testing.TB, d drawn, a []float64) (x, y []float64) {
		b, music := d.record(t), d.music(t)
		from := d.r.IntN(5000)
		for i := range b[from:] {
			a[i] += music[i]
			b[from+i] += music[i]
		}
		return rounded(a, 24, 1), rounded(b, 24, 2)
	}},
}

var draws = flag.Int("draws", 0, "draws of each kind, of longer captures at higher rates too")

// Copies are found, and separate recordings never called copies. Of copies rounded to
// 16 bits less is found the further their noise lies below the dither.
func TestKinds(t *testing.T) {
	n := 12
	if *draws > 0 {
		n = *draws
	}
	for _, kind := range kinds {
		counts := map[Verdict]int{}
		for seed := range uint64(n) {
			d := draw(seed, *draws > 0)
			x, y := kind.make(t, d, d.record(t))
			rate := int(d.comb.Rate)
			answer := compared(t, rate, x, rate, y)
			counts[answer.Verdict]++
			if kind.copy != (answer.Verdict == Same) {
				t.Logf("%s %d: rate %d, %.0f s, floor %.0f: %v", kind.name, seed, rate, d.comb.Seconds, d.comb.FloorDBFSHz, answer)
			}

		}
		t.Log(kind.name, counts)
	}
}
