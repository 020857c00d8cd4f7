package judge_test

import (
	"math"
	"slices"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/fixtures/kit"
	"humdiff/report/judge"
	"humdiff/report/model"
)

func exactly(v float64) model.Estimate { return estimate.Of(v, v, v) }

func speakers(n int, margin float64) model.Playback {
	return model.Playback{ProgrammeVolts: 2, GainDB: 0, Kind: model.KindLoudspeaker, SensitivityDB: 87, DistanceMetres: 1, Loudspeakers: n, MarginDB: margin}
}

// By the definition of the sensitivity: 2.83 V at 1 m is 87 dB SPL. 28.3 mV is 40 dB
// less, 4 m 12.04 dB less, 20 dB of gain 20 dB more, a second loudspeaker up to 6.02 dB
// more. At 1 kHz the threshold is 2.4 dB SPL (ISO 389-7) and the A-weighting 0 dB (IEC
// 61672-1).
func TestChain(t *testing.T) {
	p := speakers(2, 3)
	p.GainDB, p.DistanceMetres = 20, 4
	a := judge.Audible(exactly(28.3e-3), []judge.HumLine{{Harmonic: 20, Hz: 1000, Volts: exactly(28.3e-3)}}, p)
	l := a.Lines[0]
	kit.Near(t, "SPL, least", lo(l.SPLDB), 87-40-12.0412+20, 1e-3)
	kit.Near(t, "SPL, most", hi(l.SPLDB), 87-40-12.0412+20+6.0206+3, 1e-3)
	kit.Near(t, "margin", lo(l.MarginDB), lo(l.SPLDB)-2.4, 1e-3)
	kit.Near(t, "A-weighted", lo(a.AWeightedDB), lo(l.SPLDB), 1e-3)
	kit.Near(t, "below programme", lo(a.BelowProgrammeDB), 36.985, 1e-3) // 20·lg(2/0.0283)
	kit.Same(t, a.Verdict, model.AboveThreshold, "a.Verdict")
}

// A headphone of 100 dB SPL at 1 V, no distance: 10 µV is 0 dB SPL, 44.0 dB below the
// threshold at 50 Hz (ISO 389-7); A is −30.27 dB there (IEC 61672-1's formula, computed
// with NumPy).
func TestHeadphone(t *testing.T) {
	a := judge.Audible(exactly(10e-6), []judge.HumLine{{Harmonic: 1, Hz: 50, Volts: exactly(10e-6)}}, model.Playback{Kind: model.KindHeadphone, SensitivityDB: 100})
	kit.Near(t, "SPL", lo(a.Lines[0].SPLDB), 0, 1e-4)
	kit.Near(t, "margin", hi(a.Lines[0].MarginDB), -44, 1e-4)
	kit.Near(t, "A-weighted", lo(a.AWeightedDB), -30.2716, 1e-3)
	kit.Same(t, a.Verdict, model.BelowThreshold, "a.Verdict")
}

// Thresholds between the standard's frequencies, computed with NumPy from the table by
// interpolation in log f.
func TestThreshold(t *testing.T) {
	for hz, want := range map[float64]float64{60: 38.87, 120: 22.90, 150: 19.00, 180: 16.05, 20: 78.1, 12500: 12.3} {
		a := judge.Audible(exactly(1e-3), []judge.HumLine{{Harmonic: 1, Hz: hz, Volts: exactly(1e-3)}}, speakers(1, 0))
		kit.Near(t, "threshold", float64(a.Lines[0].ThresholdDB), want, 0.006)
	}
	for _, hz := range []float64{0, 19.9, 12600, math.NaN(), -50} {
		if a := judge.Audible(exactly(1e-3), []judge.HumLine{{Harmonic: 1, Hz: hz, Volts: exactly(1e-3)}}, speakers(1, 0)); len(a.Unjudged) != 1 {
			t.Errorf("%g Hz has a threshold: %+v", hz, a.Lines)
		}
	}
}

