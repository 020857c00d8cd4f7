package mains_test

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
)

func has(w []note.Note, code string) bool {
	for _, x := range w {
		if x.Code == code {
			return true
		}
	}
	return false
}

// A tone of a bus at 1 kHz on the 20th harmonic: told apart where the mains is
// off nominal, said where it isn't.
func TestToneOnLine(t *testing.T) {
	comb := bench.Comb{
		Rate: 12000, Seconds: 60, FloorDBFSHz: -140, RandomPhase: true, Seed: 5,
		Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -70}, {Harmonic: 3, PowerDBFS: -80}},
		Tones: []bench.ToneSpec{{Hz: 1000.04, PowerDBFS: -110}},
	}
	for _, c := range []struct {
		name    string
		hz      float64
		h20     float64 // dBFS; 0: none
		warning string
	}{
		{"only the tone, mains 20 mHz off", 49.98, 0, ""},
		{"hum as well", 49.98, -125, ""},
		{"mains on nominal", 50.001, 0, "bus_or_mains"},
		{"mains far off: two lines apart", 49.6, -125, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			comb := comb
			comb.Track = bench.Steady(c.hz)
			if c.h20 != 0 {
				comb.Lines = append([]bench.LineSpec{{Harmonic: 20, PowerDBFS: c.h20}}, comb.Lines...)
			}
			m, truth := measure(t, comb, mains.Options{})
			if has(m.Warnings, "bus_or_mains") != (c.warning != "") {
				t.Errorf("warnings %v, want %q", m.Warnings, c.warning)
			}
			l, want := m.Lines[19], truth.Line(20).Power
			t.Logf("line 20: %+v", l)
			switch {
			case c.warning == "bus_or_mains":
			case want == 0:
				if l.Detected {
					t.Errorf("line 20 found at %.1f dBFS where only the tone is", db(l.Power))
				}
			case !l.Detected || math.Abs(db(l.Power/want)) > 0.6:
				t.Errorf("line 20: %+v, want %.1f dBFS", l, db(want))
			}
			if c.warning != "bus_or_mains" {
				if len(m.Tones) != 1 || math.Abs(m.Tones[0].Hz-1000.04) > 0.1 || math.Abs(db(m.Tones[0].Power)+110) > 0.3 {
					t.Errorf("tones %+v, want 1000.04 Hz at -110 dBFS", m.Tones)
				}
			}
		})
	}
}

// A tone some hertz beside a line's place is no hum, with a track and without;
// a line beside it is still measured.
func TestToneBesideLine(t *testing.T) {
	for _, offset := range []float64{2, -2.5, 2.93, 3.5, -4.4, 5} {
		for _, track := range []bool{true, false} {
			comb := bench.Comb{
				Rate: 4000, Seconds: 30, Track: bench.Steady(49.97), FloorDBFSHz: -140, RandomPhase: true, Seed: int64(10 * offset),
				Tones: []bench.ToneSpec{{Hz: 5*49.97 + offset, PowerDBFS: -95}, {Hz: 9*49.97 + offset, PowerDBFS: -95}},
			}
			if track {
				comb.Lines = []bench.LineSpec{{Harmonic: 1, PowerDBFS: -80}, {Harmonic: 2, PowerDBFS: -100}, {Harmonic: 9, PowerDBFS: -110}}
			}
			m, truth := measure(t, comb, mains.Options{Around: 49.97})
			if m.Mains.Tracked != track {
				t.Errorf("%g Hz beside: tracked %v", offset, m.Mains.Tracked)
			}
			if l := m.Lines[4]; l.Detected {
				t.Errorf("%g Hz beside, track %v: line 5 found at %.1f dBFS (%s) where only a tone is", offset, track, db(l.Power), l.Method)
			}
			if l := m.Lines[8]; track && (!l.Detected || l.Lo > truth.Line(9).Power || l.Hi < truth.Line(9).Power) {
				t.Logf("%g Hz beside: line 9 %+v, want -110 dBFS", offset, l)
			}
		}
	}
}

// A loud tone on a line, or right beside one, makes no phantom, is no hum, and
// doesn't swamp the total of the others.
func TestLoudToneBesideHum(t *testing.T) {
	for _, hz := range []float64{1000, 1000.3, 997, 1003.1} {
		m, _ := measure(t, bench.Comb{
			Rate: 12000, Seconds: 60, Track: bench.Steady(50.01), FloorDBFSHz: -140, RandomPhase: true, Seed: 2,
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -90}, {Harmonic: 2, PowerDBFS: -100}, {Harmonic: 3, PowerDBFS: -105}},
			Tones: []bench.ToneSpec{{Hz: hz, PowerDBFS: -20}},
		}, mains.Options{})
		if l := m.Lines[19]; l.Detected {
			t.Errorf("tone of %g Hz: line 20 found at %.1f dBFS (%s)", hz, db(l.Power), l.Method)
		}
		if hz == 1000.3 && !slices.Equal(m.LeftOut, []int{20}) {
			t.Errorf("tone of %g Hz: lines %v left out", hz, m.LeftOut)
		}
		if len(m.Tones) != 1 || math.Abs(m.Tones[0].Hz-hz) > 0.2 || math.Abs(db(m.Tones[0].Power)+20) > 0.3 {
			t.Errorf("tone of %g Hz: listed %+v", hz, m.Tones)
		}
		want := math.Pow(10, -9) + math.Pow(10, -10) + math.Pow(10, -10.5)
		if !m.Hum.Detected || m.Hum.Lo > want || m.Hum.Hi < want || db(m.Hum.Hi/m.Hum.Lo) > 0.1 {
			t.Errorf("tone of %g Hz: hum total %+v (%.2f … %.2f dBFS), want %.2f; left out %v", hz, m.Hum, db(m.Hum.Lo), db(m.Hum.Hi), db(want), m.LeftOut)
		}
	}
}

