package volts

import (
	"math"
	"math/rand/v2"
	"testing"

	"humdiff/fft/mains"
	"humdiff/report/result"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.9g, want %.9g", what, got, want)
	}
}

// GUM G.4.1: relative standard uncertainties of 0.25 % (10 observations), 0.57 %
// (5) and 0.82 % (15) combine to 1.03 %, with 19.0 degrees of freedom, t95 2.09,
// U 2.2 % (from memory; recomputed 1.029466, 18.998742, 2.154697 %, where the
// factor is for 19). Rounded down to 18 it is 2.100922.
func TestCombinedIsTheGUM(t *testing.T) {
	half, complete := combined([]Part{{U: 0.25, DOF: 9}, {U: 0.57, DOF: 4}, {U: 0.82, DOF: 14}})
	near(t, "U", half, 1.029466*2.100922, 2e-6)
	if !complete {
		t.Error("not complete")
	}
	// Rectangular limits of ±1 alone: 1/√3 (JCGM 100:2008, 4.3.7), times 1.959964.
	half, complete = combined([]Part{{U: 1 / math.Sqrt(3), DOF: math.Inf(1)}, {U: math.NaN()}})
	near(t, "U of limits", half, 1.131586, 1e-6)
	if complete {
		t.Error("complete without one part")
	}
}

func TestStated(t *testing.T) {
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
		s, err := Stated(c.fullScale, c.gain)
		if err != nil || s.Said != c.said {
			t.Errorf("%q, %q: %+v, %v", c.fullScale, c.gain, s, err)
		}
		near(t, c.said, s.FullScale(), c.volts, 1e-9)
		r := s.State(result.ForAll)
		near(t, c.said+" U95", float64(r.U95DB), c.u95, 1e-5)
		if r.Complete != c.complete {
			t.Errorf("%s: complete %v", c.said, r.Complete)
		}
	}
	for _, c := range [][2]string{{"2", ""}, {"2V", "40"}, {"2V", "40dB ±1mV"}, {"2,0V", ""}} {
		if s, err := Stated(c[0], c[1]); err == nil || s.Known() {
			t.Errorf("%q: %+v", c, s)
		}
	}
	s, err := Stated("", "40dB")
	if r := s.State(result.ForQuiet); err != nil || !s.Known() || r.FullScaleVolts.Ok() || r.U95DB.Ok() || r.GainDB != 40 {
		t.Errorf("a gain alone: %+v, %v", s.State(result.ForQuiet), err)
	}
}

func stated(t *testing.T, fullScale, gain string) Scale {
	t.Helper()
	s, err := Stated(fullScale, gain)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestBetween(t *testing.T) {
	for name, c := range map[string]struct {
		quiet, near Scale
		db, u95     float64
		complete    bool
	}{
		"one scale":     {stated(t, "2V ±5%", "40dB"), stated(t, "2V ±5%", "40dB"), 0, 0, true},
		"gains alone":   {stated(t, "", "60dB"), stated(t, "", "40dB"), 20, 0, false},
		"gains, stated": {stated(t, "2V", "60dB ±0.3dB"), stated(t, "2V", "40dB ±0.4dB"), 20, 0.565793, true},
		"two inputs":    {stated(t, "2V ±0.3dB", ""), stated(t, "4V ±0.4dB", ""), 6.0206, 0.565793, true},
		"none":          {Scale{}, Scale{}, 0, 0, true},
	} {
		s, err := Between(c.quiet, c.near)
		if err != nil || s.Complete != c.complete {
			t.Errorf("%s: %+v, %v", name, s, err)
		}
		near(t, name, float64(s.DB), c.db, 1e-4)
		near(t, name+" U95", float64(s.U95DB), c.u95, 1e-5)
	}
	if s, err := Between(stated(t, "2V", ""), stated(t, "", "40dB")); err == nil || s.DB.Ok() {
		t.Errorf("volts against none: %+v", s)
	}
}

// A tone at 40 dB of gain, a capture at 20: full scale is ten times as much.
func TestAtGain(t *testing.T) {
	s, err := Calibrated([]result.Calibration{calibration(2, 0)}).AtGain("40dB", "20dB ±0.5dB")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "full scale", s.FullScale(), 20, 1e-9)
	if s.State("").Complete {
		t.Error("a step of which one end is not stated passes for stated")
	}
	same, err := Calibrated([]result.Calibration{calibration(2, 0)}).AtGain("40dB", "40 dB")
	if err != nil || same.FullScale() != 2 {
		t.Errorf("%g V, %v", same.FullScale(), err)
	}
}

