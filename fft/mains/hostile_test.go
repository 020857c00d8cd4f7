package mains_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/trials"
)

func measureSamples(t *testing.T, rate int, x []float64, o mains.Options) mains.Measurement {
	t.Helper()
	ms := kit.Must(mains.Measure(context.Background(), capture.Samples(rate, x), o))(t)
	return ms[0]
}

// noise is white, of a density in dBFS/Hz.
func noise(rate int, seconds, density float64, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	// Power per hertz over half the rate, relative to a mean square of 1/2.
	sd := math.Sqrt(math.Pow(10, density/10) * float64(rate) / 2 / 2)
	x := make([]float64, int(seconds*float64(rate)))
	for i := range x {
		x[i] = sd * r.NormFloat64()
	}
	return x
}

// A thump of noise is no hum: neither broad nor low, with and without the
// mains' nominal frequency given.
func TestThumpIsNoHum(t *testing.T) {
	kit.Unraced(t)
	t.Parallel()
	found, lines, warned := 0, 0, 0
	for seed := range uint64(30) {
		x := noise(4000, 20, -130, seed)
		thump := noise(4000, 0.5, -130, seed+1000)
		gain := []float64{3, 10, 30}[seed%3] // 10, 20, 30 dB
		low := 0.0
		for i, v := range thump {
			if seed%2 == 0 { // below some 100 Hz
				low += 0.15 * (v - low)
				v = 3 * low
			}
			x[30000+i] += gain * v
		}
		m := measureSamples(t, 4000, x, mains.Options{Nominal: 50})
		if m.Mains.Detected {
			found++
			t.Logf("seed %d (gain %g, low %v): mains at %.3f Hz", seed, gain, seed%2 == 0, m.Mains.Hz)
		}
		for _, l := range m.Lines {
			if l.Detected {
				lines++
			}
		}
		if has(m.Warnings, "noise_unsteady") || has(m.Warnings, "low_bursts") || has(m.Warnings, "bursts_kept") {
			warned++
		}
	}
	t.Logf("mains in %d, %d lines, warned in %d of 30", found, lines, warned)
	if found > 1 || lines > 2 || warned < 28 {
		t.Errorf("of 30 thumps %d passed for mains, with %d lines; %d were warned of", found, lines, warned)
	}
}

// What 16 bits without dither swallow is not claimed to be absent.
func TestUndithered(t *testing.T) {
	t.Parallel()
	for _, dbfs := range []float64{-104, -102, -98} {
		c, err := bench.Comb{Rate: 8000, Seconds: 20, Track: bench.Steady(50.02), FloorDBFSHz: -155, RandomPhase: true, Seed: 4,
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: dbfs}}}.Make()
		kit.OK(t, err)
		x := make([]float64, len(c.Samples))
		for i, v := range c.Samples {
			x[i] = math.Round(v*32768) / 32768
		}
		m := measureSamples(t, 8000, x, mains.Options{Around: 50.02})
		if m.Health.Silent {
			continue // said, and no lines
		}
		present := math.Pow(10, dbfs/10)
		for what, l := range map[string]mains.Level{"line": m.Lines[0].Level, "total": m.Hum} {
			if !l.Detected && !(l.Limit >= present) {
				t.Errorf("%g dBFS: %s below %.1f dBFS", dbfs, what, db(l.Limit))
			}
		}
		if !has(m.Warnings, "undithered") {
			t.Errorf("%g dBFS: warnings %v", dbfs, m.Warnings)
		}
	}
}

// Of blocks without any power no gain is told, nor a fade: hum below a step of the
// converter, there for a while, with too little noise.
func TestBlocksWithoutPower(t *testing.T) {
	t.Parallel()
	for seed := range uint64(trials.Count(300)) {
		r := rand.New(rand.NewPCG(seed, 3))
		x := make([]float64, 16*8000)
		noise, hum, from, to := 0.08+0.08*r.Float64(), 0.5*r.Float64(), 8*r.Float64(), 8+8*r.Float64()
		for i := range x {
			at := float64(i) / 8000
			v := noise * r.NormFloat64()
			if at > from && at < to {
				v += hum * math.Sin(2*math.Pi*60*at)
			}
			x[i] = math.Round(v) / 32768
		}
		for _, w := range measureSamples(t, 8000, x, mains.Options{}).Warnings {
			for _, a := range w.Args {
				if v, ok := a.Value.(float64); ok && (math.IsInf(v, 0) || math.IsNaN(v) && a.Name != "clock_share") { // that is unknown where no line tells
					t.Errorf("seed %d: %v", seed, w)
				}
			}
		}
	}
}

// Hum of one low harmonic alone is found, however the noise falls.
func TestLoneHarmonic(t *testing.T) {
	kit.Unraced(t)
	t.Parallel()
	for seed := range int64(10) {
		for _, h := range []int{1, 2, 3} {
			for _, nominal := range []float64{50, 60} {
				m, _ := measure(t, bench.Comb{Rate: 2000, Seconds: 20, Track: bench.Steady(nominal * 1.0004), FloorDBFSHz: -130, RandomPhase: true,
					Seed: seed, Lines: []bench.LineSpec{{Harmonic: h, PowerDBFS: -60}}}, mains.Options{})
				if !m.Mains.Detected {
					t.Errorf("seed %d: %g Hz at -60 dBFS is not found", seed, float64(h)*nominal)
				}
			}
		}
	}
}

