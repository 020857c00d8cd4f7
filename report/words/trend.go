package words

import (
	"fmt"

	"humdiff/report/result"
)

// Trend says in sentences where hum stands still in captures and where it is
// strongest.
func Trend(r result.Trend) []string { return sentences(Trends(r)) }

// Trends is one statement for each capture.
func Trends(r result.Trend) []Statement {
	var all []Statement
	for _, c := range r.Captures {
		s := followed(c, r.Settings)
		if len(r.Captures) > 1 {
			s.Of = fmt.Sprintf("Channel %d", c.Channel)
		}
		all = append(all, s)
	}
	return all
}

func followed(c result.TrendCapture, set result.Settings) Statement {
	s := Statement{StandsOn: scale(set), Would: wouldScale(set)}
	if len(c.Steps) == 0 {
		s.Found = []string{noHumOf(set.Mains) + "."}
		s.Would = append([]string{"For detection limits say which mains you have: --mains 50 or --mains 60."}, s.Would...)
		return s
	}
	still := 0
	for _, x := range c.Spans {
		if x.State == result.Still {
			still++
		}
	}
	s.StandsOn = append([]string{fmt.Sprintf("This stands on %s of %s each; hum is the sum of %s to %s.",
		Count(len(c.Steps), "step"), Fixed(c.StepS*1000, 0)+" ms", Count(c.Lines-len(c.LeftOut), "line"), Hz(result.Num(set.UpToHz)))}, s.StandsOn...)
	s.NotShown = []string{"This does not show what made the hum change: compare two of the spans, or record them apart."}
	if len(c.Spans) == 1 && still == 1 {
		s.Found = []string{"Hum stands still throughout: " + spanLevel(c.Spans[0].Hum, set) + "."}
		s.NotShown = []string{"This does not show where the hum comes from."}
		return s
	}
	s.Found = []string{fmt.Sprintf("Hum stands still in %s.", Count(still, "span"))}
	if c.Loudest >= len(c.Spans) {
		c.Loudest = -1 // of a result that somebody edited
	}
	if c.Loudest >= 0 {
		x := c.Spans[c.Loudest]
		s.Found = append(s.Found, fmt.Sprintf("It is strongest from %s to %s: %s.", Seconds(round1(x.StartS)), Seconds(round1(x.EndS)), spanLevel(x.Hum, set)))
	}
	if two := quietest(c); c.Loudest >= 0 && two >= 0 && two != c.Loudest {
		s.Would = append([]string{fmt.Sprintf("Compare it with the weakest: humdiff compare %q %q", c.Spans[two].Address, c.Spans[c.Loudest].Address)}, s.Would...)
	}
	return s
}

func round1(v result.Num) float64 { return float64(int(float64(v)*10+0.5)) / 10 }

// quietest is the still span with the least hum, by what it is or by its limit.
func quietest(c result.TrendCapture) int {
	best, least := -1, result.Num(0)
	for i, x := range c.Spans {
		level := x.Hum.DBFS
		if !level.Ok() {
			level = x.Hum.LimitDBFS
		}
		if x.State == result.Still && level.Ok() && (best < 0 || level < least) {
			best, least = i, level
		}
	}
	return best
}

// spanLevel writes a span's level with its interval, or its limit.
func spanLevel(h result.HumSide, set result.Settings) string {
	if h.State != result.Detected {
		return "below " + DBFS(Up(h.LimitDBFS))
	}
	s := withInterval(h.DBFS, h.LoDBFS, h.HiDBFS, "dBFS", set)
	if h.Volts.Ok() {
		s += ", " + Volts(h.Volts)
	}
	return s
}
