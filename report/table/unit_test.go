package table

import (
	"math"
	"strings"
	"testing"

	"humdiff/report/internal/sample"
	"humdiff/report/result"
)

// Near's fundamental is -101.92 dBFS at a full scale of 20 mV: -135.90 dBV,
// -133.68 dBu (2.2185 above dBV), 160.3 nV.
func TestUnits(t *testing.T) {
	r := sample.Compare()
	for u, want := range map[Unit][]string{
		DBFS:  {"dBFS", "dBFS/Hz", "-101.92"},
		DBV:   {"dBV", "dBV/√Hz", "-135.90", "what is known of the scale"},
		DBu:   {"dBu", "dBu/√Hz", "-133.68"},
		Volts: {"nV rms", "nV/√Hz", "160.3"},
	} {
		text := CompareIn(r, u).Text()
		for _, w := range want {
			if !strings.Contains(text, w) {
				t.Errorf("%s: no %q in\n%s", u, w, text[:2000])
			}
		}
	}
	// The plain numbers are the same whatever is printed.
	if CompareIn(r, Volts).CSV() != CompareIn(r, DBFS).CSV() {
		t.Error("CSV depends on the unit")
	}
}

// On two scales levels are in dBV, and figures have quiet on near's scale.
func TestTwoScales(t *testing.T) {
	r := sample.Compare()
	one := r.Settings.Scales[0]
	quiet, near := one, one
	quiet.For, near.For = result.ForQuiet, result.ForNear
	quiet.FullScaleVolts = one.FullScaleVolts / 10
	r.Settings.Scales, r.Settings.FullScaleVolts = []result.Scale{quiet, near}, result.None
	r.Settings.Step = result.Step{DB: 20, U95DB: 0.1, Complete: true}
	if u := UnitFor(r.Settings); u != DBV || !r.Settings.Volts() || !r.Settings.TwoScales() {
		t.Errorf("levels in %s", u)
	}
	text := Compare(r).Text()
	for _, w := range []string{"0 dBFS of quiet is 2.00 mV", "0 dBFS of near is 20.0 mV", "the step between the two scales", " dBV in quiet, ", " dBV."} {
		if !strings.Contains(text, w) {
			t.Errorf("no %q", w)
		}
	}
	p := r.Pairs[0]
	before := p.Lines[0].Quiet.DBFS
	set, q := result.OnNearScale(r.Settings, p)
	if set.TwoScales() || set.FullScaleVolts != near.FullScaleVolts {
		t.Errorf("%+v", set)
	}
	near2 := q.Lines[0].Near.DBFS
	if d := float64(before - q.Lines[0].Quiet.DBFS); math.Abs(d-20) > 1e-9 || near2 != p.Lines[0].Near.DBFS {
		t.Errorf("quiet moved by %g dB", d)
	}
	if d := float64(p.Trace.Quiet.HiDBFS[5] - q.Trace.Quiet.HiDBFS[5]); math.Abs(d-20) > 1e-9 {
		t.Errorf("its spectrum by %g dB", d)
	}
	if x := float64(p.Cycle.Quiet.Samples[7] / q.Cycle.Quiet.Samples[7]); math.Abs(x-10) > 1e-9 {
		t.Errorf("its cycle by %g", x)
	}
	if p.Lines[0].Quiet.DBFS != before {
		t.Error("the pair itself was changed")
	}
}
