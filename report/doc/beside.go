package doc

import (
	"math"
	"slices"

	"humdiff/report/model"
)

// besideTotal says of a capture what its hum total is not: harmonics above it, lines of
// another comb, and that hum was there for a part of the time only. In where stands
// "in near", or nothing.
func besideTotal(c model.Capture, set model.Settings, side, where string) []string {
	return tell("capture.beside", captureOf(c, set, side, where))
}

// What makes a tone look like hum of another mains.
const (
	offNominal  = 0.02 // share by which a mains may be off its nominal frequency
	lowMultiple = 10   // beyond, too many frequencies lie near some multiple
)

// ofOtherMains are the multiples of the other nominal frequency that tones lie
// within 2 % of, each with one such tone; none where the mains was not given, as
// then both were sought.
func ofOtherMains(asked string, tones []model.Tone) (otherHz float64, at []string) {
	otherHz = map[string]float64{"50": 60, "60": 50}[asked]
	if otherHz == 0 {
		return 0, nil
	}
	seen := map[float64]bool{} // the two captures differ by the mains' wander
	for _, t := range tones {
		h := math.Round(t.Hz / otherHz)
		if h >= 1 && h <= lowMultiple && math.Abs(t.Hz/(h*otherHz)-1) <= offNominal && !seen[h] {
			seen[h] = true
			at = append(at, ToneHz(t.Hz))
		}
	}
	return otherHz, at
}

// otherMains says, where no hum was found, that hum of another mains may be there,
// and how to get upper limits where there are none.
func otherMains(set model.Settings, tones []model.Tone, totals ...model.Estimate) []question {
	hz, at := ofOtherMains(set.Mains, tones)
	limited := slices.ContainsFunc(totals, func(e model.Estimate) bool { _, ok := e.Upper(); return ok })
	return questions(tell("other_mains", map[string]any{"hz": hz, "at": at, "ask": !limited && set.Mains != "50" && set.Mains != "60"}))
}
