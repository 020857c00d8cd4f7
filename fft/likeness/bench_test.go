package likeness

import (
	"math/rand/v2"
	"testing"
)

// What a pass costs a sample: the marks of 60 s at 96 kHz, two channels.
func BenchmarkPass(b *testing.B) {
	const rate, chunk = 96000, 8192
	r := rand.New(rand.NewPCG(1, 2))
	frames := make([][]float64, 2)
	for c := range frames {
		frames[c] = make([]float64, chunk)
		for i := range frames[c] {
			frames[c][i] = float64(int(1000*r.NormFloat64())) * 0x1p-23
		}
	}
	samples := 0
	for b.Loop() {
		p := NewPass(rate, 60*rate, 2)
		for range 60 * rate / chunk {
			p.Push(frames)
			samples += 2 * chunk
		}
		p.Marks()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(samples), "ns/sample")
}

func BenchmarkDigest(b *testing.B) {
	x := make([]float64, 8192)
	d := newDigest()
	for b.Loop() {
		d.push(x)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*8192), "ns/sample")
}
