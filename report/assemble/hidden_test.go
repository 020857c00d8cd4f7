package assemble

import (
	"context"
	"math"
	"slices"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/wavfile"
	"humdiff/report/result"
)

// A bus's tone on line 20 of one side alone leaves that line out of both
// totals, and the totals compare.
func TestLineHiddenOnOneSide(t *testing.T) {
	write := func(name string, dbfs float64, tones ...bench.ToneSpec) capture.Address {
		c, err := bench.Comb{Rate: 8000, Seconds: 30, Track: bench.Steady(50.03), FloorDBFSHz: -140, Seed: int64(dbfs), Tones: tones,
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: dbfs}, {Harmonic: 20, PowerDBFS: dbfs}}}.Make()
		if err != nil {
			t.Fatal(err)
		}
		path := t.TempDir() + "/" + name
		if err := wavfile.Write(path, wavfile.Format{Rate: 8000, Bits: 24}, c.Samples); err != nil {
			t.Fatal(err)
		}
		return capture.Address{Path: path, End: math.Inf(1)}
	}
	quiet, near := write("quiet.wav", -110), write("near.wav", -100, bench.ToneSpec{Hz: 1000, PowerDBFS: -70})
	pairs, err := ReadPair(context.Background(), quiet, near, mains.Options{})
	if err != nil {
		t.Fatal(err)
	}
	h := Compare("test", Settings(mains.Options{}), pairs).Pairs[0].Hum
	if !slices.Equal(h.LeftOut, []int{20}) {
		t.Errorf("left out %v, want line 20", h.LeftOut)
	}
	if h.Delta.State != result.Measured || math.Abs(float64(h.Delta.DB)-10) > 0.2 {
		t.Errorf("hum delta %+v, want 10 dB", h.Delta)
	}
}
