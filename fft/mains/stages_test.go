package mains

import (
	"context"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
)

// What a minute at 48 kHz with 100 lines costs after its transforms, for each
// of its samples: the scan of every half bin and the noise of every block, the
// track, the lines' phasors, their floors, and the tones.
func BenchmarkStages(b *testing.B) {
	comb := bench.Comb{Rate: 48000, Seconds: 60, Track: bench.Track{Hz: 49.98, WanderHz: 0.02, WanderSeconds: 20}, FloorDBFSHz: -150}
	for h := 1; h <= 100; h++ {
		comb.Lines = append(comb.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: -80 - 0.6*float64(h), Phase: float64(h)})
	}
	made := kit.Must(comb.Make())(b)
	opt := Options{}.filled()
	src, samples := capture.Samples(48000, made.Samples), len(made.Samples)
	l := kit.Must(newLayout(src.Rate(), src.Frames(), opt))(b)
	all := kit.Must(observe(context.Background(), src, l, nil, opt))(b)
	o := &all[0]
	f, ok := search(o, l, opt)
	if !ok {
		b.Fatal("no mains")
	}
	m := newMeter(o, f)
	follow := follower{l: l, k: m.kernel, blocks: o.blocks, noise: m.blockNoise}
	track, ok := follow.follow(f.hz)
	if !ok {
		b.Fatal("no track")
	}
	bins := make([]complex128, l.kept)
	for j, x := range o.blocks[0] {
		bins[j] = complex128(x)
	}
	run := func(name string, do func()) {
		b.Run(name, func(b *testing.B) { kit.PerSample(b, samples, do) })
	}
	run("half bins", func() {
		var s scan
		for range o.blocks {
			s.add(m.kernel, bins)
		}
	})
	run("evenness", func() {
		e := newEvenness(l, nil)
		for range o.blocks {
			e.add(bins)
		}
	})
	run("search", func() { search(o, l, opt) })
	run("track", func() { follow.follow(f.hz) })
	var harmonics []int
	for h := range m.lines {
		harmonics = append(harmonics, h+1)
	}
	run("phasors", func() { follow.at(track, harmonics) })
	m.add(o.blocks)
	run("floor", func() {
		j := newJudge(o, l, opt, m, m.mains(), len(m.lines), nil)
		for h := 1; h <= len(m.lines); h++ {
			j.floor(h)
		}
	})
	run("lines", func() { newJudge(o, l, opt, m, m.mains(), len(m.lines), nil).lines(0) })
	run("tones", func() { findPeaks(o.full, l.window, f.hz, m.wander) })
}
