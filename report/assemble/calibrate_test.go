package assemble

import (
	"context"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fixtures/bench"
)

// A tone of 1 V that reads -6 dBFS makes full scale 10^0.3 V.
func TestCalibrate(t *testing.T) {
	c := bench.Comb{Rate: rate, Seconds: 4, Track: bench.Steady(50), FloorDBFSHz: -130, Seed: 1,
		Tones: []bench.ToneSpec{{Hz: 997, PowerDBFS: -6}}}
	made, err := c.Make()
	if err != nil {
		t.Fatal(err)
	}
	addr := write(t, "tone.wav", made.Samples)
	s, err := Calibrate(context.Background(), addr, "1000mV")
	if err != nil {
		t.Fatal(err)
	}
	if off := 20 * math.Log10(s.Volts/math.Pow(10, 0.3)); !(math.Abs(off) < 0.02) {
		t.Errorf("full scale %g V, off by %.3f dB", s.Volts, off)
	}
	if want := "the 997.0 Hz tone of " + addr.Path + " is 1000mV"; s.Said != want {
		t.Errorf("said %q, want %q", s.Said, want)
	}
}

func TestCalibrateRefuses(t *testing.T) {
	noise := write(t, "noise.wav", hum(t, 50, noHum, 1))
	missing := capture.Address{Path: filepath.Join(t.TempDir(), "missing.wav")}
	for _, addr := range []capture.Address{noise, missing} {
		s, err := Calibrate(context.Background(), addr, "1V")
		if err == nil || !strings.HasPrefix(err.Error(), addr.Path+": ") || s != (capture.Scale{}) {
			t.Errorf("%s: got %+v, %v", addr, s, err)
		}
	}
	if _, err := Calibrate(context.Background(), noise, "1"); err == nil {
		t.Error("a voltage without a unit was taken")
	}
}
