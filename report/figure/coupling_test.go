package figure

import (
	"math"
	"strings"
	"testing"

	"humdiff/fixtures/kit"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// Tones that have no place on the axes, as an edited file may hold them, are left out: an
// axis from nothing has no end.
func TestCouplingOfOddTones(t *testing.T) {
	whole := string(Coupling(somePassport(), 0).SVG(Options{}))
	p, only := somePassport(), somePassport()
	only.Cables[0].Frequency = nil
	good := estimate.Of(1e-6, 9e-7, 1.1e-6)
	for _, odd := range []model.AtTone{
		{Hz: 0, Size: good}, {Hz: -75, Size: good}, {Hz: model.None, Size: good}, {Hz: 1e300, Size: good}, {Hz: 5e-324, Size: good},
		{Hz: 75, Size: estimate.Of(0, 0, 0)}, {Hz: 75, Size: estimate.Of(-1, -2, 1)}, {Hz: 75}, {Hz: 75, Size: estimate.Below(math.NaN())},
	} {
		odd.Drive = model.DriveWire
		p.Cables[0].Frequency = append(p.Cables[0].Frequency, odd)
		only.Cables[0].Frequency = append(only.Cables[0].Frequency, odd)
	}
	kit.Same(t, string(Coupling(p, 0).SVG(Options{})), whole, "odd tones change the figure")
	if got := string(Coupling(only, 0).SVG(Options{})); len(got) > 1<<20 || strings.Contains(got, "NaN") {
		t.Errorf("of odd tones alone the figure has %d bytes", len(got))
	}
}
