package assemble

import (
	"context"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/report/result"
	"humdiff/report/volts"
)

// toneOf writes four seconds of tones and says the voltage of the strongest.
func toneOf(t *testing.T, name, said string, tones ...bench.ToneSpec) capture.Tone {
	t.Helper()
	made, err := bench.Comb{Rate: rate, Seconds: 4, Track: bench.Steady(50), FloorDBFSHz: -130, Seed: 1, Tones: tones}.Make()
	if err != nil {
		t.Fatal(err)
	}
	return saying(t, write(t, name, made.Samples), said)
}

func saying(t *testing.T, addr capture.Address, said string) capture.Tone {
	t.Helper()
	v, err := capture.ParseStatedVolts(said)
	if err != nil {
		t.Fatal(err)
	}
	return capture.Tone{Address: addr, Volts: v}
}

// A tone of 1 V that reads -6 dBFS makes full scale 10^0.3 V; limits of ±0.5 %
// are 0.0435 dB, their standard uncertainty 0.0251 dB, and 1.96 of that 0.0493.
func TestCalibrate(t *testing.T) {
	tone := toneOf(t, "tone.wav", "1000mV ±0.5%", bench.ToneSpec{Hz: 55, PowerDBFS: -6})
	s, err := Calibrate(context.Background(), tone)
	if err != nil {
		t.Fatal(err)
	}
	if off := 20 * math.Log10(s.FullScale()/math.Pow(10, 0.3)); !(math.Abs(off) < 0.003) {
		t.Errorf("full scale %g V, off by %.4f dB", s.FullScale(), off)
	}
	if want := "the 55.0 Hz tone of " + tone.Path + " is 1000mV ±0.5%"; s.Said != want {
		t.Errorf("said %q, want %q", s.Said, want)
	}
	got := Settings(mains.Options{}, s)
	if len(got.Scales) != 1 || math.Abs(float64(got.Scales[0].U95DB)-0.0493) > 0.001 || !got.Scales[0].Complete {
		t.Fatalf("%+v", got.Scales)
	}
	// All that is needed to do it again.
	c := got.Scales[0].Calibrations[0]
	if len(c.SHA256) != 64 || c.File != tone.Path || c.Channel != 1 || c.EndS != 4 || c.Volts != 1 || c.Blocks < 2 ||
		math.Abs(float64(c.Hz)-55) > 0.001 || math.Abs(float64(c.DBFS)+6) > 0.003 {
		t.Errorf("%+v", c)
	}
	if w := codes(Measure("", got, nil).Warnings); len(w) != 0 {
		t.Errorf("warnings %v", w)
	}
}

// Before and after differ by 0.4 dB: the scale is their middle, and anywhere
// between is as likely: 0.2/√3 = 0.1155 dB, times 1.96 is 0.2263 dB.
func TestCalibrateBeforeAndAfter(t *testing.T) {
	s, err := Calibrate(context.Background(),
		toneOf(t, "before.wav", "1V ±0%", bench.ToneSpec{Hz: 997, PowerDBFS: -6}),
		toneOf(t, "after.wav", "1V ±0%", bench.ToneSpec{Hz: 997, PowerDBFS: -6.4}))
	if err != nil {
		t.Fatal(err)
	}
	r := s.State(result.ForAll)
	if math.Abs(20*math.Log10(s.FullScale())-6.2) > 0.003 || math.Abs(float64(r.DriftDB)-0.4) > 0.003 || math.Abs(float64(r.U95DB)-0.2263) > 0.002 {
		t.Errorf("%g V, %+v", s.FullScale(), r)
	}
	if len(r.Calibrations) != 2 || !strings.Contains(s.Said, "before.wav") || !strings.Contains(s.Said, "after.wav") {
		t.Errorf("%+v", r)
	}
	got := codes(Measure("", Settings(mains.Options{}, s), nil).Warnings)
	if strings.Join(got, " ") != "calibration_far calibration_far calibration_drift" {
		t.Errorf("warnings %v", got)
	}
}

func TestCalibrateRefuses(t *testing.T) {
	two := toneOf(t, "two.wav", "1V", bench.ToneSpec{Hz: 997, PowerDBFS: -6}, bench.ToneSpec{Hz: 1500, PowerDBFS: -20})
	silence := make([]float64, 4*rate)
	late, clipped := make([]float64, 4*rate), make([]float64, 4*rate)
	for i := range late {
		late[i] = 0.5 * math.Sin(float64(i)*0.13)
		clipped[i] = max(-1, min(1, 1.5*math.Sin(float64(i)*0.13)))
	}
	clear(late[:rate])
	for _, c := range []struct {
		tone       capture.Tone
		want, hint string
	}{
		{saying(t, write(t, "noise.wav", hum(t, 50, noHum, 1)), "1V"), "no tone", ""},
		{saying(t, write(t, "silence.wav", silence), "1V"), "no tone", ""},
		{saying(t, capture.Address{Path: filepath.Join(t.TempDir(), "missing.wav")}, "1V"), "", ""},
		// 14 dB below: 10·lg(1 + 10^−1.4) = 0.170 dB.
		{two, "reads 0.170 dB more", "at 997Hz"},
		{saying(t, write(t, "late.wav", late), "1V"), "lies -", "#t="},
		{saying(t, write(t, "clipped.wav", clipped), "1V"), "clipped, which takes 2.15", "lower level"},
	} {
		s, err := Calibrate(context.Background(), c.tone)
		if err == nil || !strings.HasPrefix(err.Error(), c.tone.Path+": ") || !strings.Contains(err.Error(), c.want) || s.Known() {
			t.Errorf("%s: got %+v, %v", c.tone.Path, s, err)
		}
		if !strings.Contains(fault.Hint(err), c.hint) {
			t.Errorf("%s: hint %q", c.tone.Path, fault.Hint(err))
		}
	}
	// Named, the tone is taken, and the other warned about.
	two.Hz = 1000
	s, err := Calibrate(context.Background(), two)
	if err != nil {
		t.Fatal(err)
	}
	if got := codes(Measure("", Settings(mains.Options{}, s), nil).Warnings); strings.Join(got, " ") != "scale_uncertainty_unknown calibration_other_tones calibration_far" {
		t.Errorf("warnings %v", got)
	}
}

