package mains_test

import (
	"context"
	"math"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
)

// The longest stretch without a thump holds none, and all that lies between.
func TestCleanStretch(t *testing.T) {
	comb := bench.Comb{Rate: 8000, Seconds: 40, Track: bench.Steady(50.02), FloorDBFSHz: -120, Seed: 5,
		Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -70}, {Harmonic: 3, PowerDBFS: -80}}}
	made := kit.Must(comb.Make())(t)
	thumped := made.Thump(7, 0.01, 30, 0.2).Thump(31, 0.01, 30, 0.2)
	all := kit.Must(mains.Measure(context.Background(), capture.Samples(8000, thumped.Samples), mains.Options{}))(t)
	h := all[0].Health
	if h.Bursts != 2 {
		t.Fatalf("%d bursts", h.Bursts)
	}
	// A block that holds a thump reaches some two seconds before and after it.
	if c := h.Clean; !(c.Start > 7.2 && c.Start < 11 && c.End > 27 && c.End < 31) {
		t.Errorf("clean from %.1f to %.1f s, thumps at 7 and 31 s", c.Start, c.End)
	}
	again := kit.Must(mains.Measure(context.Background(), capture.Samples(8000, thumped.Samples[int(h.Clean.Start*8000):int(h.Clean.End*8000)]), mains.Options{}))(t)
	kit.Same(t, again[0].Health.Bursts, 0, "bursts in the stretch without")
}

// Lost samples take part of a cycle out of the mains' advance. f0's interval has it.
func TestHzOverLostSamples(t *testing.T) {
	t.Parallel()
	held, told := 0, 0
	for seed := range int64(20) {
		comb := bench.Comb{Rate: 8000, Seconds: 40, Track: bench.Track{Hz: 50.02, WanderHz: 0.005, WanderSeconds: 20}, FloorDBFSHz: -120, RandomPhase: true, Seed: seed,
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -60}, {Harmonic: 3, PowerDBFS: -70}}}
		made := kit.Must(comb.Make())(t)
		f0 := made.Truth.F0
		m := measureSamples(t, 8000, made.Lose(20.3, 25+int(seed)).Samples, mains.Options{})
		if len(m.Health.Jumps) == 0 {
			continue
		}
		told++
		if math.Abs(m.Mains.Hz-f0) <= m.Mains.U95 {
			held++
		}
	}
	if told < 15 || held < told-2 {
		t.Errorf("jumps told in %d of 20, f0's interval holds in %d of them", told, held)
	}
}
