package words

import (
	"fmt"

	"humdiff/report/result"
)

// Obstacle is why the hum of a pair can't be compared, e.g. "the mains is 50 Hz
// in quiet and 60 Hz in near"; empty where it can.
func Obstacle(p result.Pair) string {
	if p.Quiet.Overlaps(p.Near) {
		return "quiet and near are the same recording, or share a part of it"
	}
	switch q, n := p.Health.Quiet.Silent, p.Health.Near.Silent; {
	case q && n:
		return "nothing was recorded in quiet nor in near"
	case q:
		return "nothing was recorded in quiet"
	case n:
		return "nothing was recorded in near"
	}
	if mainsDiffer(p.Mains) {
		return fmt.Sprintf("the mains is %s in quiet and %s in near", Hz(p.Mains.QuietNominalHz), Hz(p.Mains.NearNominalHz))
	}
	found := p.Hum.Quiet.State == result.Detected || p.Hum.Near.State == result.Detected
	switch {
	case changeOf(p.Hum.Delta) != nothing || !found:
		return ""
	case p.Hum.Lines == 0:
		return "the hum totals of quiet and near are sums over different lines"
	}
	return "the hum found is too weak for any bound"
}

func mainsDiffer(m result.PairMains) bool {
	q, n := m.QuietNominalHz, m.NearNominalHz
	return q.Ok() && n.Ok() && q > 0 && n > 0 && q != n
}

// Clipped says how many samples of which capture are clipped, e.g. "12 samples
// of near are clipped"; empty where none are.
func Clipped(p result.Pair) string {
	q, n := p.Health.Quiet.Clipped, p.Health.Near.Clipped
	switch {
	case q > 0 && n > 0:
		return fmt.Sprintf("%s of quiet and %d of near are clipped", Count(q, "sample"), n)
	case q > 0:
		return clippedOf(q, " of quiet")
	case n > 0:
		return clippedOf(n, " of near")
	}
	return ""
}

func clippedOf(n int, of string) string {
	are := "are"
	if n == 1 {
		are = "is"
	}
	return fmt.Sprintf("%s%s %s clipped", Count(n, "sample"), of, are)
}

const notUsable = "Not usable as it is: "

// clippedPair says of a pair with clipped samples what was read, without
// claiming that it is so.
func clippedPair(p result.Pair, set result.Settings) Statement {
	asRead := "As read, and not to be relied on: near minus quiet is " + deltaInterval(p.Hum.Delta, set) + "."
	if o := Obstacle(p); o != "" {
		asRead = notComparable(o)
	}
	s := Statement{Found: []string{Headline(p, set), asRead}}
	s.Found = append(s.Found, LineCounts(p)...)
	s.Found = append(s.Found, strongest(p, set)...)
	s.StandsOn = append(standsOn(p), scale(set)...)
	s.NotShown, s.Would = []string{clippingHides}, append([]string{"Record again at a lower gain, the same for both captures."}, wouldScale(set)...)
	return s
}

const clippingHides = "This shows nothing to rely on: clipping makes lines of its own and changes the levels of others."

func notComparable(obstacle string) string { return "Not comparable: " + obstacle + "." }

// apart says what a pair that can't be compared leaves open.
func apart(p result.Pair) (notShown, would []string) {
	notShown = []string{"This does not show any change of hum, nor that there is none."}
	switch {
	case p.Quiet.Overlaps(p.Near):
		would = []string{"Give two captures, or two spans of one that do not overlap."}
	case p.Health.Quiet.Silent || p.Health.Near.Silent:
		would = []string{"Check the input that was recorded, and record both captures again."}
	case mainsDiffer(p.Mains):
		would = []string{"Record both captures on the same mains; if they were, say which it is: --mains 50 or --mains 60."}
	default:
		would = []string{"Record both captures at one sample rate, and longer."}
	}
	return notShown, would
}