func calibration(volts, within float64) result.Calibration {
	return result.Calibration{FullScaleVolts: result.Num(volts), WithinDB: result.Num(within), GivenHz: result.None, OthersDB: 0.00001, Hz: 55, DBFS: -6, LoDBFS: -6, HiDBFS: -6}
}

func TestCalibratedKeepsTheWidestLimits(t *testing.T) {
	a, b := calibration(1, 0.1), calibration(1, 0.3)
	r := Calibrated([]result.Calibration{a, b}).State("")
	near(t, "U95", float64(r.U95DB), 0.3*1.131586, 1e-6)
	b.WithinDB = result.None
	if r = Calibrated([]result.Calibration{a, b}).State(""); r.Complete {
		t.Error("limits of one calibration pass for both's")
	}
}

// What is said about a calibration has its figure, and what is fine has no word.
func TestDoubts(t *testing.T) {
	if d := Doubts(calibration(1, 0)); len(d) != 0 || Check(calibration(1, 0)) != nil {
		t.Errorf("%v", d)
	}
	for code, c := range map[string]func(*result.Calibration){
		"calibration_clipped":     func(c *result.Calibration) { c.Clipped, c.ClippedDB = 3, 0.0001 },
		"calibration_partial":     func(c *result.Calibration) { c.PartialDB = -0.02 },
		"calibration_other_tones": func(c *result.Calibration) { c.OthersDB = 0.02 },
		"calibration_unsteady":    func(c *result.Calibration) { c.ScatterDB = 0.1 },
		"calibration_noisy":       func(c *result.Calibration) { c.LoDBFS = -6.1 },
	} {
		x := calibration(1, 0)
		c(&x)
		if d := Doubts(x); len(d) != 1 || d[0].Code != code || Check(x) != nil {
			t.Errorf("%s: %v, %v", code, d, Check(x))
		}
	}
}

// In 95 % of many simulated benches the true volts of a level lie in its
// interval: the voltmeter off by anything within its limits, the level by
// Gaussian noise. 5 standard errors of 20000 trials are 0.8 %.
func TestAbsoluteIntervalsHold(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	const trials, within, sd = 20000, 0.3, 0.1
	p := Place{FullScale: 1, U95DB: 1.959964 * within / math.Sqrt(3)}
	held := 0
	for range trials {
		read := sd * random.NormFloat64()          // dB, of a level of 0
		scale := within * (2*random.Float64() - 1) // dB, of a full scale of 1 V
		l := mains.Level{Detected: true, Power: pow(read), Lo: pow(read - 1.959964*sd), Hi: pow(read + 1.959964*sd), Limit: math.NaN()}
		if _, a := p.Absolute(l); float64(a.LoDBV) <= scale && float64(a.HiDBV) >= scale {
			held++
		}
	}
	if share := float64(held) / trials; share < 0.942 || share > 0.985 {
		t.Errorf("%.3f of intervals hold", share)
	}
}

func pow(db float64) float64 { return math.Pow(10, db/10) }

func TestAbsolute(t *testing.T) {
	p := Place{FullScale: 2, U95DB: 0.5}
	v, a := p.Absolute(mains.Level{Detected: true, Power: 1e-10, Lo: 1e-10, Hi: 1e-10, Limit: math.NaN()})
	near(t, "volts", float64(v), 2e-5, 1e-15)
	near(t, "dBV", float64(a.DBV), -93.9794, 1e-4)
	near(t, "dBu", float64(a.DBu), -91.7609, 1e-4)
	near(t, "upper end", float64(a.HiDBV-a.DBV), 0.5, 1e-9)
	near(t, "lower end", float64(a.DBV-a.LoDBV), 0.5, 1e-9)
	v, a = p.Absolute(mains.Level{Power: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), Limit: 1e-10})
	near(t, "limit", float64(a.LimitDBV), -93.4794, 1e-4)
	if v.Ok() || a.DBV.Ok() || a.LoVolts.Ok() || a.LimitVolts != result.Num(2e-5*math.Pow(10, 0.025)) {
		t.Errorf("%v, %+v", v, a)
	}
	v, a = Place{FullScale: result.None}.Absolute(mains.Level{Detected: true, Power: 1, Lo: 1, Hi: 1})
	if v.Ok() || a.DBu.Ok() || a.HiDBV.Ok() || a.LoVolts.Ok() {
		t.Errorf("volts without a scale: %v, %+v", v, a)
	}
}
