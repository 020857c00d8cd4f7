package verify

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/wavfile"
	"humdiff/report/assemble"
	"humdiff/report/result"
)

// The tones that a scale stands on are measured again; a forged voltage, drift
// or uncertainty shows, and so does a tone that was recorded anew.
func TestCalibrationsAreMeasuredAgain(t *testing.T) {
	dir := t.TempDir()
	quiet := filepath.Join(dir, "quiet.wav")
	record(t, quiet, -95, 1)
	var tones []capture.Tone
	for i, name := range []string{"before.wav", "after.wav"} {
		x := make([]float64, 4*8000)
		for k := range x {
			x[k] = (0.5 - 0.01*float64(i)) * math.Sin(2*math.Pi*55*float64(k)/8000)
		}
		path := filepath.Join(dir, name)
		if err := wavfile.Write(path, wavfile.Format{Rate: 8000, Bits: 24}, x); err != nil {
			t.Fatal(err)
		}
		tones = append(tones, capture.Tone{Address: capture.Address{Path: path}, Volts: capture.Stated{Value: 1, Within: 0.04, Said: "1V ±0.04dB"}})
	}
	scale, err := assemble.Calibrate(t.Context(), tones...)
	if err != nil {
		t.Fatal(err)
	}
	opt := mains.Options{Nominal: 50, UpTo: 300}
	channels, err := assemble.Read(t.Context(), []capture.Address{{Path: quiet}}, opt)
	if err != nil {
		t.Fatal(err)
	}
	made := func() result.Measure { return assemble.Measure("1", assemble.Settings(opt, scale), channels) }
	if v := verified(t, save(t, dir, "measure.json", made()), ""); v.Verdict != result.Stands || len(v.Captures) != 3 {
		t.Errorf("%s of %d captures: %+v", v.Verdict, len(v.Captures), v.Differences)
	}
	for where, forge := range map[string]func(*result.Scale){
		"settings.scales[0].calibrations[0].full_scale_volts": func(s *result.Scale) { s.Calibrations[0].Volts *= 1.001 },
		"settings.scales[0].drift_db":                         func(s *result.Scale) { s.DriftDB = 0 },
		"settings.scales[0].u95_db":                           func(s *result.Scale) { s.U95DB /= 2 },
		"settings.scales[0].parts":                            func(s *result.Scale) { s.Parts = s.Parts[:1] },
	} {
		r := made()
		r.Settings.Scales[0].Calibrations = append([]result.Calibration(nil), r.Settings.Scales[0].Calibrations...)
		forge(&r.Settings.Scales[0])
		v := verified(t, save(t, dir, "forged.json", r), "")
		found := false
		for _, d := range v.Differences {
			found = found || strings.HasPrefix(d.Where, where)
		}
		if v.Verdict == result.Stands || !found {
			t.Errorf("%s: %s, %+v", where, v.Verdict, v.Differences)
		}
	}
	if err := os.Remove(filepath.Join(dir, "after.wav")); err != nil {
		t.Fatal(err)
	}
	if v := verified(t, save(t, dir, "measure.json", made()), ""); v.LeftOut == 0 {
		t.Errorf("without a calibration: %s, nothing left out", v.Verdict)
	}
}
