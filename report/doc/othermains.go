package doc

import (
	"fmt"
	"math"

	"humdiff/report/model"
)

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

// withOtherMains adds, where no hum was found, that hum of another mains may be
// there, and how to get upper limits where there are none.
func withOtherMains(t told, set model.Settings, tones []model.Tone, totals ...model.Estimate) told {
	if !limited(totals) && set.Mains != "50" && set.Mains != "60" {
		t.next = append(t.next, "For upper limits say which mains you have: --mains 50 or --mains 60.")
	}
	hz, at := ofOtherMains(set.Mains, tones)
	if len(at) == 0 {
		return t
	}
	which, lie := "The tone at "+at[0], "lies near a multiple"
	if len(at) > 1 {
		which, lie = "The tones at "+and(at), "lie near multiples"
	}
	t.notShown = append(t.notShown, fmt.Sprintf("%s %s of %g Hz and may be hum of another mains, which was not sought.", which, lie, hz))
	t.next = append([]string{fmt.Sprintf("Measure again with --mains auto or --mains %g.", hz)}, t.next...)
	return t
}

func limited(totals []model.Estimate) bool {
	for _, e := range totals {
		if _, ok := e.Upper(); ok {
			return true
		}
	}
	return false
}
