package doc

import (
	"fmt"
	"math"

	"humdiff/report/model"
)

// CaptureHeadline is the one sentence that says what hum a capture has.
func CaptureHeadline(c model.Capture, set model.Settings) string {
	if n := c.Health.Clipped; n > 0 {
		return notUsable + clippedOf(n, "") + "."
	}
	return humOf(c, set)
}

func humOf(c model.Capture, set model.Settings) string {
	level := c.Hum.Level
	_, limit := ends(level)
	switch {
	case c.Health.Silent:
		return "Nothing was recorded: every sample has the same value."
	case level.Measured():
		return "Hum is " + LevelOn(set, model.ForAll, level) + "."
	case limit.Ok():
		return fmt.Sprintf("%s: its total lies %s.", noHumOf(set.Mains), LevelOn(set, model.ForAll, level))
	}
	return noHumOf(set.Mains) + "."
}

// tellCapture says what a capture shows by itself and what it doesn't.
func tellCapture(c model.Capture, set model.Settings, warnings []model.Warning) told {
	level := c.Hum.Level
	t := told{notShown: []string{"Where the hum comes from."}, next: []string{"Compare it with a capture in which one thing was changed."}}
	if level.Measured() && c.Health.Clipped == 0 && !c.Health.Silent {
		t.sure = []string{fmt.Sprintf("The %s interval from recording noise alone is %s.", Percent(set.Confidence), Interval(level)+"FS")}
	}
	t.sure = append(t.sure, doubtful(warnings, c.Side)...)
	switch {
	case c.Health.Clipped > 0:
		t.found = []string{"As read, and not to be relied on: " + lowerFirst(humOf(c, set))}
		t.notShown, t.next = []string{clippingHides}, []string{"Record again at a lower gain."}
	case c.Health.Silent:
		t.notShown, t.next = []string{"That there is no hum: nothing was recorded."}, []string{"Check the input that was recorded, and record again."}
	case !level.Measured():
		t.notShown, t.next = []string{"That there is no hum: only that it lies below the upper limit."}, []string{"Record longer: that lowers the upper limit."}
		if !limited([]model.Estimate{level}) {
			t.notShown = []string{"That there is no hum: only that none was found."}
		}
		t = withOtherMains(t, set, c.Tones, level)
	}
	t.found = append(append(t.found, mainsSaid(c)...), strongestOf(c, set)...)
	t.found = append(t.found, besideTotal(c, set, model.ForAll, "")...)
	t.standsOn = append([]string{"This stands on one capture of " + length(c) + "."}, scaleSaid(set)...)
	t.next = append(t.next, wouldScale(set)...)
	return t
}

func mainsSaid(c model.Capture) []string {
	switch {
	case c.Health.Silent:
		return nil
	case !c.Mains.Detected:
		return []string{"No mains frequency was found in it."}
	}
	return []string{fmt.Sprintf("The mains is at %s by the recorder's own clock.", MainsHz(c.Mains.Hz, c.Mains.U95Hz))}
}

// strongestOf says how many lines a capture has, and which is the strongest.
func strongestOf(c model.Capture, set model.Settings) []string {
	n, best, top := 0, model.Line{}, math.Inf(-1)
	for _, l := range c.Lines {
		v, ok := l.Level.Value()
		if !ok {
			continue
		}
		if n++; v > top {
			best, top = l, v
		}
	}
	if n == 0 {
		return nil
	}
	return []string{fmt.Sprintf("Of %s, %s found; the strongest is harmonic %d (%s): %s.",
		Count(len(c.Lines), "line"), were(n), best.Harmonic, Hz(best.Hz), LevelOn(set, model.ForAll, best.Level))}
}
