package mains_test

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/kit"
)

// recordings is where the real mains recordings lie beside a checkout: the
// mains voltage itself, ENF-WHU dataset, folder H1_ref (G. Hua et al., IEEE
// Trans. Information Forensics and Security, 2021).
const recordings = "../../../shared/data/mains-recordings"

// The values of the data's README: mean f0 from 10 s Hann blocks, levels from
// 10.24 s Blackman–Harris blocks, computed with NumPy and SciPy.
func TestRealRecordings(t *testing.T) {
	if _, err := os.Stat(recordings); err != nil {
		t.Skip("the real mains recordings are not here")
	}
	for _, c := range []struct {
		file         string
		f0, min, max float64
		h1, h2, h3   float64 // dBFS
	}{
		{"001_ref.wav", 50.0095, 49.974, 50.039, -5.8, -63.2, -37.3},
		{"010_ref.wav", 50.0113, 49.974, 50.037, -5.7, -65.7, -35.3},
		{"050_ref.wav", 50.0054, 49.967, 50.034, -25.3, -99.1, -58.8},
		{"100_ref.wav", 49.9842, 49.964, 50.030, -25.1, -96.9, -59.1},
	} {
		t.Run(c.file, func(t *testing.T) {
			src := kit.Must(capture.Open(capture.Address{Path: filepath.Join(recordings, c.file), End: math.Inf(1)}))(t)
			ms := kit.Must(mains.Measure(context.Background(), src, mains.Options{}))(t)
			m := ms[0]
			if !m.Mains.Tracked || m.Mains.Nominal != 50 {
				t.Fatalf("mains %+v", m.Mains)
			}
			if d := m.Mains.Hz - c.f0; math.Abs(d) > 0.003 {
				t.Errorf("f0 = %.4f Hz, want %.4f", m.Mains.Hz, c.f0)
			}
			t.Logf("f0 %.5f ± %.2g, %.3f .. %.3f", m.Mains.Hz, m.Mains.U95, m.Mains.Min, m.Mains.Max)
			for h, want := range []float64{c.h1, c.h2, c.h3} {
				tolerance := 0.2
				if h == 1 {
					tolerance = 1.5
				}
				l := m.Lines[h]
				got := 10 * math.Log10(l.Power)
				t.Logf("h%d %.2f dBFS (README %.1f) floor %.1f method %s steadiness %.4f unsteady %v", h+1, got, want, 10*math.Log10(l.Floor), l.Method, l.Steadiness, l.Unsteady)
				if !l.Detected || math.Abs(got-want) > tolerance {
					t.Errorf("h%d = %.2f dBFS, want %.1f ± %.1f", h+1, got, want, tolerance)
				}
			}
		})
	}
}

// Every half minute of every recording is a 50 Hz mains, without a doubt, and breathes.
func TestRealWindows(t *testing.T) {
	files, _ := filepath.Glob(filepath.Join(recordings, "*.wav"))
	if len(files) == 0 {
		t.Skip("the real mains recordings are not here")
	}
	windows, breathing := 0, 0
	for _, file := range files {
		for start := 0.0; ; start += 30 {
			src, err := capture.Open(capture.Address{Path: file, Start: start, End: start + 30})
			if err != nil {
				break // beyond its end
			}
			ms, err := mains.Measure(context.Background(), src, mains.Options{})
			if err != nil {
				break
			}
			if m := ms[0].Mains; m.Nominal != 50 || math.Abs(m.Hz-50) > 0.06 || len(m.Doubt) > 0 {
				t.Errorf("%s from %g s: %+v", filepath.Base(file), start, m)
			}
			windows++
			if ms[0].Mains.BreathHz > 3e-4 {
				breathing++
			}
		}
	}
	t.Logf("%d windows, %d of them seen to breathe", windows, breathing)
	if windows < 120 || breathing < windows/2 {
		t.Errorf("%d windows, %d of them seen to breathe", windows, breathing)
	}
}
