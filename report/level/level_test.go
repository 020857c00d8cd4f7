package level

import (
	"encoding/json"
	"math"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/report/result"
)

func dB(power float64) float64 { return 10 * math.Log10(power) }

// measured is a simulated capture as its result states it, as far as totals go.
func measured(t *testing.T, c bench.Comb, opt mains.Options) (mains.Measurement, result.Capture) {
	t.Helper()
	c.Rate, c.Seconds = 8000, 20
	made, err := c.Make()
	if err != nil {
		t.Fatal(err)
	}
	all, err := mains.Measure(t.Context(), capture.Samples(8000, made.Samples), opt)
	if err != nil {
		t.Fatal(err)
	}
	m := all[0]
	r := result.Capture{Hum: side(m.Hum), FinestDBFS: result.DB(m.Finest)}
	for _, l := range m.Lines {
		s := l.Share
		r.Lines = append(r.Lines, result.CaptureLine{Harmonic: l.Harmonic, Hz: result.Of(l.Hz), Line: result.Line{
			State: side(l.Level).State, DBFS: result.DB(l.Power), LoDBFS: result.DB(l.Lo), HiDBFS: result.DB(l.Hi), LimitDBFS: result.DB(l.Limit),
			Method: l.Method, Hidden: l.Hidden,
			Share: result.Share{Excess: result.Of(s.Excess), Noise: result.Of(s.Noise), Variance: result.Of(s.Variance), Model: result.Of(s.Model)},
		}})
	}
	text, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	r = result.Capture{}
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	return m, r
}

func side(l mains.Level) result.HumSide {
	h := result.HumSide{State: result.Undetected, DBFS: result.DB(l.Power), LoDBFS: result.DB(l.Lo), HiDBFS: result.DB(l.Hi), LimitDBFS: result.DB(l.Limit)}
	if l.Detected {
		h.State = result.Detected
	}
	return h
}

var hum = bench.Comb{Track: bench.Steady(50.03), FloorDBFSHz: -140, Seed: 3, Lines: []bench.LineSpec{
	{Harmonic: 1, PowerDBFS: -80}, {Harmonic: 2, PowerDBFS: -100}, {Harmonic: 20, PowerDBFS: -90}}}

func same(t *testing.T, what string, got, want mains.Level) {
	t.Helper()
	near := func(a, b float64) bool { return math.IsNaN(a) && math.IsNaN(b) || math.Abs(a-b) <= 1e-9*math.Abs(b) }
	if got.Detected != want.Detected || !near(got.Power, want.Power) || !near(got.Lo, want.Lo) || !near(got.Hi, want.Hi) || !near(got.Limit, want.Limit) {
		t.Errorf("%s: got %+v, want %+v", what, got, want)
	}
}

// A total made of a result is that of the measurement.
func TestTotalOfAResult(t *testing.T) {
	m, r := measured(t, hum, mains.Options{})
	for name, set := range map[string]mains.Set{
		"all": {}, "first two": {Lines: 2}, "without 20": {Without: []int{20}}, "A-weighted": AWeighted(mains.Set{}),
	} {
		same(t, name, Total(r, set), m.Total(set))
	}
	same(t, "all", m.Total(mains.Set{}), m.Hum)
}

// Sums of what is known: -80, -100 and -90 dBFS; A-weighted the 1000.6 Hz line
// counts 0.00 dB and the 50.03 Hz line -30.26 dB (table 3 of IEC 61672-1:2013 has
// -30.2 at 50.1 Hz), the 100.06 Hz line -19.13 dB. Noise scatters levels this high by
// at most 0.02 dB.
func TestTotalsHoldTheTruth(t *testing.T) {
	_, r := measured(t, hum, mains.Options{})
	sum := func(levels ...float64) (power float64) {
		for _, l := range levels {
			power += math.Pow(10, l/10)
		}
		return power
	}
	for _, c := range []struct {
		name string
		set  mains.Set
		want float64
	}{
		{"all", mains.Set{}, sum(-80, -100, -90)},
		{"first two", mains.Set{Lines: 2}, sum(-80, -100)},
		{"without the first", mains.Set{Without: []int{1}}, sum(-100, -90)},
		{"A-weighted", AWeighted(mains.Set{}), sum(-80-30.26, -100-19.13, -90)},
	} {
		got := Total(r, c.set)
		if !got.Detected || math.Abs(dB(got.Power/c.want)) > 0.06 || got.Lo > c.want || got.Hi < c.want {
			t.Errorf("%s: %.3f (%.3f … %.3f) dBFS, want %.3f", c.name, dB(got.Power), dB(got.Lo), dB(got.Hi), dB(c.want))
		}
	}
}

// Of lines that aren't there the limit holds, over part of them too, with a
// track and without; and none is given of no lines.
func TestLimitsOfWhatIsNotThere(t *testing.T) {
	alone := hum
	alone.Lines = alone.Lines[:1]
	_, tracked := measured(t, alone, mains.Options{})
	none := hum
	none.Lines = nil
	_, sought := measured(t, none, mains.Options{Around: 50.03})
	for name, c := range map[string]struct {
		capture result.Capture
		set     mains.Set
		below   float64 // dBFS
	}{
		"tracked":      {tracked, mains.Set{Without: []int{1}}, -133},
		"tracked, few": {tracked, mains.Set{Lines: 9, Without: []int{1, 2}}, -133},
		"sought":       {sought, mains.Set{}, -127},
		"sought, part": {sought, mains.Set{Without: []int{1, 2, 3}}, -127},
		"sought, A":    {sought, AWeighted(mains.Set{}), -126},
	} {
		got := Total(c.capture, c.set)
		// On a track a line's own noise is -140 dBFS/Hz in 20 s, -153 dBFS, and so
		// of 78 lines at most -133. Without one it is that of blocks, some 1.4 Hz wide:
		// -119.6 dBFS of 78 lines, its scatter over 28 averages -136; the limit takes two of
		// them, and the largest of many places four more.
		if got.Detected || !(dB(got.Limit) > -160 && dB(got.Limit) < c.below) {
			t.Errorf("%s: %+v, limit %.1f dBFS", name, got, dB(got.Limit))
		}
	}
	whole, part := Total(sought, mains.Set{}), Total(sought, mains.Set{Without: []int{7}})
	if part.Limit != whole.Limit {
		t.Errorf("a part sought without a track has the limit %g, the whole %g", part.Limit, whole.Limit)
	}
	if got := Total(tracked, mains.Set{Lines: 1, Without: []int{1}}); got.Detected || !math.IsNaN(got.Limit) {
		t.Errorf("no line at all: %+v", got)
	}
}

func TestCommon(t *testing.T) {
	three := result.Capture{Lines: []result.CaptureLine{{Harmonic: 1}, {Harmonic: 2}, {Harmonic: 3, Line: result.Line{Hidden: true}}}}
	two := result.Capture{Lines: []result.CaptureLine{{Harmonic: 1}, {Harmonic: 2, Line: result.Line{Hidden: true}}}}
	if set, ok := Common(three, two); !ok || set.Lines != 2 || len(set.Without) != 1 || set.Without[0] != 2 {
		t.Errorf("%+v, %v", set, ok)
	}
	if _, ok := Common(three, result.Capture{}); ok {
		t.Error("lines in common with a capture that has none")
	}
}
