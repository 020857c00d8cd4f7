package plan

import (
	"math"
	"testing"
)

// A coupling rises with frequency: 7.75 V at 2 kHz couples like 310 V at 50 Hz (V·f alike).
func TestLikeMains(t *testing.T) {
	p := Drive(Driving{Volts: 7.75 / Tones(48000)[0].Peak, Ohms: 1000, Floor: math.NaN(), Farads: math.NaN(), Seconds: 60}, 48000)
	// The lowest tone has 7.75 V then; at f it stands for 7.75·f/50.
	if want := 310 * p.Tones[0].Hz / 2000; math.Abs(float64(p.Tones[0].LikeVolts)/want-1) > 1e-3 {
		t.Errorf("7.75 V at %g Hz couples like %g V at 50 Hz, want %g", p.Tones[0].Hz, float64(p.Tones[0].LikeVolts), want)
	}
}

// Tones clear both mains' lines by 15 Hz, nothing that a distorting output makes falls on
// one, the signal stays within full scale, and its crest factor is low.
func TestTones(t *testing.T) {
	for _, rate := range []float64{44100, 48000, 96000} {
		tones := Tones(rate)
		if len(tones) < 9 {
			t.Fatalf("%g Hz: %d tones", rate, len(tones))
		}
		for i, a := range tones {
			for h := 1.0; h < 200; h++ {
				for _, mains := range []float64{50, 60} {
					if math.Abs(a.Hz-h*mains) < 15 {
						t.Errorf("%g Hz lies beside harmonic %g of %g Hz", a.Hz, h, mains)
					}
				}
			}
			for j, b := range tones {
				for k, c := range tones {
					if d := math.Abs(a.Hz - math.Abs(2*b.Hz-c.Hz)); d < 2 && k != j && i != k {
						t.Errorf("2·%g − %g Hz falls on %g", b.Hz, c.Hz, a.Hz)
					}
				}
			}
		}
		crest := Crest(tones)
		t.Logf("%g Hz: %v, crest %.2f", rate, tones, crest)
		// A single sine has 1.41; random phases of ten tones make about 3.
		if crest > 2.2 {
			t.Errorf("%g Hz: crest factor %.2f", rate, crest)
		}
		if top := peakOf(Signal(tones, int(rate), 2)); top > 0.93 || top < 0.8 {
			t.Errorf("%g Hz: peak %.3f of full scale", rate, top)
		}
	}
}

// What is said to be seen is: at the reach of a minute V = ωRCU stands above the noise by
// as much as plan's own detection asks.
func TestSees(t *testing.T) {
	d := Driving{Volts: 2, Ohms: 1000, Floor: 20e-9, Farads: 0.01e-12, Seconds: 10}
	p := Drive(d, 48000)
	if !(p.SeesFarads <= 0.01e-12) || p.Seconds < 10 {
		t.Errorf("in %g s it sees %g F, asked for 0.01 pF", p.Seconds, float64(p.SeesFarads))
	}
	d.Seconds, d.Farads = 4*p.Seconds, math.NaN()
	// Four times as long shows half as much, or a little less: powers over spans.
	if longer := Drive(d, 48000); longer.SeesFarads > p.SeesFarads*0.8 {
		t.Errorf("four times as long sees %g, not much less than %g", float64(longer.SeesFarads), float64(p.SeesFarads))
	}
}
