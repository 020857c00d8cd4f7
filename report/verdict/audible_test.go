package verdict_test

import (
	"math"
	"testing"

	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/verdict"
)

// Each cable at each place is judged by its near run with the most hum, and by
// nothing where no chain is stated or volts are unknown.
func TestAudible(t *testing.T) {
	played := func(change func(*verdict.Input)) result.Session {
		return judged(simple(), func(in *verdict.Input) {
			in.Session.Playback = session.BlankPlayback()
			in.Session.Playback.Gain, in.Session.Playback.Speaker, in.Session.Playback.Distance = 30, 90, 2
			change(in)
		})
	}
	s := played(func(*verdict.Input) {})
	if s.Playback == nil || s.Playback.Kind != result.KindLoudspeaker || s.Playback.Loudspeakers != 1 || len(s.Audible) == 0 {
		t.Fatalf("%+v, %d judged", s.Playback, len(s.Audible))
	}
	for _, a := range s.Audible {
		most, at := math.Inf(-1), 0
		for _, r := range s.Runs {
			if r.Cable == a.Cable && r.Exposure == a.Where.Exposure && r.Termination == a.Where.Termination && r.Condition == string(session.Near) && r.Capture != nil {
				if v := float64(r.Capture.Hum.DBFS); v > most {
					most, at = v, r.Number
				}
			}
		}
		if at > 0 && a.Run != at {
			t.Errorf("%s: judged by run %d, run %d has the most hum", a.Cable, a.Run, at)
		}
		want := math.Pow(10, most/20) * float64(s.Settings.FullScaleVolts)
		if h := a.Audibility.HumVolts; at > 0 && !(float64(h.Lo) <= want && want <= float64(h.Hi)) {
			t.Errorf("%s: hum of %v to %v V, %v was measured", a.Cable, h.Lo, h.Hi, want)
		}
	}
	if s := judged(simple(), func(*verdict.Input) {}); s.Playback != nil || len(s.Audible) != 0 {
		t.Errorf("no chain: %+v, %d judged", s.Playback, len(s.Audible))
	}
	without := played(func(in *verdict.Input) { in.Settings.FullScaleVolts = result.None })
	for _, a := range without.Audible {
		if a.Audibility.HumVolts.Hi.Ok() || a.Audibility.Verdict == result.BelowThreshold || a.Audibility.Verdict == result.AboveThreshold {
			t.Errorf("no volts: %+v", a.Audibility)
		}
	}
}
