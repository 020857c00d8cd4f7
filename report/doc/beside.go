package doc

import (
	"fmt"

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
		said = append(said, fmt.Sprintf("Hum is there%s for %s of the time, in %s; the first is from %s to %s, at %s.", where, wholePercent(h.OnShare),
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

// wholePercent writes a share that isn't known any closer.
func wholePercent(share model.Num) string { return withUnit(share*100, 0, "%") }
