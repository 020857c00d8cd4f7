package plan

import (
	"context"
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
		if got := Level(s, 60); math.Abs(got-want) > 0.6 {
			t.Errorf("%g of lines: %.1f dBFS, want %g", share, got, want)
		}
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
