package measure

import (
	"humdiff/fft/health"
	"humdiff/fft/mains"
	"humdiff/report/model"
)

// healthOf states what the samples say.
func healthOf(h mains.Health) model.Health {
	r := model.Health{
		PeakDBFS:    model.DB(h.Peak * h.Peak),
		PeakSeconds: seven(h.PeakSeconds),
		DC:          seven(h.DC),
		Clipped:     h.Clipped,
		Silent:      h.Silent,

		ClippedRuns: runsOf(h.ClippedRuns),
		FlatTops:    runsOf(h.FlatTops),
		Zeros:       runsOf(h.Zeros),
		Stuck:       runsOf(h.Stuck),
		Repeats:     runsOf(h.Repeats),
		Clicks:      runsOf(h.Clicks),
		BitsUsed:    h.Bits,
		SameAs:      h.SameAs,

		LowBursts:  model.Runs{Count: h.Bursts, LongestS: model.None, FirstS: model.None},
		LeftOutS:   seven(h.LeftOut),
		GatedS:     seven(h.Gated),
		GainDB:     places(h.Gain, 4),
		FadeDB:     places(h.Fade, 4),
		PhaseJumps: len(h.Jumps),
		BuzzDepth:  seven(h.Buzz),
		CutHz:      model.None,
		FloorsHigh: make([]model.Num, len(mains.FloorBands)),
	}
	if h.Bursts > 0 {
		r.LowBursts.FirstS = seven(h.BurstFirst)
	}
	if h.Cut > 0 {
		r.CutHz = seven(h.Cut)
	}
	for i := range r.FloorsHigh {
		r.FloorsHigh[i] = model.None
		if i < len(h.Floors) {
			r.FloorsHigh[i] = model.DB(h.Floors[i])
		}
	}
	return r
}

func runsOf(r health.Runs) model.Runs {
	s := model.Runs{Count: r.Count, Samples: r.Samples, LongestS: model.None, FirstS: model.None}
	if r.Count > 0 {
		s.LongestS, s.FirstS = seven(r.Longest), seven(r.First)
	}
	return s
}
