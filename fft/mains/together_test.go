package mains_test

import (
	"context"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fft/transfer"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/trials"
)

// ratios measures two channels and gives the second's ratio to the first by harmonic − 1; nil
// where there is none.
func ratios(t *testing.T, rate int, reference, cable []float64) []*transfer.Ratio {
	t.Helper()
	src := capture.Samples(rate, reference, cable)
	of := kit.Must(mains.Measure(context.Background(), src, mains.Options{}))(t)
	together := kit.Must(mains.MeasureTogether(context.Background(), src, of, mains.Options{}))(t)
	x, y := together.Of[0], together.Of[1]
	all := make([]*transfer.Ratio, len(x.Phasors))
	for h := range all {
		r, ok := transfer.Of(transfer.Line{Harmonic: h + 1, Seconds: together.Seconds, Weight: together.Weights,
			Cable: y.Phasors[h], Reference: x.Phasors[h], CableNoise: y.Noise[h], ReferenceNoise: x.Noise[h], Common: y.Common[h]})
		if ok {
			all[h] = &r
		}
	}
	return all
}

// Real mains as a reference, and its own copy, weaker, later and with noise, as the cable:
// the ratio is what the copy was made by, at the second harmonic too, whose phase turns
// against the fundamental's.
func TestRatioOnRealMains(t *testing.T) {
	files, _ := filepath.Glob(filepath.Join(recordings, "*.wav"))
	if len(files) == 0 {
		t.Skip("the real mains recordings are not here")
	}
	rng := rand.New(rand.NewPCG(5, 6))
	inside, turned, all := [4]int{}, [4]int{}, [4]int{}
	for _, file := range files {
		x, rate := wholeOf(t, file)
		for start := 0.0; start+60 < float64(len(x))/float64(rate); start += 60 * 5 / float64(trials.Count(5)) {
			from := int(start) * rate
			x := x[from : from+60*rate]
			const delay = 3 // samples
			gain := math.Pow(10, -(10+40*rng.Float64())/20)
			reference, cable := make([]float64, len(x)-delay), make([]float64, len(x)-delay)
			for i := range cable {
				reference[i] = x[i+delay] + 1e-4*rng.NormFloat64()
				cable[i] = gain*x[i] + 1e-5*rng.NormFloat64()
			}
			f0 := meanHz(t, rate, reference)
			found := ratios(t, rate, reference, cable)
			for _, h := range []int{1, 2, 3} {
				r := found[h-1]
				if r == nil || r.SNR < transfer.LeastSNR {
					continue // too weak there
				}
				all[h]++
				if r.Lo <= gain && gain <= r.Hi {
					inside[h]++
				}
				centre, _ := r.Disc()
				// The mains wanders by some 0.03 Hz meanwhile, and a delay's phase with it.
				turn, wander := 2*math.Pi*float64(h)*delay/float64(rate), 0.03
				if math.Abs(cmplx.Phase(centre*cmplx.Rect(1, turn*f0))) <= transfer.Angle(r.Lo, r.Hi)+turn*wander {
					turned[h]++
				}
			}
		}
	}
	t.Logf("modulus inside %v, phase inside %v of %v", inside, turned, all)
	for _, h := range []int{1, 2, 3} {
		if n := all[h]; n == 0 || n-min(inside[h], turned[h]) > trials.AtMost(n, 0.05, 0.001) {
			t.Errorf("harmonic %d: %d moduli and %d phases of %d within their intervals", h, inside[h], turned[h], n)
		}
	}
}

func meanHz(t *testing.T, rate int, x []float64) float64 {
	t.Helper()
	m := kit.Must(mains.Measure(context.Background(), capture.Samples(rate, x), mains.Options{}))(t)
	return m[0].Mains.Hz
}

// wholeOf reads the only channel of a file.
func wholeOf(t *testing.T, file string) (x []float64, rate int) {
	t.Helper()
	src := kit.Must(capture.Open(capture.Address{Path: file}))(t)
	kit.OK(t, capture.Each(t.Context(), src, nil, func(frames [][]float64) { x = append(x, frames[0]...) }))
	return x, src.Rate()
}