// Quiet with 20 dB more gain reads 20 dB more for the same hum: on two scales
// the delta is that at the input, and what the step may be off by is in it.
func TestTwoGains(t *testing.T) {
	quiet := pairOf(heard("q.wav", 49.97, 20), heard("n.wav", 49.99, 14))
	on := func(q, n string) result.Compare {
		qs, err := volts.Stated("2V ±5%", q)
		if err != nil {
			t.Fatal(err)
		}
		ns, err := volts.Stated("2V ±5%", n)
		if err != nil {
			t.Fatal(err)
		}
		return Compare("v1", Settings(mains.Options{}, qs, ns), quiet)
	}
	one := Compare("v1", onVolts, pairOf(heard("q.wav", 49.97, 0), heard("n.wav", 49.99, 14))).Pairs[0].Lines[0]
	exact := on("60dB ±0dB", "40dB ±0dB")
	l := exact.Pairs[0].Lines[0]
	for name, d := range map[string]result.Num{"delta": l.Delta.DB - one.Delta.DB, "lo": l.Delta.LoDB - one.Delta.LoDB, "hi": l.Delta.HiDB - one.Delta.HiDB} {
		if math.Abs(float64(d)) > 1e-9 {
			t.Errorf("%s differs by %g dB from that on one scale", name, d)
		}
	}
	if q := l.Quiet; math.Abs(float64(q.Volts)/(2e-3*math.Pow(10, float64(q.DBFS)/20))-1) > 1e-9 {
		t.Errorf("quiet's full scale isn't 2 mV: %+v", q)
	}
	// ±0.2 dB with each gain: √2·0.2/√3·1.96 = 0.32 dB; full scale's 5 % cancels.
	loose := on("60dB ±0.2dB", "40dB ±0.2dB")
	if s := loose.Settings.Step; math.Abs(float64(s.DB)-20) > 1e-9 || math.Abs(float64(s.U95DB)-0.3201) > 0.0002 || !s.Complete {
		t.Errorf("step %+v", s)
	}
	got := loose.Pairs[0].Lines[0].Delta
	if want := math.Hypot(float64(one.Delta.DB-one.Delta.LoDB), 0.3201); math.Abs(float64(got.DB-got.LoDB)-want) > 0.0005 {
		t.Errorf("lower end %.4f dB down, want %.4f", got.DB-got.LoDB, want)
	}
	if w := codes(loose.Warnings); w[0] != "two_scales" {
		t.Errorf("warnings %v", w)
	}
	if s := on("60dB", "40dB").Settings.Step; s.Complete {
		t.Errorf("a step of unknown uncertainty passes for known: %+v", s)
	}
}

// The uncertainty of one scale goes into volts, not into dBFS and deltas.
func TestUncertaintyOfTheScale(t *testing.T) {
	on := func(full string) result.PairLine {
		s, err := volts.Stated(full, "")
		if err != nil {
			t.Fatal(err)
		}
		return Compare("v1", Settings(mains.Options{}, s), pairOf(heard("q.wav", 49.97, 0), heard("n.wav", 49.99, 14))).Pairs[0].Lines[0]
	}
	a, b := on("2V ±0%"), on("2V ±0.5dB")
	if a.Delta != b.Delta || a.Near.LoDBFS != b.Near.LoDBFS || a.Near.HiDBFS != b.Near.HiDBFS || a.Near.Volts != b.Near.Volts {
		t.Errorf("%+v\n%+v", a, b)
	}
	const u = 0.5658 // 1.96·0.5/√3
	want := float64(a.Near.DBV) - math.Hypot(float64(a.Near.DBFS-a.Near.LoDBFS), u)
	if got := float64(b.Near.LoDBV); math.Abs(got-want) > 0.0002 {
		t.Errorf("lower end %.4f dBV, want %.4f", got, want)
	}
	// 0 dBV is 2.2185 dBu (see fft/capture).
	if d := float64(b.Near.HiDBu - b.Near.HiDBV); math.Abs(d-2.218487496) > 1e-8 {
		t.Errorf("dBu lies %.6f above dBV", d)
	}
	if r := float64(b.Pickup.HiVolts / a.Pickup.HiVolts); math.Abs(20*math.Log10(r)-u) > 0.0002 || b.Pickup.HiFS != a.Pickup.HiFS {
		t.Errorf("pickup's upper end rises by %.3f dB", 20*math.Log10(r))
	}
}
