package measure

import (
	"math"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/fixtures/kit"
	"humdiff/report/model"
)

// GUM G.4.1: relative standard uncertainties of 0.25 % (10 observations), 0.57 %
// (5) and 0.82 % (15) combine to 1.03 %, with 19.0 degrees of freedom, t95 2.09,
// U 2.2 % (from memory; recomputed 1.029466, 18.998742, 2.154697 %, where the
// factor is for 19). Rounded down to 18 it is 2.100922.
func TestCombinedIsTheGUM(t *testing.T) {
	half, complete := combined([]part{{u: 0.25, dof: 9}, {u: 0.57, dof: 4}, {u: 0.82, dof: 14}})
	kit.Near(t, "U", half, 1.029466*2.100922, 2e-6)
	if !complete {
		t.Error("not complete")
	}
	// Rectangular limits of ±1 alone: 1/√3 (JCGM 100:2008, 4.3.7), times 1.959964.
	half, complete = combined([]part{{u: 1 / math.Sqrt(3), dof: math.Inf(1)}, {u: math.NaN()}})
	kit.Near(t, "U of limits", half, 1.131586, 1e-6)
	if complete {
		t.Error("complete without one part")
	}
}

func TestStatedScale(t *testing.T) {
	for _, c := range []struct {
		fullScale, gain, said string
		volts, u95            float64
		complete              bool
	}{
		{"2.0V", "", "2.0V", 2, 0, false},
		{"2.0V", "40dB", "2.0V less 40 dB of gain", 0.02, 0, false},
		{"1V ±0.1dB", "-20 dB", "1V ±0.1dB less -20 dB of gain", 10, 0.1131586, false},
		{"1V ±0.3dB", "20dB ±0.4dB", "1V ±0.3dB less 20dB ±0.4dB of gain", 0.1, 0.565793, true}, // √(0.3² + 0.4²) = 0.5
	} {
		s, err := StatedScale(c.fullScale, c.gain)
		r := s.State(model.ForAll)
		if err != nil || r.Said != c.said || r.Complete != c.complete {
			t.Errorf("%q, %q: %+v, %v", c.fullScale, c.gain, r, err)
		}
		kit.Near(t, c.said, float64(r.FullScaleVolts), c.volts, 1e-9)
		kit.Near(t, c.said+" U95", float64(r.U95DB), c.u95, 1e-5)
	}
	for _, c := range [][2]string{{"2", ""}, {"2V", "40"}, {"2V", "40dB ±1mV"}, {"2,0V", ""}, {"2V ±9dB", ""}, {"2V", "40dB ±7dB"}} {
		if s, err := StatedScale(c[0], c[1]); err == nil || s.Known() {
			t.Errorf("%q: %+v", c, s)
		}
	}
	s, err := StatedScale("", "40dB")
	if r := s.State(model.ForQuiet); err != nil || !s.Known() || r.FullScaleVolts.Ok() || r.U95DB.Ok() || r.GainDB != 40 {
		t.Errorf("a gain alone: %+v, %v", r, err)
	}
}

func statedScale(t *testing.T, fullScale, gain string) Scale {
	t.Helper()
	return kit.Must(StatedScale(fullScale, gain))(t)
}

// What both scales have in common cancels in the step between them.
func TestBetween(t *testing.T) {
	for name, c := range map[string]struct {
		quiet, near Scale
		db, u95     float64
		complete    bool
	}{
		"one scale":     {statedScale(t, "2V ±5%", "40dB"), statedScale(t, "2V ±5%", "40dB"), 0, 0, true},
		"gains alone":   {statedScale(t, "", "60dB"), statedScale(t, "", "40dB"), 20, 0, false},
		"gains, stated": {statedScale(t, "2V", "60dB ±0.3dB"), statedScale(t, "2V", "40dB ±0.4dB"), 20, 0.565793, true},
		"two inputs":    {statedScale(t, "2V ±0.3dB", ""), statedScale(t, "4V ±0.4dB", ""), 6.0206, 0.565793, true},
		"none":          {Scale{}, Scale{}, 0, 0, true},
	} {
		s, err := Between(c.quiet, c.near)
		if err != nil || s.Complete != c.complete {
			t.Errorf("%s: %+v, %v", name, s, err)
		}
		kit.Near(t, name, float64(s.DB), c.db, 1e-4)
		kit.Near(t, name+" U95", float64(s.U95DB), c.u95, 1e-5)
	}
	quiet, other := statedScale(t, "2V", ""), statedScale(t, "", "40dB")
	if s, err := Between(quiet, other); err == nil || s.DB.Ok() {
		t.Errorf("volts against none: %+v", s)
	}
	if s := Settings(Options{}, quiet, other); s.Volts() || s.Step.DB.Ok() {
		t.Errorf("settings with volts against none: %+v", s)
	}
}

func calibrationOf(volts, within float64) model.Calibration {
	return model.Calibration{FullScaleVolts: model.Num(volts), WithinDB: model.Num(within), GivenHz: model.None, OthersDB: 0.00001, Hz: 55, Level: estimate.Of(-6, -6, -6)}
}

// A tone at 40 dB of gain, a capture at 20: full scale is ten times as much.
func TestAtGain(t *testing.T) {
	tone := calibrated([]model.Calibration{calibrationOf(2, 0)})
	s := kit.Must(tone.AtGain("40dB", "20dB ±0.5dB"))(t)
	kit.Near(t, "full scale", s.volts, 20, 1e-9)
	if s.State("").Complete {
		t.Error("a step of which one end is not stated passes for stated")
	}
	same, err := tone.AtGain("40dB", "40 dB")
	if err != nil || same.volts != 2 || !same.Same(tone) {
		t.Errorf("%g V, %v", same.volts, err)
	}
}

func TestCalibratedKeepsTheWidestLimits(t *testing.T) {
	a, b := calibrationOf(1, 0.1), calibrationOf(1, 0.3)
	r := calibrated([]model.Calibration{a, b}).State("")
	kit.Near(t, "U95", float64(r.U95DB), 0.3*1.131586, 1e-6)
	b.WithinDB = model.None
	if r = calibrated([]model.Calibration{a, b}).State(""); r.Complete {
		t.Error("limits of one calibration pass for both's")
	}
}

func TestSettingsSayWhatWasAsked(t *testing.T) {
	got := Settings(Options{})
	if got.Mains != "auto" || got.UpToHz != 5000 || got.Window != "nuttall" || got.FullScaleVolts.Ok() || got.Confidence != 0.95 || got.WideMains {
		t.Errorf("default: %+v", got)
	}
	opt := Options{}
	opt.Nominal, opt.UpTo, opt.Wide = 60, 2000, true
	got = Settings(opt, statedScale(t, "2.0V", "40dB"))
	if got.Mains != "60" || got.UpToHz != 2000 || got.FullScaleVolts != 0.02 || got.FullScaleSaid != "2.0V less 40 dB of gain" || !got.WideMains {
		t.Errorf("all said: %+v", got)
	}
	again, err := OptionsOf(got)
	if err != nil || again.Nominal != 60 || again.UpTo != 2000 || !again.Wide || again.Window.Name != "nuttall" {
		t.Errorf("back: %+v, %v", again, err)
	}
	for _, wrong := range []func(*model.Settings){
		func(s *model.Settings) { s.Mains = "55" }, func(s *model.Settings) { s.Window = "mine" }, func(s *model.Settings) { s.UpToHz = 0 },
	} {
		s := got
		wrong(&s)
		if _, err := OptionsOf(s); err == nil {
			t.Errorf("%+v taken", s)
		}
	}
}
