package likeness

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
)

// drawnPeaks is a comb of the mains as a bench's, with a few tones beside it, read
// within a tenth of a hertz.
func drawnPeaks(r *rand.Rand, f0 float64) []Peak {
	var peaks []Peak
	slope := 0.5 + r.Float64()
	for h := 1.0; h <= 20; h++ {
		db := -60 - slope*h + 6*r.NormFloat64()
		if math.Mod(h, 2) == 0 {
			db -= 10
		}
		if db > -90 {
			peaks = append(peaks, Peak{f0*h + 0.05*r.NormFloat64(), math.Pow(10, db/10)})
		}
	}
	for range r.IntN(4) {
		peaks = append(peaks, Peak{20 + 2000*r.Float64(), math.Pow(10, -7-3*r.Float64())})
	}
	return peaks
}

// A wrong label is found from the comb, and none doubted that is right.
func TestJudgeRate(t *testing.T) {
	pairs := [][2]float64{{48000, 44100}, {44100, 48000}, {96000, 48000}, {96000, 88200}, {88200, 96000}, {88200, 44100}, {192000, 96000}, {48000, 32000}}
	const draws = 300
	found, doubted := 0, 0
	for seed := range uint64(draws) {
		r := rand.New(rand.NewPCG(seed, 5))
		f0 := []float64{50, 60}[r.IntN(2)] + 0.1*(r.Float64()-0.5)
		p := pairs[r.IntN(len(pairs))]
		truth, label := p[0], p[1]
		n, is := JudgeRate(label, drawnPeaks(r, f0*label/truth))
		if rates, _ := n.Get("rates_hz").([]float64); is && len(rates) == 1 && rates[0] == truth {
			found++
		} else {
			t.Logf("%v as %v, %.2f Hz: %v", truth, label, f0, n)
		}
		if n, is := JudgeRate(label, drawnPeaks(r, f0)); is {
			doubted++
			t.Logf("sound at %v, %.2f Hz: %v", label, f0, n)
		}
		var tones []Peak // music, or no mains
		for range 3 + r.IntN(30) {
			tones = append(tones, Peak{20 + 2000*r.Float64(), math.Pow(10, -7-3*r.Float64())})
		}
		if n, is := JudgeRate(label, tones); is {
			doubted++
			t.Logf("tones at %v: %v", label, n)
		}
	}
	t.Logf("of %d wrong labels %d found; %d of %d right ones doubted", draws, found, doubted, 2*draws)
	if found < draws*97/100 || doubted > 0 {
		t.Error("too few found, or right ones doubted")
	}
}

// 48 kHz labelled 96 has its lines at 100, 200, 300 Hz. A rectifier makes those as well:
// only where they run as the mains' harmonics do it is asked.
func TestJudgeRateTwice(t *testing.T) {
	comb := func(db ...float64) (peaks []Peak) {
		for i, v := range db {
			peaks = append(peaks, Peak{100 * float64(i+1), math.Pow(10, v/10)})
		}
		return peaks
	}
	n, is := JudgeRate(96000, comb(-60, -85, -65, -88, -70, -90, -72, -95))
	if !is || n.Code != rateLabelPerhaps || n.Get("rates_hz").([]float64)[0] != 48000 {
		t.Errorf("mains at twice its frequency: %v", n)
	}
	if n, is := JudgeRate(96000, comb(-60, -66, -71, -75, -79, -82, -85, -90)); is {
		t.Errorf("a rectifier: %v", n)
	}
}

// The whole way, from samples.
func TestJudgeRateOfMeasurement(t *testing.T) {
	c := bench.Comb{Rate: 48000, Seconds: 12, Track: bench.Track{Hz: 50.02, WanderHz: 0.01, WanderSeconds: 20}, FloorDBFSHz: -150, RandomPhase: true, Seed: 3}
	for h := 1; h <= 15; h++ {
		c.Lines = append(c.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: -70 - float64(h) - 10*float64((h+1)%2)})
	}
	k := kit.Must(c.Make())(t)
	for label, wrong := range map[int]bool{44100: true, 48000: false} {
		m := kit.Must(mains.Measure(context.Background(), capture.Samples(label, k.Samples), mains.Options{}))(t)
		n, is := JudgeRate(float64(label), Peaks(m[0]))
		if is != wrong || is && n.Get("rates_hz").([]float64)[0] != 48000 {
			t.Errorf("labelled %d: %v", label, n)
		}
	}
}
