package words

import (
	"fmt"
	"slices"

	"humdiff/report/result"
)

// Captures is one statement for each capture.
func Captures(r result.Measure) []Statement {
	var all []Statement
	for _, c := range r.Captures {
		s := capture(c, r.Settings)
		s.Found = slices.Insert(s.Found, 1, doubtful(r.Warnings, c.Side)...)
		if len(r.Captures) > 1 {
			s.Of = fmt.Sprintf("%s, channel %d", File(c.File), c.Channel)
		}
		all = append(all, s)
	}
	return all
}

func capture(c result.Capture, set result.Settings) Statement {
	s := Statement{Found: []string{humOf(c, set)}}
	if n := c.Health.Clipped; n > 0 {
		s.Found = []string{notUsable + clippedOf(n, "") + ".", "As read, and not to be relied on: " + lowerFirst(humOf(c, set))}
	}
	if !c.Health.Silent {
		s.Found = append(s.Found, mains(c.Mains))
	}
	s.Found = append(s.Found, foundLines(c)...)
	s.StandsOn = append([]string{fmt.Sprintf("This stands on one capture of %s.", averaged(c.Side, c.Health))}, scale(set)...)
	s.NotShown = []string{"This does not show where the hum comes from."}
	s.Would = append([]string{"Compare it with a capture in which one thing was changed."}, wouldScale(set)...)
	switch {
	case c.Health.Clipped > 0:
		s.NotShown, s.Would[0] = []string{clippingHides}, "Record again at a lower gain."
	case c.Health.Silent:
		s.NotShown = []string{"This does not show that there is no hum: nothing was recorded."}
		s.Would[0] = "Check the input that was recorded, and record again."
	case c.Hum.State != result.Detected:
		s.NotShown = []string{"This does not show that there is no hum: only that it lies below the detection limit."}
		if !c.Hum.LimitDBFS.Ok() {
			s.NotShown = []string{"This does not show that there is no hum: only that none was found."}
		}
		s.Would[0] = "Record longer: that lowers the detection limit."
		s.Would = append(s.Would, forLimits(set, c.Hum.LimitDBFS)...)
		other, again := otherMains(set.Mains, c.Tones)
		s.NotShown, s.Would = append(s.NotShown, other...), append(again, s.Would...)
	}
	return s
}

func humOf(c result.Capture, set result.Settings) string {
	h := c.Hum
	switch {
	case c.Health.Silent:
		return "Nothing was recorded: every sample has the same value."
	case h.State == result.Detected:
		s := "Hum is " + withInterval(h.DBFS, h.LoDBFS, h.HiDBFS, "dBFS", set)
		if h.Volts.Ok() {
			s += ", " + Volts(h.Volts)
		}
		return s + "."
	case h.LimitDBFS.Ok():
		return fmt.Sprintf("%s: its total lies below %s.", noHumOf(set.Mains), limitOn(result.Settings{}, h))
	}
	return noHumOf(set.Mains) + "."
}

func mains(m result.CaptureMains) string {
	if !m.Detected {
		return "No mains frequency was found in it."
	}
	return fmt.Sprintf("The mains is at %s by the recorder's own clock.", MainsHz(m.Hz, m.U95Hz))
}

func foundLines(c result.Capture) []string {
	n, best := 0, -1
	for i, l := range c.Lines {
		if l.State != result.Detected {
			continue
		}
		if n++; best < 0 || l.DBFS > c.Lines[best].DBFS {
			best = i
		}
	}
	if best < 0 {
		return nil
	}
	l := c.Lines[best]
	return []string{fmt.Sprintf("Of %s, %s found; the strongest is harmonic %d (%s): %s.",
		Count(len(c.Lines), "line"), were(n), l.Harmonic, Hz(l.Hz), level(l.DBFS, l.Volts))}
}
