package doc

import (
	"fmt"
	"math"

	"humdiff/report/model"
)

// besideTotal says of a capture what its hum total is not: harmonics above it, lines of
// another comb, and that hum was there for a part of the time only. In where stands
// "in near", or nothing.
func besideTotal(c model.Capture, set model.Settings, side, where string) []string {
	var said []string
	level := func(e model.Estimate) string { return LevelOn(set, side, e) }
	if h := c.Hum; h.OnShare.Ok() && h.OnShare < 1 && len(h.Present) > 0 {
		first := h.Present[0]
		said = append(said, fmt.Sprintf("Hum is there%s for %s of the time, in %s; the first is from %s to %s, at %s.", where, withUnit(h.OnShare*100, 0, "%"),
			Count(len(h.Present), "stretch"), tenths(first.StartS.Float()), tenths(first.EndS.Float()), level(first.Level)))
	}
	if above := c.Hum.AboveDBFS; above.Ok() {
		said = append(said, fmt.Sprintf("Harmonics above the sum%s are %s together, and in no total.", where, level(exactly(above))))
	}
	for _, comb := range c.Mains.AlsoFound {
		said = append(said, fmt.Sprintf("Another comb of %s at multiples of %s was found%s: %s, and in no total.", Count(comb.Lines, "line"), Hz(comb.Hz), where, level(comb.Total)))
	}
	return said
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
