// Package words says a result in sentences. It comes before tables and
// figures: what was found, what that stands on, what it does not show yet, and
// what would. It assumes a result as it is printed; it calculates nothing but
// counts, and it never gives a number to a line that was not detected.
package words

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/report/result"
)

// Statement is what a result says of one channel.
type Statement struct {
	Of       string   // which channel or capture; empty where there is only one
	Found    []string // what was found, the most important first
	StandsOn []string // the evidence
	NotShown []string // what does not follow yet
	Would    []string // what would show it
}

// Compare says a comparison in sentences: for each pair what was found and
// what it stands on, then, once, what is not shown yet and what would show it.
func Compare(r result.Compare) []string { return sentences(Pairs(r)) }

// Measure says in sentences what was measured in each capture.
func Measure(r result.Measure) []string { return sentences(Captures(r)) }

// Pairs is one statement for each pair.
func Pairs(r result.Compare) []Statement {
	var all []Statement
	for _, p := range r.Pairs {
		s := pair(p, r.Settings)
		s.Found = slices.Insert(s.Found, 1, doubtful(r.Warnings, p.Quiet, p.Near)...)
		if len(r.Pairs) > 1 {
			s.Of = Channels(p)
		}
		all = append(all, s)
	}
	return all
}

// Channels names the channels of a pair, e.g. "Channel 1".
func Channels(p result.Pair) string {
	if p.Quiet.Channel == p.Near.Channel {
		return fmt.Sprintf("Channel %d", p.Near.Channel)
	}
	return fmt.Sprintf("Near channel %d, quiet channel %d", p.Near.Channel, p.Quiet.Channel)
}