// A level that steps or jumps inside a capture is said, and its interval
// holds the mean in nine of ten.
func TestStep(t *testing.T) {
	kit.Unraced(t)
	t.Parallel()
	held, warned, all := 0, 0, 0
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 9))
		for _, step := range []float64{1, 6, 20} {
			const rate, seconds = 2000, 10.0
			x := noise(rate, seconds, -130, seed+77)
			at := int((0.1 + 0.8*r.Float64()) * float64(len(x)))
			sum, phase := 0.0, 2*math.Pi*r.Float64()
			for i := range x {
				a := math.Pow(10, -75.0/20)
				if i >= at {
					a *= math.Pow(10, step/20)
				}
				x[i] += a * math.Cos(2*math.Pi*50.01*float64(i)/rate+phase)
				sum += a * a / float64(len(x))
			}
			m := measureSamples(t, rate, x, mains.Options{})
			all++
			if l := m.Lines[0]; l.Lo <= sum && sum <= l.Hi {
				held++
			} else if e := math.Abs(db(l.Power / sum)); e > 0.6 {
				t.Errorf("step of %g dB at %.1f s: off by %.2f dB", step, float64(at)/rate, e)
			}
			if has(m.Warnings, "unsteady") {
				warned++
			}
		}
	}
	t.Logf("held in %d, warned in %d of %d", held, warned, all)
	if warned < all*95/100 || held < all*9/10 {
		t.Errorf("held in %d, warned in %d of %d", held, warned, all)
	}
}

// Lines far out of the noise that hold their level are never said to change it.
func TestStrongAndSteady(t *testing.T) {
	t.Parallel()
	for seed := range int64(trials.Count(200)) {
		r := rand.New(rand.NewPCG(uint64(seed), 12))
		comb := bench.Comb{Rate: 8000, Seconds: 6 + 20*r.Float64(), Track: bench.Track{Hz: 49.9 + 0.2*r.Float64(), WanderHz: 0.02, WanderSeconds: 120},
			FloorDBFSHz: -150 + 30*r.Float64(), RandomPhase: true, Seed: seed}
		for h := 1; h < 60; h += 2 {
			comb.Lines = append(comb.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: -30 - 20*r.Float64()})
		}
		if m, _ := measure(t, comb, mains.Options{}); has(m.Warnings, "unsteady") {
			t.Errorf("seed %d, floor %.0f dBFS/Hz, %.0f s: %v", seed, comb.FloorDBFSHz, comb.Seconds, m.Warnings)
		}
	}
}

// Where no bin is free between lines there is no floor, and without a floor no
// claim.
func TestNoFloorNoClaim(t *testing.T) {
	kit.Unraced(t)
	t.Parallel()
	for _, seconds := range []float64{1.5, 1.6, 2} {
		m, _ := measure(t, bench.Comb{Rate: 48000, Seconds: seconds, Track: bench.Steady(50.01), FloorDBFSHz: -130, RandomPhase: true,
			Seed: 3, Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -60}}}, mains.Options{})
		for _, l := range m.Lines[1:] {
			if l.Detected || l.Floor < math.Pow(10, -13.6) {
				t.Errorf("%g s: line %d: %+v", seconds, l.Harmonic, l)
				break
			}
		}
	}
	sine := make([]float64, 8000*10)
	nyquist := make([]float64, 8000*10)
	for i := range sine {
		sine[i] = math.Round(0.1*math.Cos(2*math.Pi*50*float64(i)/8000)*32768) / 32768
		nyquist[i] = 0.5 - float64(i%2)
	}
	m := measureSamples(t, 8000, sine, mains.Options{})
	if !m.Lines[0].Detected || math.Abs(db(m.Lines[0].Power)+20) > 0.01 {
		t.Errorf("a clean sine: %+v", m.Lines[0])
	}
	for _, l := range m.Lines {
		if l.Floor > 1e-6 {
			t.Errorf("a clean sine: floor at line %d %.1f dBFS/Hz", l.Harmonic, db(l.Floor))
		}
	}
	m = measureSamples(t, 8000, nyquist, mains.Options{})
	for _, tone := range m.Tones {
		if math.IsNaN(tone.Hz) || math.IsNaN(tone.Power) {
			t.Errorf("half the rate alone: %+v", tone)
		}
	}
}

// Floats beyond full scale are loud, not clipped; what a converter cuts off is.
func TestClipped(t *testing.T) {
	loud, cut := make([]float64, 8000*3), make([]float64, 8000*3)
	for i := range loud {
		loud[i] = 2 * math.Sin(float64(i)*0.04)
		cut[i] = max(-1, min(32767.0/32768, loud[i]))
	}
	if m := measureSamples(t, 8000, loud, mains.Options{}); m.Health.Clipped != 0 || math.Abs(m.Health.Peak-2) > 0.01 {
		t.Errorf("float at twice full scale: %+v", m.Health)
	}
	if m := measureSamples(t, 8000, cut, mains.Options{}); m.Health.Clipped < 10000 || !has(m.Warnings, "clipped") {
		t.Errorf("cut off: %+v", m.Health)
	}
}
