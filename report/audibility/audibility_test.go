package audibility

import (
	"math"
	"slices"
	"testing"

	"humdiff/report/quantity"
	"humdiff/report/result"
)

func within(got result.Num, want, tol float64) bool { return math.Abs(float64(got)-want) <= tol }

var exactly = quantity.Exactly

func speakers(n int, margin float64) result.Playback {
	return result.Playback{ProgrammeVolts: 2, GainDB: 0, Kind: result.KindLoudspeaker, SensitivityDB: 87, DistanceMetres: 1,
		Loudspeakers: n, MarginDB: margin}
}

// By the definition of the sensitivity: 2.83 V at 1 m is 87 dB SPL. 28.3 mV is
// 40 dB less, 4 m 12.04 dB less, 20 dB of gain 20 dB more, a second loudspeaker
// up to 6.02 dB more. At 1 kHz the threshold is 2.4 dB SPL (ISO 389-7) and the
// A-weighting 0 dB (IEC 61672-1).
func TestChain(t *testing.T) {
	p := speakers(2, 3)
	p.GainDB, p.DistanceMetres = 20, 4
	a := Assess(exactly(28.3e-3), []Line{{20, 1000, exactly(28.3e-3)}}, p)
	l := a.Lines[0]
	if !within(l.SPLDB.Lo, 87-40-12.0412+20, 1e-3) || !within(l.SPLDB.Hi, 87-40-12.0412+20+6.0206+3, 1e-3) {
		t.Errorf("SPL %v", l.SPLDB)
	}
	if !within(l.MarginDB.Lo, float64(l.SPLDB.Lo)-2.4, 1e-9) || !within(a.AWeightedDB.Lo, float64(l.SPLDB.Lo), 1e-3) || a.Verdict != result.AboveThreshold {
		t.Errorf("%+v", a)
	}
	if !within(a.BelowProgrammeDB.Lo, 36.985, 1e-3) { // 20·lg(2/0.0283)
		t.Errorf("below programme: %v", a.BelowProgrammeDB)
	}
}

// A headphone of 100 dB SPL at 1 V, no distance: 10 µV is 0 dB SPL.
func TestHeadphone(t *testing.T) {
	p := result.Playback{Kind: result.KindHeadphone, SensitivityDB: 100, GainDB: 0, Loudspeakers: 0}
	a := Assess(exactly(10e-6), []Line{{1, 50, exactly(10e-6)}}, p)
	if l := a.Lines[0]; !within(l.SPLDB.Lo, 0, 1e-9) || !within(l.MarginDB.Hi, -44, 1e-9) || a.Verdict != result.BelowThreshold { // 44.0 dB at 50 Hz, ISO 389-7
		t.Errorf("%+v", a)
	}
	if !within(a.AWeightedDB.Lo, -30.2716, 1e-3) { // A at 50 Hz, IEC 61672-1's formula, computed with NumPy
		t.Errorf("A-weighted: %v", a.AWeightedDB)
	}
}

// Critical bandwidths of Zwicker's table (Zwicker and Fastl, Psychoacoustics;
// from memory), which the formula fits within a tenth.
func TestCriticalBand(t *testing.T) {
	for hz, want := range map[float64]float64{50: 100, 250: 100, 450: 110, 1000: 160, 1600: 240, 2500: 380, 4000: 700, 4800: 900, 7000: 1300} {
		if got := CriticalBand(hz); math.Abs(got/want-1) > 0.1 {
			t.Errorf("%g Hz: %.0f Hz, want %g within a tenth", hz, got, want)
		}
	}
}

