package verdict

import (
	"math"

	"humdiff/report/audibility"
	"humdiff/report/level"
	"humdiff/report/result"
	"humdiff/report/session"
)

// playback is the chain that the session states; nil where it states none.
func playback(p session.Playback) *result.Playback {
	if !p.Stated() {
		return nil
	}
	out := &result.Playback{ProgrammeVolts: result.Of(p.Programme), GainDB: result.Of(p.Gain), SensitivityDB: result.None, DistanceMetres: result.Of(p.Distance)}
	switch {
	case !math.IsNaN(p.Speaker):
		out.Kind, out.SensitivityDB, out.Loudspeakers = result.KindLoudspeaker, result.Of(p.Speaker), max(p.Speakers, 1)
	case !math.IsNaN(p.Headphone):
		out.Kind, out.SensitivityDB = result.KindHeadphone, result.Of(p.Headphone)
	}
	if !math.IsNaN(p.Margin) {
		out.MarginDB = p.Margin
	}
	return out
}

// playbackAgain is what a result's chain was stated as.
func playbackAgain(p *result.Playback) session.Playback {
	out := session.BlankPlayback()
	if p == nil {
		return out
	}
	out.Programme, out.Gain, out.Distance = number(p.ProgrammeVolts), number(p.GainDB), number(p.DistanceMetres)
	if p.Kind != "" {
		out.Margin = p.MarginDB
	}
	switch p.Kind {
	case result.KindLoudspeaker:
		out.Speaker, out.Speakers = number(p.SensitivityDB), p.Loudspeakers
	case result.KindHeadphone:
		out.Headphone = number(p.SensitivityDB)
	}
	return out
}

// audible says of each cable at each place what its hum would come to at a
// listener: of the near run with the most hum. Nothing is said where no chain is
// stated, nor of cables of which no near run was measured.
func (b *bench) audible() []result.SessionAudible {
	out := []result.SessionAudible{}
	chain := playback(b.in.Session.Playback)
	if chain == nil {
		return out
	}
	for _, c := range b.gathered(result.Quantity{}) {
		run, most := 0, math.Inf(-1)
		for _, n := range numbers(c.nears()) {
			if got := b.in.Runs[n-1].Capture; got != nil && loudness(got.Hum) > most {
				run, most = n, loudness(got.Hum)
			}
		}
		if run > 0 {
			hum, lines := audibility.Of(*b.in.Runs[run-1].Capture, b.in.Settings.FullScaleVolts)
			out = append(out, result.SessionAudible{Cable: c.cable, Where: c.where, Run: run, Audibility: audibility.Assess(hum, lines, *chain)})
		}
	}
	return out
}

// loudness orders hum: what was found by its level, what wasn't by its limit.
func loudness(h result.HumSide) float64 {
	if l := level.OfHum(h); l.Detected {
		return l.Power
	} else if !math.IsNaN(l.Limit) {
		return l.Limit
	}
	return 0
}
