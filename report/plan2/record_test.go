package plan

import (
	"context"
	"math"
	"testing"

	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
)

// Recording as long as it says shows the line in at least the stated share of
// simulated recordings: a weak 3rd harmonic beside a fundamental strong enough to
// follow. Of 40 trials at 90 % chance leaves fewer than 29 in one of a thousand
// (binomial: mean 36, standard deviation 1.9); in short mode, of 10, fewer than 5.
func TestAsLongAsItSays(t *testing.T) {
	for _, level := range []float64{-142, -147} {
		trials, least := 40, 29
		if testing.Short() {
			trials, least = 10, 5
		}
		s := Sought{LineDB: level, FloorDB: -140, Lines: 20, Share: 0.9, Alarms: 0.005}
		seconds := Seconds(s)
		found := 0
		for seed := range trials {
			c, err := bench.Comb{Rate: 2200, Seconds: seconds, Track: bench.Track{Hz: 50, WanderHz: 0.01, WanderSeconds: 60}, FloorDBFSHz: s.FloorDB, Seed: int64(seed),
				Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -100}, {Harmonic: 3, PowerDBFS: level, Phase: float64(seed)}}}.Make()
			if err != nil {
				t.Fatal(err)
			}
			m, err := mains.Measure(context.Background(), c.Source(), mains.Options{UpTo: 1000, Nominal: 50})
			if err != nil {
				t.Fatal(err)
			}
			if m[0].Lines[2].Detected {
				found++
			}
		}
		t.Logf("%.0f dB: %.0f s, found in %d of %d", level, seconds, found, trials)
		if found < least {
			t.Errorf("a line of %.0f dB in %.0f s: found in %d of %d", level, seconds, found, trials)
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
		if got := Level(s, 60); math.Abs(got-want) > 0.6 {
			t.Errorf("%g of lines: %.1f dBFS, want %g", share, got, want)
		}
	}
	if s.LineDB = -300; !math.IsInf(Seconds(s), 1) {
		t.Error("a line that nothing shows has a time")
	}
}

// The same for a line that has to show the mains by itself, the 1st or the 3rd
// harmonic, at the widest bins there are (3000 Hz in 4096 points: 0.73 Hz). Of 20
// trials at 90 % chance leaves fewer than 13 in one of a thousand (binomial: mean
// 18, standard deviation 1.3); in short mode, of 10, fewer than 5.
func TestAsLongAsItSaysAlone(t *testing.T) {
	trials, least := 20, 13
	if testing.Short() {
		trials, least = 10, 5
	}
	for _, level := range []float64{-134, -137, -140} {
		for _, harmonic := range []int{1, 3} {
			s := Sought{LineDB: level, FloorDB: -140, Lines: 20, Share: 0.9, Alarms: 0.005}
			seconds := SecondsAlone(s)
			found := 0
			for seed := range trials {
				c, err := bench.Comb{Rate: 3000, Seconds: seconds, Track: bench.Track{Hz: 50.013, WanderHz: 0.01, WanderSeconds: 60}, FloorDBFSHz: s.FloorDB, Seed: int64(seed),
					Lines: []bench.LineSpec{{Harmonic: harmonic, PowerDBFS: level, Phase: float64(seed)}}}.Make()
				if err != nil {
					t.Fatal(err)
				}
				m, err := mains.Measure(context.Background(), c.Source(), mains.Options{UpTo: 1000})
				if err != nil {
					t.Fatal(err)
				}
				if m[0].Mains.Nominal == 50 && m[0].Lines[harmonic-1].Detected {
					found++
				}
			}
			t.Logf("harmonic %d, %.0f dB: %.0f s, found in %d of %d", harmonic, level, seconds, found, trials)
			if found < least {
				t.Errorf("harmonic %d of %.0f dB alone in %.0f s: found in %d of %d", harmonic, level, seconds, found, trials)
			}
			if seconds < Seconds(s) {
				t.Errorf("alone in %g s, beside a stronger line in %g s", seconds, Seconds(s))
			}
		}
	}
}