func sentences(all []Statement) []string {
	var out []string
	for _, s := range all {
		first := len(out)
		out = append(append(out, s.Found...), s.StandsOn...)
		if s.Of != "" && first < len(out) {
			out[first] = s.Of + ": " + lowerFirst(out[first])
		}
	}
	return append(append(out, NotShown(all)...), Would(all)...)
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// NotShown gathers what the statements don't show yet, each thing once, with
// the channels it is said of where it isn't said of all.
func NotShown(all []Statement) []string {
	return once(all, func(s Statement) []string { return s.NotShown })
}

// Would gathers what would show it, as NotShown does.
func Would(all []Statement) []string {
	return once(all, func(s Statement) []string { return s.Would })
}

func once(all []Statement, part func(Statement) []string) []string {
	var order []string
	of := map[string][]string{} // whom a sentence is said of
	for _, s := range all {
		for _, sentence := range part(s) {
			if of[sentence] == nil {
				order = append(order, sentence)
			}
			of[sentence] = append(of[sentence], s.Of)
		}
	}
	for i, sentence := range order {
		if names := of[sentence]; len(names) < len(all) {
			order[i] = strings.Join(names, "; ") + ": " + lowerFirst(sentence)
		}
	}
	return order
}

// change is what a delta says about the direction in which hum went.
type change int

const (
	undecided change = iota // one side has hum, but its limits allow both directions
	rose
	fell
	same    // the interval holds zero
	nothing // neither side has hum
)

func changeOf(d result.Delta) change {
	switch d.State {
	case result.Measured:
		switch {
		case d.LoDB > 0:
			return rose
		case d.HiDB < 0:
			return fell
		}
		return same
	case result.AtLeast:
		if d.LoDB > 0 {
			return rose
		}
	case result.AtMost:
		if d.HiDB < 0 {
			return fell
		}
	default:
		return nothing
	}
	return undecided
}

func pair(p result.Pair, set result.Settings) Statement {
	if Clipped(p) != "" {
		return clippedPair(p, set)
	}
	s := Statement{Found: []string{Headline(p, set)}}
	s.Found = append(s.Found, LineCounts(p)...)
	s.Found = append(s.Found, strongest(p, set)...)
	s.Found = append(s.Found, fallen(p)...)
	s.Found = append(s.Found, pickup(p.Hum)...)
	if p.Residual != nil {
		s.Found = append(s.Found, residual(p.Hum, *p.Residual)...)
	}
	if p.Audibility != nil {
		s.Found = append(s.Found, Audible(*p.Audibility)...)
	}
	s.StandsOn = append(standsOn(p), scale(set)...)
	if s.NotShown, s.Would = open(changeOf(p.Hum.Delta)); Obstacle(p) != "" {
		s.NotShown, s.Would = apart(p)
	} else if changeOf(p.Hum.Delta) == nothing {
		s.Would = append(s.Would, forLimits(set, p.Hum.Quiet.LimitDBFS, p.Hum.Near.LimitDBFS)...)
		other, again := otherMains(set.Mains, slices.Concat(p.Tones.Quiet, p.Tones.Near))
		s.NotShown, s.Would = append(s.NotShown, other...), append(again, s.Would...)
	}
	s.Would = append(s.Would, wouldScale(set)...)
	return s
}

// Headline is the one sentence that says what became of the hum.
func Headline(p result.Pair, set result.Settings) string {
	if c := Clipped(p); c != "" {
		return notUsable + c + "."
	}
	if o := Obstacle(p); o != "" {
		return notComparable(o)
	}
	d := p.Hum.Delta
	switch c := changeOf(d); {
	case c == same:
		return fmt.Sprintf("No change of hum is shown: %s.", withInterval(d.DB, d.LoDB, d.HiDB, "dB", set))
	case c == nothing:
		return noHum(p.Hum, set)
	case c == undecided && d.State == result.AtLeast:
		return fmt.Sprintf("Hum was found in near and not in quiet, but a rise is not decided: the delta is at least %s.", DB(Down(d.LoDB)))
	case c == undecided:
		return fmt.Sprintf("Hum was found in quiet and not in near, but a fall is not decided: the delta is at most %s.", DB(Up(d.HiDB)))
	case d.State == result.AtLeast:
		return fmt.Sprintf("Hum rose by at least %s: in quiet it lies below the detection limit.", DB(Down(d.LoDB)))
	case d.State == result.AtMost:
		return fmt.Sprintf("Hum fell by at least %s: in near it lies below the detection limit. "+cancelled, DB(Down(-d.HiDB)))
	case c == fell:
		return fmt.Sprintf("Hum fell %s. "+cancelled, withInterval(-d.DB, -d.HiDB, -d.LoDB, "dB", set))
	}
	return fmt.Sprintf("Hum rose %s.", withInterval(d.DB, d.LoDB, d.HiDB, "dB", set))
}

func noHum(h result.PairHum, set result.Settings) string {
	if !h.Quiet.LimitDBFS.Ok() || !h.Near.LimitDBFS.Ok() {
		return noHumOf(set.Mains) + " in either capture."
	}
	return fmt.Sprintf(noHumOf(set.Mains)+": its total lies below %s in quiet and below %s in near.",
		limitOn(set, h.Quiet), limitOn(set, h.Near))
}

// withInterval writes a value and its interval to the same decimals, e.g.
// "14.2 dB (95 % interval 13.9 to 14.5 dB)".
func withInterval(v, lo, hi result.Num, unit string, set result.Settings) string {
	return fmt.Sprintf("%s %s (%s interval %s %s)",
		Fixed(v, Decimals(lo, hi)), unit, Percent(set.Confidence), DBRange(lo, hi), unit)
}

const cancelled = "That is cancellation, or a changed bench, never immunity."

// Counts is how many lines were detected where.
type Counts struct{ Both, NearOnly, QuietOnly, Neither int }

// CountLines counts a pair's lines.
func CountLines(p result.Pair) Counts {
	var n Counts
	for _, l := range p.Lines {
		switch quiet, near := l.Quiet.State == result.Detected, l.Near.State == result.Detected; {
		case quiet && near:
			n.Both++
		case near:
			n.NearOnly++
		case quiet:
			n.QuietOnly++
		default:
			n.Neither++
		}
	}
	return n
}

// LineCounts says how many lines were found where, if any was.
func LineCounts(p result.Pair) []string {
	n := CountLines(p)
	if len(p.Lines) == n.Neither {
		return nil
	}
	return []string{fmt.Sprintf("Of %s, %s found in both captures, %d in near only, %d in quiet only, %d in neither.",
		Count(len(p.Lines), "line"), were(n.Both), n.NearOnly, n.QuietOnly, n.Neither)}
}

// strongest names the strongest line in near: unlike the largest delta it is
// not picked for its luck.
func strongest(p result.Pair, set result.Settings) []string {
	best := -1
	for i, l := range p.Lines {
		if l.Near.State == result.Detected && (best < 0 || l.Near.DBFS > p.Lines[best].Near.DBFS) {
			best = i
		}
	}
	if best < 0 {
		return nil
	}
	l := p.Lines[best]
	return []string{fmt.Sprintf("The strongest line in near is harmonic %d (%s): %s; delta %s.",
		l.Harmonic, Hz(LineHz(l, p.Mains.NearHz)), levelOn(set, l.Near.DBFS, l.Near.Volts), Delta(l.Delta))}
}

// LineHz is a line's frequency in the capture whose mains is given; where that
// isn't known, the mean of both captures' that the line has itself.
func LineHz(l result.PairLine, mains result.Num) result.Num {
	if !mains.Ok() || mains <= 0 {
		return l.Hz
	}
	return mains * result.Num(l.Harmonic)
}

// levelOn writes a level of a pair: as a voltage alone where the two captures are
// on two scales, since their levels in dBFS can't be compared then.
func levelOn(set result.Settings, dbfs, volts result.Num) string {
	if set.TwoScales() && volts.Ok() {
		return Volts(volts)
	}
	return level(dbfs, volts)
}

// limitOn writes what a total lies below, as levelOn does, rounded up.
func limitOn(set result.Settings, h result.HumSide) string {
	switch dbfs, volts := DBFS(Up(h.LimitDBFS)), VoltsUp(h.LimitVolts); {
	case !h.LimitVolts.Ok():
		return dbfs
	case set.TwoScales():
		return volts
	default:
		return dbfs + " (" + volts + ")"
	}
}

func level(dbfs, volts result.Num) string {
	if volts.Ok() {
		return fmt.Sprintf("%s (%s)", DBFS(dbfs), Volts(volts))
	}
	return DBFS(dbfs)
}

// Delta writes a delta with its unit, e.g. "14.2 dB", "at least 9.1 dB".
func Delta(d result.Delta) string {
	switch d.State {
	case result.Measured:
		return DB(d.DB)
	case result.AtLeast:
		return "at least " + DB(Down(d.LoDB))
	case result.AtMost:
		return "at most " + DB(Up(d.HiDB))
	}
	return "not measurable"
}

// deltaInterval writes a delta and, where it has both ends, its interval.
func deltaInterval(d result.Delta, set result.Settings) string {
	if d.State != result.Measured || !d.LoDB.Ok() || !d.HiDB.Ok() {
		return Delta(d)
	}
	return withInterval(d.DB, d.LoDB, d.HiDB, "dB", set)
}

func fallen(p result.Pair) []string {
	n := 0
	for _, l := range p.Lines {
		if Below(l.Delta) {
			n++
		}
	}
	if n == 0 || changeOf(p.Hum.Delta) == fell {
		return nil
	}
	return []string{fmt.Sprintf("In %s near lies below quiet. "+cancelled, Count(n, "line"))}
}

// Below reports whether a line lies below quiet beyond chance: by twice its
// interval where it was measured, as among many lines some lie below by once.
func Below(d result.Delta) bool {
	if changeOf(d) != fell {
		return false
	}
	return d.State == result.AtMost || d.DB+2*(d.HiDB-d.DB) < 0
}

func pickup(h result.PairHum) []string {
	p := h.Pickup
	if !p.HiVolts.Ok() || changeOf(h.Delta) == nothing {
		return nil
	}
	if p.LoVolts > 0 && changeOf(h.Delta) == fell {
		return []string{fmt.Sprintf("If the lead did that, the pickup that cancels lies between %s and %s (rms).", Volts(p.LoVolts), Volts(p.HiVolts))}
	}
	if p.LoVolts > 0 {
		return []string{fmt.Sprintf("The pickup lies between %s and %s (rms).", Volts(p.LoVolts), Volts(p.HiVolts))}
	}
	return []string{fmt.Sprintf("The pickup lies below %s (rms).", Volts(p.HiVolts))}
}

// residual says how near stands above what the instrument adds by itself.
func residual(h result.PairHum, r result.Capture) []string {
	const whose = "The residual, the input shorted, "
	switch own, near := r.Hum, h.NearDBFS; {
	case r.Health.Silent:
		return []string{whose + "is silent: it says nothing of the instrument."}
	case own.DBFS.Ok() && near.Ok():
		return []string{fmt.Sprintf(whose+"has hum of %s, %s %s near's.", level(own.DBFS, own.Volts), DB(result.Num(math.Abs(float64(near-own.DBFS)))), under(near >= own.DBFS))}
	case own.DBFS.Ok():
		return []string{fmt.Sprintf(whose+"has hum of %s.", level(own.DBFS, own.Volts))}
	case own.LimitDBFS.Ok() && near.Ok() && near > own.LimitDBFS:
		return []string{fmt.Sprintf(whose+"has no hum that could be found: it lies at least %s below near's.", DB(Down(near-own.LimitDBFS)))}
	case own.LimitDBFS.Ok():
		return []string{fmt.Sprintf(whose+"has no hum that could be found: it lies below %s.", DBFS(Up(own.LimitDBFS)))}
	}
	return []string{whose + "has no hum that could be found."}
}

func under(below bool) string {
	if below {
		return "below"
	}
	return "above"
}

func standsOn(p result.Pair) []string {
	s := fmt.Sprintf("This stands on one placement of the lead: %s of quiet and %s of near",
		averaged(p.Quiet, p.Health.Quiet), averaged(p.Near, p.Health.Near))
	if p.Hum.Lines > 0 {
		s += fmt.Sprintf("; hum is the sum of %s to %s", Count(p.Hum.Lines, "line"), Hz(result.Num(p.Hum.UpToHz)))
	}
	return []string{s + "."}
}

// averaged is how much of a capture its levels are made of.
func averaged(s result.Side, h result.Health) string {
	seconds := s.EndS - s.StartS
	if !(h.LeftOutS > 0) {
		return Seconds(seconds)
	}
	return fmt.Sprintf("%s (of %s; bursts are left out)", tenths(seconds-float64(h.LeftOutS)), Seconds(seconds))
}

// open says what a change of the hum total leaves open.
func open(c change) (notShown, would []string) {
	repeats := "This does not show how well it repeats: the interval holds recording noise alone, and placing the lead again changes pickup by decibels."
	again := "Repeat with the lead taken away and put back."
	switch c {
	case rose:
		return []string{"This does not show yet that the lead's voltage is the cause: anything that changed between the captures can raise hum.", repeats},
			[]string{"Record a dead run: the same lead in the same place, unplugged.", again}
	case fell:
		return []string{"This does not show what changed between the captures.", repeats},
			[]string{"Check the order: quiet and near may have been swapped.", "Record quiet once more, then a dead run: the same lead in the same place, unplugged.", again}
	case undecided:
		return []string{"This does not show whether hum changed."},
			[]string{"Record longer: that lowers the detection limit.", again}
	}
	return []string{"This does not show that the cable is immune: an exposure that raises no cable shows no difference."},
		[]string{"Record a witness, a cable known to leak, under the same exposure.", again}
}

// were writes a number with its verb, e.g. "1 was", "12 were".
func were(n int) string {
	if n == 1 {
		return "1 was"
	}
	return fmt.Sprintf("%d were", n)
}