// Two lines as far above their thresholds in one band add 3 dB; in bands of
// their own they don't.
func TestLinesInOneBand(t *testing.T) {
	at := func(hz ...float64) result.Audibility {
		var lines []Line
		for i, f := range hz {
			lines = append(lines, Line{i + 1, f, exactly(1e-3)})
		}
		return Assess(exactly(1e-3), lines, speakers(1, 0))
	}
	alone := at(1000).Band
	if got := at(1000, 1000.001).Band; !within(got.MarginDB.Lo, float64(alone.MarginDB.Lo)+3.0103, 1e-3) || !slices.Equal(got.Harmonics, []int{1, 2}) {
		t.Errorf("together %v, alone %v", got, alone)
	}
	// A critical band at 90 Hz is 100 Hz wide (Zwicker's table): 60 and 120 Hz, 60 Hz
	// apart, lie in it, though neither lies within half of it of the other.
	if got := at(120, 60).Band; !slices.Equal(got.Harmonics, []int{2, 1}) || !within(got.MarginDB.Lo, 10*math.Log10(
		math.Pow(10, float64(at(60).Band.MarginDB.Lo)/10)+math.Pow(10, float64(at(120).Band.MarginDB.Lo)/10)), 1e-9) {
		t.Errorf("60 and 120 Hz: %+v", got)
	}
	if got := at(100, 220).Band; !slices.Equal(got.Harmonics, []int{2}) {
		t.Errorf("100 and 220 Hz, further apart than a band: %+v", got)
	}
	if got := at(1000, 300).Band; got.MarginDB != alone.MarginDB {
		t.Errorf("apart %v, alone %v", got, alone)
	}
}

// No verdict within 10 dB of the median threshold, none of silence where a line
// has no limit, and what wasn't found counts with its limit.
func TestVerdict(t *testing.T) {
	level := func(margin float64) float64 { return 2.83 * math.Pow(10, (margin+2.4-87)/20) } // at 1 kHz
	for _, c := range []struct {
		name   string
		volts  quantity.Range
		margin float64
		want   string
	}{
		{"9.9 dB above", exactly(level(9.9)), 0, result.NearThreshold},
		{"10.1 dB above", exactly(level(10.1)), 0, result.AboveThreshold},
		{"9.9 dB below", exactly(level(-9.9)), 0, result.NearThreshold},
		{"10.1 dB below", exactly(level(-10.1)), 0, result.BelowThreshold},
		{"10.1 dB below, and a margin for the room", exactly(level(-10.1)), 1, result.NearThreshold},
		{"a limit below", quantity.Range{Hi: level(-11)}, 0, result.BelowThreshold},
		{"a limit above", quantity.Range{Hi: level(30)}, 0, result.NearThreshold},
		{"an interval across", quantity.Range{Lo: level(-20), Hi: level(20)}, 0, result.NearThreshold},
		{"nothing known", quantity.Unknown, 0, result.NearThreshold},
	} {
		a := Assess(c.volts, []Line{{20, 1000, c.volts}}, speakers(1, c.margin))
		if a.Verdict != c.want {
			t.Errorf("%s: %s, want %s", c.name, a.Verdict, c.want)
		}
		if c.volts.Lo == 0 && (len(a.Lines) != 1 || a.Lines[0].SPLDB.Lo.Ok()) {
			t.Errorf("%s: a lower end from nowhere: %+v", c.name, a.Lines)
		}
	}
	if a := Assess(exactly(1e-9), []Line{{20, 1000, exactly(1e-9)}, {21, 1050, quantity.Unknown}}, speakers(1, 0)); a.Verdict != result.NearThreshold || !slices.Equal(a.Unjudged, []int{21}) {
		t.Errorf("a line without limit: %+v", a)
	}
	if a := Assess(quantity.Unknown, nil, speakers(1, 0)); a.Verdict != result.NearThreshold {
		t.Errorf("no lines: %s", a.Verdict)
	}
	if a := Assess(exactly(1), nil, result.Playback{ProgrammeVolts: 2, Kind: ""}); a.Verdict != result.NotPlayed || !within(a.BelowProgrammeDB.Hi, 6.0206, 1e-4) {
		t.Errorf("no chain: %+v", a)
	}
}
