package mains

import (
	"testing"

	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
)

// Hum above the highest line that is measured is hum too: noise isn't read
// there.
func TestNoNoiseIsReadOnLinesBeyondTheLast(t *testing.T) {
	var lines []bench.LineSpec
	for h := 1; h <= 300; h++ {
		lines = append(lines, bench.LineSpec{Harmonic: h, PowerDBFS: -90, Phase: float64(h * h)})
	}
	made := kit.Must(bench.Comb{Rate: 48000, Seconds: 10, Track: bench.Steady(50.01), FloorDBFSHz: -130, Lines: lines, Seed: 1}.Make())(t)
	all := kit.Must(Measure(t.Context(), made.Source(), Options{UpTo: 1000}))(t)
	m := all[0]
	in := func(hz float64) bool {
		for _, b := range m.Occupied {
			if b.Lo <= hz && hz <= b.Hi {
				return true
			}
		}
		return false
	}
	for h := 1; h <= 300; h++ {
		if hz := float64(h) * 50.01; !in(hz) {
			t.Errorf("harmonic %d at %.1f Hz counts as noise", h, hz)
		}
	}
	if in(50.01 * 100.5) {
		t.Error("no noise is left between lines")
	}
}