// What the recorder or the file did to a capture is found by a measurement too,
// and passes for nothing on the bench.
func TestRecorderFaults(t *testing.T) {
	t.Parallel()
	none := func(*bench.Capture) {}
	loud := func(c *bench.Comb) { // with nothing beside hum that a gain would make much of
		c.DC, c.Tones = 0, nil
		for i := range c.Lines {
			c.Lines[i].PowerDBFS += 50
		}
	}
	// Noise that is cut off with the hum's tops swings with the hum, and tops that
	// differ from bottoms leave a mean.
	cutNoise := []string{"buzz", "bus_tones", "dc_offset"}
	// A hole is a break at either end, loud where there is an offset: seconds of
	// noise that differ.
	hole := []string{"noise_unsteady", "clicks", "low_bursts", "gain_moves"}
	for name, c := range map[string]condition{
		"clipped":             {"clipped", loud, func(c *bench.Capture) { c.Gain("gain", to(1.5, c)).Clip(1) }, cutNoise},
		"cut off before":      {"flat_tops", loud, func(c *bench.Capture) { c.Gain("gain", to(0.6, c)).Clip(0.5) }, cutNoise},
		"nearly full":         {"near_full_scale", loud, func(c *bench.Capture) { c.Gain("gain", to(0.98, c)) }, nil},
		"beyond full":         {"over_full_scale", loud, func(c *bench.Capture) { c.Gain("gain", to(1.2, c)) }, nil},
		"offset":              {"dc_offset", func(c *bench.Comb) { c.DC = 0.02 }, none, nil},
		"offset, negative":    {"dc_offset", func(c *bench.Comb) { c.DC = -0.02 }, none, nil},
		"nothing for a while": {"digital_zero", nil, func(c *bench.Capture) { c.Zero(7, 300) }, hole},
		"nothing at first":    {"digital_zero", nil, func(c *bench.Capture) { c.Zero(0, 300) }, hole},
		"stuck for a while":   {"stuck", nil, func(c *bench.Capture) { c.Stick(7, 300) }, hole},
		"a block twice":       {"repeated_block", nil, func(c *bench.Capture) { c.Repeat(7, 512) }, append(hole, "lines_low", "phase_jumps")},
		"a click":             {"clicks", nil, func(c *bench.Capture) { c.Click(7, 200*sd(c)) }, []string{"noise_unsteady"}},
		// (Codes are told apart where each comes often: a quiet signal, or a long one.)
		"turned down behind the converter": {"code_gaps", loud, func(c *bench.Capture) { c.Gain("gain", to(0.02, c)).Round(14, 0.7).Round(24, 1) },
			append(cutNoise, "few_codes", "floor_of_rounding", "undithered", "flat_tops")},
		"two seconds": {"short", func(c *bench.Comb) { c.Seconds = 2 }, none, nil},
	} {
		t.Run(name, c.find)
	}
}

// to is the gain that brings a capture's peak to a level.
func to(level float64, c *bench.Capture) func(float64) float64 {
	peak := max(slices.Max(c.Samples), -slices.Min(c.Samples))
	return func(float64) float64 { return level / peak }
}

// Of several channels each has its own faults: one that is another's copy is said
// to be, one that differs in the least isn't, and one that holds still is silent.
func TestFaultsOfChannels(t *testing.T) {
	t.Parallel()
	draw := func(seed uint64) []float64 {
		comb := benchComb(seed, 10)
		comb.Rate, comb.Bits = 8000, 24
		made := kit.Must(comb.Make())(t)
		return made.Samples
	}
	a, b := draw(1), draw(2)
	almost, still := slices.Clone(a), make([]float64, len(a))
	almost[40000] += 1.0 / (1 << 23)
	for i := range still {
		still[i] = 0.125
	}
	silence := make([]float64, len(a))
	ofSamples := conditions[:slices.Index(conditions, "noise_unsteady")]
	ms := kit.Must(mains.Measure(context.Background(), capture.Samples(8000, a, b, slices.Clone(a), almost, still, silence), mains.Options{}))(t)
	for i, want := range [][]string{nil, nil, {"channels_identical"}, nil, {"silent"}, {"silent"}} {
		var got []string
		for _, w := range ms[i].Warnings {
			if slices.Contains(ofSamples, w.Code) {
				got = append(got, w.Code)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("channel %d: %v, want %v", i+1, got, want)
		}
		if i >= 4 && (ms[i].Mains.Detected || ms[i].Hum.Detected) {
			t.Errorf("channel %d: hum where nothing was recorded", i+1)
		}
	}
	if same := ms[2].Health.SameAs; same != 1 {
		t.Errorf("channel 3 is the same as %d", same)
	}
}

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
			kit.Near(t, "f0", m.Mains.Hz, c.f0, 0.003)
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
