package assemble

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/report/result"
)

// Captures measured one by one, sent as JSON and held together later make the
// same pair as compare, which reads both: strong hum, hum that a tone hides on
// one side, lines of which one side has more, and mains found on one side alone.
func TestPairOfMeasuredIsThatOfCompare(t *testing.T) {
	record := func(name string, c bench.Comb) capture.Address {
		c.Rate, c.Seconds = rate, 30 // a tone takes that long to part from a line
		made, err := c.Make()
		if err != nil {
			t.Fatal(err)
		}
		return write(t, name, made.Samples)
	}
	at := func(f0, dbfs float64, seed int64, tones ...bench.ToneSpec) bench.Comb {
		lines := []bench.LineSpec{{Harmonic: 1, PowerDBFS: dbfs}, {Harmonic: 3, PowerDBFS: dbfs - 12}, {Harmonic: 20, PowerDBFS: dbfs - 15}}
		return bench.Comb{Track: bench.Steady(f0), FloorDBFSHz: -140, Seed: seed, Lines: lines, Tones: tones}
	}
	only20 := func(dbfs float64, seed int64, tones ...bench.ToneSpec) bench.Comb {
		c := at(50.03, dbfs, seed, tones...)
		c.Lines = []bench.LineSpec{{Harmonic: 1, PowerDBFS: dbfs}, {Harmonic: 20, PowerDBFS: dbfs}}
		return c
	}
	none := bench.Comb{Track: bench.Steady(50), FloorDBFSHz: -140, Seed: 9}
	for name, c := range map[string]struct {
		quiet, near bench.Comb
		around      float64 // of the quiet capture
	}{
		"both found":  {at(50.03, -100, 1), at(50.01, -80, 2), 0},
		"hidden":      {only20(-110, 1), only20(-100, 2, bench.ToneSpec{Hz: 1000, PowerDBFS: -70}), 0},
		"more lines":  {at(49.4, -100, 1), at(50.6, -90, 2), 0},
		"quiet alone": {none, at(50.05, -90, 2), 50.05},
	} {
		quiet, near := record("q.wav", c.quiet), record("n.wav", c.near)
		pairs := readPair(t, quiet, near)
		want := Compare("v1", onVolts, pairs)
		q, n := sent(t, quiet, pairs[0].Quiet.Mains), sent(t, near, mains.Mains{Detected: true})
		got := PairOf(onVolts, q, n)
		if d := cmp.Diff(want.Pairs[0], got, closeNum); d != "" {
			t.Errorf("%s: compare (-) and PairOf (+) differ:\n%s", name, d)
		}
		var codes []string
		for _, w := range PairWarnings(onVolts, q, n, got) {
			if !slices.Contains(want.Warnings, w) {
				t.Errorf("%s: compare doesn't say %q", name, w.Message)
			}
			codes = append(codes, w.Code)
		}
		if len(codes) == 0 {
			t.Errorf("%s: no warnings", name) // hum this close is always warned of
		}
		if name == "hidden" && !slices.Equal(got.Hum.LeftOut, []int{20}) {
			t.Errorf("left out %v", got.Hum.LeftOut)
		}
	}
}

// sent measures a capture by itself and sends it through JSON.
func sent(t *testing.T, a capture.Address, found mains.Mains) result.Capture {
	t.Helper()
	opt := mains.Options{}
	if !found.Detected {
		opt.Around = found.Hz
	}
	channels, err := Read(t.Context(), []capture.Address{a}, opt)
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(Measure("v1", onVolts, channels))
	if err != nil {
		t.Fatal(err)
	}
	var m result.Measure
	if err := json.Unmarshal(text, &m); err != nil {
		t.Fatal(err)
	}
	return m.Captures[0]
}

// closeNum takes numbers for equal that differ by the rounding of decibels.
var closeNum = cmp.Comparer(func(a, b result.Num) bool {
	return !a.Ok() && !b.Ok() || math.Abs(float64(a-b)) <= 1e-9*math.Max(1, math.Abs(float64(a)))
})