// Two lines as far above their thresholds in one band add 3 dB; in bands of their own
// they don't. A critical band at 90 Hz is 100 Hz wide (Zwicker's table): 60 and 120 Hz
// lie in it, though neither lies within half of it of the other.
func TestLinesInOneBand(t *testing.T) {
	at := func(hz ...float64) model.AudibleBand {
		var lines []judge.HumLine
		for i, f := range hz {
			lines = append(lines, judge.HumLine{Harmonic: i + 1, Hz: f, Volts: exactly(1e-3)})
		}
		return judge.Audible(exactly(1e-3), lines, speakers(1, 0)).Band
	}
	alone := lo(at(1000).MarginDB)
	if got := at(1000, 1000.001); math.Abs(lo(got.MarginDB)-alone-3.0103) > 1e-3 || !slices.Equal(got.Harmonics, []int{1, 2}) {
		t.Errorf("together %v, alone %g", got, alone)
	}
	if got := at(120, 60); !slices.Equal(got.Harmonics, []int{2, 1}) {
		t.Errorf("60 and 120 Hz: %+v", got)
	}
	if got := at(100, 220); !slices.Equal(got.Harmonics, []int{2}) {
		t.Errorf("100 and 220 Hz, further apart than a band: %+v", got)
	}
	if got := at(1000, 300); lo(got.MarginDB) != alone {
		t.Errorf("apart %v, alone %g", got, alone)
	}
}

// No verdict within 10 dB of the median threshold, none of silence where a line has no
// limit, and what wasn't found counts with its limit.
func TestAudible(t *testing.T) {
	level := func(margin float64) float64 { return 2.83 * math.Pow(10, (margin+2.4-87)/20) } // at 1 kHz
	for _, c := range []struct {
		name   string
		volts  model.Estimate
		margin float64
		want   string
	}{
		{"9.9 dB above", exactly(level(9.9)), 0, model.NearThreshold},
		{"10.1 dB above", exactly(level(10.1)), 0, model.AboveThreshold},
		{"9.9 dB below", exactly(level(-9.9)), 0, model.NearThreshold},
		{"10.1 dB below", exactly(level(-10.1)), 0, model.BelowThreshold},
		{"10.1 dB below, and a margin for the room", exactly(level(-10.1)), 1, model.NearThreshold},
		{"a limit below", estimate.Below(level(-11)), 0, model.BelowThreshold},
		{"a limit above", estimate.Below(level(30)), 0, model.NearThreshold},
		{"an interval across", estimate.Between(level(-20), level(20)), 0, model.NearThreshold},
		{"nothing known", estimate.None(""), 0, model.NearThreshold},
	} {
		a := judge.Audible(c.volts, []judge.HumLine{{Harmonic: 20, Hz: 1000, Volts: c.volts}}, speakers(1, c.margin))
		kit.Same(t, a.Verdict, c.want, "%s", c.name)
		if c.volts.State() == estimate.AtMost && has(a.Lines[0].SPLDB.Lower()) {
			t.Errorf("%s: a lower end from nowhere: %+v", c.name, a.Lines)
		}
	}
	a := judge.Audible(exactly(1e-9), []judge.HumLine{{Harmonic: 20, Hz: 1000, Volts: exactly(1e-9)}, {Harmonic: 21, Hz: 1050}}, speakers(1, 0))
	if a.Verdict != model.NearThreshold || !slices.Equal(a.Unjudged, []int{21}) {
		t.Errorf("a line without limit: %+v", a)
	}
	if a := judge.Audible(exactly(1), nil, model.Playback{ProgrammeVolts: 2}); a.Verdict != model.NotPlayed || math.Abs(hi(a.BelowProgrammeDB)-6.0206) > 1e-4 {
		t.Errorf("no chain: %+v", a)
	}
}

// A session's cables are judged by the near run with the most hum of each; without volts
// nothing is.
func TestAudibleOfSession(t *testing.T) {
	play := func(in *model.Session) { in.Playback = new(model.Playback); *in.Playback = speakers(1, 0) }
	s := judged(simple(), play)
	if len(s.Audible) != 3 {
		t.Fatalf("%d judged", len(s.Audible))
	}
	for _, a := range s.Audible {
		for _, r := range s.Runs {
			if r.Cable == a.Cable && r.Condition == model.Near && value(r.Capture.Hum.Level) > value(s.Runs[a.Run-1].Capture.Hum.Level) {
				t.Errorf("%s: judged by run %d, run %d has more hum", a.Cable, a.Run, r.Number)
			}
		}
	}
	without := judged(simple(), func(in *model.Session) { play(in); in.Settings.FullScaleVolts = model.None })
	for _, a := range without.Audible {
		if a.Audibility.HumVolts.Known() || a.Audibility.Verdict != model.NearThreshold {
			t.Errorf("no volts: %+v", a.Audibility)
		}
	}
}
