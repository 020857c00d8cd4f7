package health

import (
	"math"
	"math/rand/v2"
	"testing"
)

// BenchmarkAdd gives the cost of all accumulators a sample, for a fine capture,
// one clipped on every cycle and one that hardly moves.
func BenchmarkAdd(b *testing.B) {
	for name, of := range map[string]struct{ hum, noise, bits float64 }{
		"fine": {1e-3, 1e-5, 24}, "loud": {2, 1e-4, 24}, "coarse": {1e-4, 1e-5, 16}, "dithered": {0, 2e-5, 16},
	} {
		x := make([]float64, 1<<20)
		r := rand.New(rand.NewPCG(1, 1))
		scale := math.Exp2(of.bits - 1)
		for i := range x {
			v := of.hum*math.Sin(2*math.Pi*50.01*float64(i)/96000) + of.noise*r.NormFloat64()
			x[i] = math.Round(max(-1, min(1-1/scale, v))*scale) / scale
		}
		b.Run(name, func(b *testing.B) {
			m := NewMeters(1, 96000)
			for n := 0; n < b.N; n++ {
				for i := 0; i < len(x); i += 8192 {
					m.Add([][]float64{x[i : i+8192]})
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(x)), "ns/sample")
		})
	}
}
