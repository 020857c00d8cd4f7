package mains_test

import (
	"context"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
)

// One 60 s stereo capture at 96 kHz, 100 lines, from memory: what one core does.
func BenchmarkMeasure(b *testing.B) {
	comb := bench.Comb{Rate: 96000, Seconds: 60, Track: bench.Track{Hz: 49.98, WanderHz: 0.02, WanderSeconds: 20}, FloorDBFSHz: -150}
	for h := 1; h <= 100; h++ {
		comb.Lines = append(comb.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: -80 - 0.6*float64(h), Phase: float64(h)})
	}
	made := kit.Must(comb.Make())(b)
	src := capture.Samples(96000, made.Samples, made.Samples)
	kit.PerSample(b, 2*len(made.Samples), func() {
		kit.Must(mains.Measure(context.Background(), src, mains.Options{}))(b)
	})
}

// Two channels of 20 s at 48 kHz, 40 lines: the captures that sessions are made
// of, in which what a channel costs whatever its length counts most.
func BenchmarkMeasureShort(b *testing.B) {
	comb := bench.Comb{Rate: 48000, Seconds: 20, Track: bench.Track{Hz: 49.99, WanderHz: 0.02, WanderSeconds: 20}, FloorDBFSHz: -140}
	for h := 1; h <= 40; h++ {
		comb.Lines = append(comb.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: -88 - float64(h), Phase: float64(h)})
	}
	made := kit.Must(comb.Make())(b)
	src := capture.Samples(48000, made.Samples, made.Samples)
	kit.PerSample(b, 2*len(made.Samples), func() {
		kit.Must(mains.Measure(context.Background(), src, mains.Options{}))(b)
	})
}
