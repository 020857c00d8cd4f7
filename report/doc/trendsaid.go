package doc

import (
	"fmt"
	"math"

	"humdiff/report/model"
)

// TrendHeadline is the one sentence that says where hum stands still in a capture
// and where it is strongest.
func TrendHeadline(c model.TrendCapture, set model.Settings) string {
	if len(c.Steps) == 0 {
		return noHumOf(set.Mains) + "."
	}
	still := stillSpans(c)
	if len(c.Spans) == 1 && still == 1 {
		return "Hum stands still throughout: " + LevelOn(set, model.ForAll, c.Spans[0].Hum) + "."
	}
	if x, ok := loudest(c); ok {
		return fmt.Sprintf("Hum is strongest from %s to %s: %s. It stands still in %s.",
			tenths(x.StartS.Float()), tenths(x.EndS.Float()), LevelOn(set, model.ForAll, x.Hum), Count(still, "span"))
	}
	return fmt.Sprintf("Hum stands still in %s.", Count(still, "span"))
}

func stillSpans(c model.TrendCapture) int {
	n := 0
	for _, x := range c.Spans {
		if x.State == model.Still {
			n++
		}
	}
	return n
}

// loudest is the span in which hum is strongest; false where a result names none.
func loudest(c model.TrendCapture) (model.TrendSpan, bool) {
	if c.Loudest < 0 || c.Loudest >= len(c.Spans) {
		return model.TrendSpan{}, false
	}
	return c.Spans[c.Loudest], true
}

// tellTrend says what following hum through a capture shows and what it doesn't.
func tellTrend(c model.TrendCapture, set model.Settings) told {
	t := told{standsOn: scaleSaid(set), next: wouldScale(set)}
	if len(c.Steps) == 0 {
		t.next = append([]string{"For upper limits say which mains you have: --mains 50 or --mains 60."}, t.next...)
		return t
	}
	t.standsOn = append([]string{fmt.Sprintf("This stands on %s of %s ms each.", Count(len(c.Steps), "step"), Fixed(c.StepS*1000, 0)),
		fmt.Sprintf("Hum is the sum of %s to %s.", Count(c.Lines-len(c.LeftOut), "line"), Hz(model.Num(set.UpToHz)))}, t.standsOn...)
	t.notShown = []string{"What made the hum change: compare two of the spans, or record them apart."}
	if len(c.Spans) == 1 && stillSpans(c) == 1 {
		t.notShown = []string{"Where the hum comes from."}
	}
	x, ok := loudest(c)
	if quiet := quietest(c); ok && quiet >= 0 && quiet != c.Loudest {
		t.next = append([]string{fmt.Sprintf("Compare it with the weakest: humdiff compare %s %s", quoted(c.Spans[quiet].Address), quoted(x.Address))}, t.next...)
	}
	if ok && Interval(x.Hum) != "" && x.Hum.Measured() {
		t.sure = []string{fmt.Sprintf("Where it is strongest, the %s interval from recording noise alone is %s.", Percent(set.Confidence), Interval(x.Hum)+"FS")}
	}
	return t
}

// quietest is the still span with the least hum, by what it is or by its limit.
func quietest(c model.TrendCapture) int {
	best, least := -1, math.Inf(1)
	for i, x := range c.Spans {
		v, ok := x.Hum.Value()
		if !ok {
			v, ok = x.Hum.Upper()
		}
		if x.State == model.Still && ok && v < least {
			best, least = i, v
		}
	}
	return best
}

// quoted is an address as a command line takes it, without its folders.
func quoted(address string) string {
	if address == "" {
		return ""
	}
	return `"` + File(address) + `"`
}
