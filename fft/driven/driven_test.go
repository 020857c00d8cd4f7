package driven_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/driven"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/source"
)

var tones = []source.Tone{{Hz: 75, Peak: 0.5, Phase: 1}, {Hz: 375, Peak: 0.2, Phase: 2}, {Hz: 975, Peak: 0.14, Phase: 3}, {Hz: 2425, Peak: 0.09, Phase: 4}}

var (
	nominal = []float64{75, 375, 975, 2425}
	cable   = source.Cable{Farads: 1e-12, ShieldTime: 60e-12 * 0.015, NodeFarads: 100e-12}
)

func bench(seed uint64) source.Bench {
	rng := rand.New(rand.NewPCG(seed, 5))
	return source.Bench{Tones: tones, Rate: 8000, Seconds: 10, PPM: 100 * (rng.Float64() - 0.5), OutputVolts: 2, FullScale: 0.02, DriveFullScale: 3,
		InputOhms: 100e3, InputFarads: 100e-12, CrossFarads: 0.2e-12, Cross: 1e-7, Noise: 20e-9, DriveNoise: 100e-9,
		Hum: []source.Hum{{Hz: 50.03, Volts: 5e-6, Phase: 1}, {Hz: 150.09, Volts: 2e-6, Phase: 2}, {Hz: 350.21, Volts: 1e-6, Phase: 0}, {Hz: 950.57, Volts: 2e-7, Phase: 0}}}
}

func measured(t *testing.T, b source.Bench, ohms float64, residual bool, seed uint64) driven.Measurement {
	y, x := b.Capture(cable, source.Wire, ohms, 1, residual, seed)
	return kit.Must(driven.Measure(context.Background(), capture.Samples(8000, x, y), driven.Options{Nominal: nominal}))(t)
}

// The ratio's real and imaginary parts lie within 1.96 standard uncertainties of the truth
// in 93 to 97 % of captures, hum and clock offset or not; the clocks' offset is read to
// 0.1 ppm (the phase of a tone 70 dB above the noise, over ten seconds, shows 0.01).
func TestCovers(t *testing.T) {
	const trials = 70
	in, all, ppm := 0, 0, 0.0
	for seed := uint64(0); seed < trials; seed++ {
		b := bench(seed)
		m := measured(t, b, 1000, false, seed)
		if len(m.Tones) != len(tones) {
			t.Fatalf("seed %d: %d tones", seed, len(m.Tones))
		}
		ppm = math.Max(ppm, math.Abs(m.PPM-b.PPM))
		for _, one := range m.Tones {
			y := complex(0, 2*math.Pi*one.Hz*b.CrossFarads) / complex(1/1000.0+1/b.InputOhms, 2*math.Pi*one.Hz*200e-12)
			want := (b.Coupled(cable, source.Wire, 1000, one.Hz) + y/(1+y) + complex(b.Cross, 0)) * complex(b.DriveFullScale/b.FullScale, 0)
			off := one.Ratio.Value - want
			for _, d := range []float64{real(off), imag(off)} {
				if all++; math.Abs(d) <= 1.96*one.U {
					in++
				}
			}
		}
	}
	share := float64(in) / float64(all)
	t.Logf("covers %.4f of %d, clock off by %.4f ppm at most", share, all, ppm)
	// Three standard deviations of a share of 560 are 0.028.
	if share < 0.922 || share > 0.978 {
		t.Errorf("intervals cover %.4f", share)
	}
	if ppm > 0.1 {
		t.Errorf("the clock is off by up to %.3f ppm", ppm)
	}
}

// Hum alone in the drive's channel is no drive, nor is a capture of four seconds one.
func TestNoDrive(t *testing.T) {
	b := bench(1)
	b.Tones = []source.Tone{{Hz: 50, Peak: 0.5, Phase: 0}, {Hz: 150, Peak: 0.1, Phase: 0}}
	y, x := b.Capture(cable, source.Wire, 1000, 1, false, 1)
	if m, err := driven.Measure(context.Background(), capture.Samples(8000, x, y), driven.Options{}); err == nil {
		t.Errorf("hum is taken for a drive: %+v", m)
	}
	b = bench(1)
	b.Seconds = 3
	y, x = b.Capture(cable, source.Wire, 1000, 1, false, 1)
	if _, err := driven.Measure(context.Background(), capture.Samples(8000, x, y), driven.Options{}); err == nil {
		t.Error("three seconds are enough")
	}
}
