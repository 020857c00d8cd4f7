package measure

import (
	"context"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/report/model"
	"humdiff/report/unit"
)

// toneOf writes four seconds of tones and says the voltage of the strongest.
func toneOf(t *testing.T, name, said string, tones ...bench.ToneSpec) unit.Tone {
	t.Helper()
	made := kit.Must(bench.Comb{Rate: rate, Seconds: 4, Track: bench.Steady(50), FloorDBFSHz: -130, Seed: 1, Tones: tones}.Make())(t)
	return saying(t, write(t, name, made.Samples), said)
}

func saying(t *testing.T, addr capture.Address, said string) unit.Tone {
	t.Helper()
	tone := kit.Must(unit.ParseTone(addr.Path + "=" + said))(t)
	return tone
}

// A tone of 1 V that reads -6 dBFS makes full scale 10^0.3 V; limits of ±0.5 %
// are 0.0435 dB, their standard uncertainty 0.0251 dB, and 1.96 of that 0.0493.
func TestCalibrate(t *testing.T) {
	tone := toneOf(t, "tone.wav", "1000mV ±0.5%", bench.ToneSpec{Hz: 55, PowerDBFS: -6})
	s := kit.Must(Calibrate(context.Background(), Options{}, tone))(t)
	r := s.State(model.ForAll)
	kit.Near(t, "full scale, dB", 20*math.Log10(float64(r.FullScaleVolts)/math.Pow(10, 0.3)), 0, 0.003)
	kit.Near(t, "U95", float64(r.U95DB), 0.0493, 0.001)
	if want := "the 55.0 Hz tone of " + filepath.Base(tone.Path) + " is 1000mV ±0.5%"; r.Said != want || !r.Complete {
		t.Errorf("said %q, want %q", r.Said, want)
	}
	// All that is needed to do it again.
	c := r.Calibrations[0]
	level, _ := c.Level.Value()
	if len(c.SHA256) != 64 || c.File != tone.Path || c.Channel != 1 || c.EndS != 4 || c.Volts != 1 || c.Blocks < 2 ||
		math.Abs(float64(c.Hz)-55) > 0.001 || math.Abs(level+6) > 0.003 {
		t.Errorf("%+v", c)
	}
}

// Before and after differ by 0.4 dB: the scale is their middle, and anywhere
// between is as likely: 0.2/√3 = 0.1155 dB, times 1.96 is 0.2263 dB.
func TestCalibrateBeforeAndAfter(t *testing.T) {
	s, err := Calibrate(context.Background(), Options{},
		toneOf(t, "before.wav", "1V ±0%", bench.ToneSpec{Hz: 997, PowerDBFS: -6}),
		toneOf(t, "after.wav", "1V ±0%", bench.ToneSpec{Hz: 997, PowerDBFS: -6.4}))
	kit.OK(t, err)
	r := s.State(model.ForAll)
	kit.Near(t, "full scale, dBV", 20*math.Log10(float64(r.FullScaleVolts)), 6.2, 0.003)
	kit.Near(t, "drift", float64(r.DriftDB), 0.4, 0.003)
	kit.Near(t, "U95", float64(r.U95DB), 0.2263, 0.002)
	if len(r.Calibrations) != 2 || !strings.Contains(r.Said, "before.wav") || !strings.Contains(r.Said, "after.wav") {
		t.Errorf("%+v", r)
	}
}

// What would mislead is refused, and says by how much and what to do.
func TestCalibrateRefuses(t *testing.T) {
	two := toneOf(t, "two.wav", "1V", bench.ToneSpec{Hz: 997, PowerDBFS: -6}, bench.ToneSpec{Hz: 1500, PowerDBFS: -20})
	late, clipped := make([]float64, 4*rate), make([]float64, 4*rate)
	for i := range late {
		late[i] = 0.5 * math.Sin(float64(i)*0.13)
		clipped[i] = max(-1, min(1, 1.5*math.Sin(float64(i)*0.13)))
	}
	clear(late[:rate])
	for _, c := range []struct {
		tone       unit.Tone
		want, hint string
	}{
		{saying(t, write(t, "noise.wav", hum(t, 50, noHum, 1)), "1V"), "no tone", ""},
		{saying(t, write(t, "silence.wav", make([]float64, 4*rate)), "1V"), "no tone", ""},
		{saying(t, capture.Address{Path: filepath.Join(t.TempDir(), "missing.wav")}, "1V"), "", ""},
		// 14 dB below: 10·lg(1 + 10^−1.4) = 0.170 dB.
		{two, "reads 0.170 dB more", "at 997Hz"},
		{saying(t, write(t, "late.wav", late), "1V"), "lies -", "#t="},
		{saying(t, write(t, "clipped.wav", clipped), "1V"), "clipped, which takes 2.15", "lower level"},
	} {
		s, err := Calibrate(context.Background(), Options{}, c.tone)
		if err == nil || !strings.HasPrefix(err.Error(), c.tone.Path+": ") || !strings.Contains(err.Error(), c.want) || s.Known() {
			t.Errorf("%s: got %+v, %v", c.tone.Path, s, err)
		}
		kit.Has(t, c.tone.Path, fault.Hint(err), c.hint)
	}
	two.Hz = 1000 // named, the tone is taken
	if s, err := Calibrate(context.Background(), Options{}, two); err != nil || s.State("").Calibrations[0].GivenHz != 1000 {
		t.Errorf("%v", err)
	}
}
