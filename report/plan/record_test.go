package plan

import (
	"context"
	"fmt"
	"math"
	"testing"

	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/trials"
)

// Recording as long as it says shows the line in at least the stated share of
// simulated recordings: a weak 3rd harmonic beside a fundamental strong enough to
// follow.
func TestAsLongAsItSays(t *testing.T) {
	for _, level := range []float64{-142, -147} {
		s := Sought{LineDB: level, FloorDB: -140, Lines: 20, Share: 0.9, Alarms: 0.005}
		seconds := Seconds(s)
		n, found := trials.Count(50), 0
		for seed := range n {
			c, err := bench.Comb{Rate: 2200, Seconds: seconds, Track: bench.Track{Hz: 50, WanderHz: 0.01, WanderSeconds: 60}, FloorDBFSHz: s.FloorDB, Seed: int64(seed),
				Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -100}, {Harmonic: 3, PowerDBFS: level, Phase: float64(seed)}}}.Make()
			kit.OK(t, err)
			m := kit.Must(mains.Measure(context.Background(), c.Source(), mains.Options{UpTo: 1000, Nominal: 50}))(t)
			if m[0].Lines[2].Detected {
				found++
			}
		}
		t.Logf("%.0f dB: %.0f s, found in %d of %d", level, seconds, found, n)
		if n-found > trials.AtMost(n, 1-s.Share, 0.001) {
			t.Errorf("a line of %.0f dB in %.0f s: found in %d of %d", level, seconds, found, n)
		}
		if short := seconds / 2; Detected(s, short) > 0.8 {
			t.Errorf("half the time would do as well: %g", Detected(s, short))
		}
	}
}

// 60 s at −150 dBFS/Hz, 100 lines looked for: half the lines at −155.8 dBFS and
// nine in ten at −153.7 (1200 simulated lines at each level, by fixtures/proof).
func TestLevelOfAMinute(t *testing.T) {
	s := Sought{FloorDB: -150, Lines: 100, Alarms: 0.005}
	for share, want := range map[float64]float64{0.5: -155.8, 0.9: -153.7} {
		s.Share = share
		kit.Near(t, fmt.Sprintf("%g of lines", share), Level(s, 60), want, 0.6)
	}
	if s.LineDB = -300; !math.IsInf(Seconds(s), 1) {
		t.Error("a line that nothing shows has a time")
	}
}

// The same for a line that has to show the mains by itself, the 1st or the 3rd
// harmonic, at the widest bins there are (3000 Hz in 4096 points: 0.73 Hz).
func TestAsLongAsItSaysAlone(t *testing.T) {
	n := trials.Count(50)
	for _, level := range []float64{-134, -137, -140} {
		for _, harmonic := range []int{1, 3} {
			s := Sought{LineDB: level, FloorDB: -140, Lines: 20, Share: 0.9, Alarms: 0.005}
			seconds := SecondsAlone(s)
			found := 0
			for seed := range n {
				c, err := bench.Comb{Rate: 3000, Seconds: seconds, Track: bench.Track{Hz: 50.013, WanderHz: 0.01, WanderSeconds: 60}, FloorDBFSHz: s.FloorDB, Seed: int64(seed),
					Lines: []bench.LineSpec{{Harmonic: harmonic, PowerDBFS: level, Phase: float64(seed)}}}.Make()
				kit.OK(t, err)
				m := kit.Must(mains.Measure(context.Background(), c.Source(), mains.Options{UpTo: 1000}))(t)
				if m[0].Mains.Nominal == 50 && m[0].Lines[harmonic-1].Detected {
					found++
				}
			}
			t.Logf("harmonic %d, %.0f dB: %.0f s, found in %d of %d", harmonic, level, seconds, found, n)
			if n-found > trials.AtMost(n, 1-s.Share, 0.001) {
				t.Errorf("harmonic %d of %.0f dB alone in %.0f s: found in %d of %d", harmonic, level, seconds, found, n)
			}
			if seconds < Seconds(s) {
				t.Errorf("alone in %g s, beside a stronger line in %g s", seconds, Seconds(s))
			}
		}
	}
}

// Repeats of each of two groups by Cohen, Statistical Power Analysis (2nd ed.,
// 1988), table 2.4.1, two-sided 5 % (from memory).
func TestRepeats(t *testing.T) {
	for _, c := range []struct {
		d, power float64
		want     int
	}{{0.5, 0.8, 64}, {0.8, 0.8, 26}, {1, 0.8, 17}, {0.5, 0.95, 105}, {0.8, 0.95, 42}, {1, 0.95, 27}} {
		kit.Same(t, Repeats(c.d, 1, c.power, 0.05), c.want, "d = %g, power %g", c.d, c.power)
	}
	kit.Same(t, Repeats(0, 1, 0.8, 0.05), 0, "no difference at all")
}

// Without a difference the power is the level; noncentral t with 1 degree of
// freedom at 0 is Φ(−shift), whatever the degrees.
func TestPower(t *testing.T) {
	for _, n := range []int{2, 3, 6, 50} {
		kit.Near(t, fmt.Sprintf("%d repeats", n), Power(n, 0, 1, 0.05), 0.05, 1e-6)
		kit.Near(t, "noncentral t at 0", noncentralT(0, float64(2*n-2), 1), 0.158655254, 1e-6)
	}
}

// Two one-sided tests of pairs against CHECKS §15 (2 million trials there, ±0.001):
// margin 1 dB, 5 %; differences spread by √2 of one placement.
func TestPowerSame(t *testing.T) {
	for _, c := range []struct {
		n                   int
		truly, spread, want float64
	}{
		{5, 0, 0.5 * math.Sqrt2, 0.67}, {6, 0, 0.5 * math.Sqrt2, 0.812}, {7, 0, 0.5 * math.Sqrt2, 0.899},
		{17, 0, math.Sqrt2, 0.747}, {18, 0, math.Sqrt2, 0.782}, {20, 0, math.Sqrt2, 0.838},
		{68, 0, 2 * math.Sqrt2, 0.785}, {70, 0, 2 * math.Sqrt2, 0.801}, {80, 0, 2 * math.Sqrt2, 0.864},
		{6, 0.5, 0.5, 0.677}, {8, 0.5, 0.5, 0.816}, {10, 0.5, 0.5, 0.897}, {12, 0.5, 0.5, 0.945},
	} {
		if got := PowerSame(c.n, 1, c.truly, c.spread, 0.05); math.Abs(got-c.want) > 0.003 {
			t.Errorf("%d pairs, %g dB apart, spread %g dB: %.4f, want %g", c.n, c.truly, c.spread, got, c.want)
		}
	}
	kit.Near(t, "at the margin", PowerSame(6, 1, 1, 0.5, 0.05), 0.05, 1e-3)
	for spread, want := range map[float64]int{0.5 * math.Sqrt2: 6, math.Sqrt2: 19, 0.5: 4} {
		kit.Same(t, RepeatsSame(1, spread, 0.8, 0.05), want, "spread of differences %g dB", spread)
	}
}

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
