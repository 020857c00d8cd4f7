package mains_test

import (
	"math"
	"testing"

	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/fixtures/bench"
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
		{"only the tone, mains 20 mHz off", 49.98, 0, "tone_on_line"},
		{"hum as well", 49.98, -125, "tone_on_line"},
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
			for _, code := range []string{"tone_on_line", "bus_or_mains"} {
				if has(m.Warnings, code) != (code == c.warning) {
					t.Errorf("warnings %v, want %q", m.Warnings, c.warning)
				}
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
		if said := has(m.Warnings, "lines_hidden"); said != (len(m.LeftOut) > 0) || hz == 1000.3 && !said {
			t.Errorf("tone of %g Hz: lines %v left out, and that is said: %v", hz, m.LeftOut, said)
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
