package doc

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// change is what a delta says about the direction in which hum went.
type change int

const (
	undecided change = iota // one side has hum, but its limits allow both directions
	rose
	fell
	same    // the interval holds zero
	nothing // neither side has hum
)

func changeOf(d model.Estimate) change {
	lo, hi := ends(d)
	switch {
	case !d.Known():
		return nothing
	case lo.Ok() && lo > 0:
		return rose
	case hi.Ok() && hi < 0:
		return fell
	case d.Measured():
		return same
	}
	return undecided
}

// CompareHeadline is the answer of a comparison, for all its channels in one
// sentence where they say the same.
func CompareHeadline(r model.Compare) string {
	switch len(r.Pairs) {
	case 0:
		return "Nothing was compared."
	case 1:
		return Headline(r.Pairs[0], r.Settings)
	}
	if s := oneVerb(r.Pairs); s != "" {
		return s
	}
	said := each(r.Pairs[:min(len(r.Pairs), mostHeaded)], func(p model.Pair) string { return channels(p) + ": " + lowerFirst(Headline(p, r.Settings)) })
	if more := len(r.Pairs) - mostHeaded; more > 0 {
		said = append(said, fmt.Sprintf("And %s more.", Count(more, "channel")))
	}
	return strings.Join(said, " ")
}

// mostHeaded is how many channels a headline has.
const mostHeaded = 4

// oneVerb is one sentence for channels that all rose, or all fell, by a measured
// amount; empty for others.
func oneVerb(pairs []model.Pair) string {
	verbs := map[change]string{rose: "rose", fell: "fell"}
	all := changeOf(pairs[0].Hum.Delta)
	if verbs[all] == "" {
		return ""
	}
	var parts []string
	least, most := math.Inf(1), 0.0
	for _, p := range pairs {
		v, ok := p.Hum.Delta.Value()
		if !ok || changeOf(p.Hum.Delta) != all || Clipped(p) != "" || Obstacle(p) != "" {
			return ""
		}
		least, most = min(least, max(v, -v)), max(most, v, -v)
		parts = append(parts, DB(model.Num(max(v, -v)))+" on "+lowerFirst(channels(p)))
	}
	if len(pairs) > mostHeaded {
		return fmt.Sprintf("Hum %s %s dB on all %d channels, on one placement of the lead.", verbs[all], between(Fixed(model.Num(least), 1), Fixed(model.Num(most), 1)), len(pairs))
	}
	return fmt.Sprintf("Hum %s %s, on one placement of the lead.", verbs[all], and(parts))
}

// Headline is the one sentence that says what became of a pair's hum. It has no
// interval: recording noise's is told by its name in HowSure.
func Headline(p model.Pair, set model.Settings) string {
	if c := Clipped(p); c != "" {
		return notUsable + c + "."
	}
	if o := Obstacle(p); o != "" {
		return notComparable(o)
	}
	d := p.Hum.Delta
	lo, hi := ends(d)
	v, measured := d.Value()
	switch c := changeOf(d); {
	case c == same:
		return "No change of hum is shown on one placement of the lead: the delta is " + Delta(d) + "."
	case c == nothing:
		return noHum(p, set)
	case c == undecided && lo.Ok():
		return "Hum was found in near alone, yet a rise is not decided: the delta is " + Delta(d) + "."
	case c == undecided:
		return "Hum was found in quiet alone, yet a fall is not decided: the delta is " + Delta(d) + "."
	case c == rose && !measured:
		return fmt.Sprintf("Hum rose by at least %s%s.", DB(down(lo)), oncePlaced)
	case c == fell && !measured:
		return fmt.Sprintf("Hum fell by at least %s%s.", DB(down(-hi)), oncePlaced)
	case c == fell:
		return fmt.Sprintf("Hum fell %s%s.", DB(model.Num(-v)), oncePlaced)
	}
	return fmt.Sprintf("Hum rose %s%s.", DB(model.Num(v)), oncePlaced)
}

const oncePlaced = " on one placement of the lead"

func noHum(p model.Pair, set model.Settings) string {
	_, quiet := ends(p.Hum.Quiet)
	_, near := ends(p.Hum.Near)
	if !quiet.Ok() || !near.Ok() {
		return noHumOf(set.Mains) + " in either capture."
	}
	return fmt.Sprintf("%s: quiet lies %s, near %s.", noHumOf(set.Mains),
		LevelOn(set, model.ForQuiet, p.Hum.Quiet), LevelOn(set, model.ForNear, p.Hum.Near))
}

// noHumOf begins what is said where nothing was found.
func noHumOf(asked string) string {
	if asked == "50" || asked == "60" {
		return "No hum of a " + asked + " Hz mains was found"
	}
	return "No hum was found"
}

// HowSure says what a headline's number leaves open, each thing by its name.
func HowSure(p model.Pair, set model.Settings) []string {
	if Clipped(p) != "" || Obstacle(p) != "" {
		return nil
	}
	d := p.Hum.Delta
	const again = "Placing the lead again changes pickup by decibels."
	switch c := changeOf(d); {
	case c == nothing:
		return nil
	case d.Measured() && Interval(d) != "":
		s := fmt.Sprintf("The %s interval from %s is %s.", Percent(set.Confidence), sources(set), Interval(asSaid(d)))
		if c == fell {
			return []string{s, cancelled}
		}
		return []string{s, again}
	case c == rose:
		return []string{"In quiet hum lies below its upper limit, so the rise has no upper end.", again}
	case c == fell:
		return []string{"In near hum lies below its upper limit, so the fall has no upper end.", cancelled}
	}
	return []string{again}
}

// asSaid is a delta in the sense in which it is told: of a fall, how far hum fell.
func asSaid(d model.Estimate) model.Estimate {
	if v, lo, hi := d.Numbers(); changeOf(d) == fell && d.Measured() {
		return estimate.Of(-v, -hi, -lo)
	}
	return d
}

// sources are what the interval of a delta holds.
func sources(set model.Settings) string {
	if set.TwoScales() {
		return "recording noise and the step between the two scales"
	}
	return "recording noise alone"
}

const cancelled = "That is cancellation, or a changed bench, never immunity."

const notUsable = "Not usable as it is: "

func notComparable(obstacle string) string { return "Not comparable: " + obstacle + "." }

// Clipped says how many samples of which capture are clipped, e.g. "12 samples
// of near are clipped"; empty where none are.
func Clipped(p model.Pair) string {
	q, n := p.Quiet.Health.Clipped, p.Near.Health.Clipped
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
	verb := "are"
	if n == 1 {
		verb = "is"
	}
	return fmt.Sprintf("%s%s %s clipped", Count(n, "sample"), of, verb)
}

// Obstacle is why the hum of a pair can't be compared, e.g. "the mains is 50 Hz
// in quiet and 60 Hz in near"; empty where it can.
func Obstacle(p model.Pair) string {
	if p.Quiet.Overlaps(p.Near.Side) {
		return "quiet and near are the same recording, or share a part of it"
	}
	if p.Hum.Delta.Why() == "same_recording" {
		return "quiet and near are one recording"
	}
	switch q, n := p.Quiet.Health.Silent, p.Near.Health.Silent; {
	case q && n:
		return "nothing was recorded in quiet nor in near"
	case q:
		return "nothing was recorded in quiet"
	case n:
		return "nothing was recorded in near"
	}
	if p.Unlike() {
		return fmt.Sprintf("the mains is %s in quiet and %s in near", Hz(p.Quiet.Mains.NominalHz), Hz(p.Near.Mains.NominalHz))
	}
	found := p.Hum.Quiet.Measured() || p.Hum.Near.Measured()
	switch {
	case changeOf(p.Hum.Delta) != nothing || !found:
		return ""
	case p.Hum.Lines == 0:
		return "the hum totals of quiet and near are sums over different lines"
	}
	return "the hum found is too weak for any bound"
}

type doubt struct{ code, says string }

// doubts are the warnings that can move a level by more than its interval says,
// each in the words in which a sentence has it.
var doubts = []doubt{
	{"digital_zero", "gaps of digital silence"},
	{"stuck", "stretches that stand still"},
	{"repeated_block", "blocks of samples that come twice"},
	{"phase_jumps", "samples lost or doubled"},
	{"flat_tops", "tops cut off below full scale"},
	{"gated", "a gate that closes"},
	{"gain_moves", "a gain that moves"},
	{"ends_unlike", "first or last seconds unlike the rest"},
	{"hum_fades", "hum that fades"},
}

// doubtful says which captures carry such warnings: it stands right behind the
// headline, since what follows rests on them.
func doubtful(all []model.Warning, sides ...model.Side) []string {
	var out []string
	for _, s := range sides {
		var has []string
		for _, d := range doubts {
			if slices.ContainsFunc(all, func(w model.Warning) bool { return w.Code == d.code && w.File == s.File && w.Channel == s.Channel }) {
				has = append(has, d.says)
			}
		}
		if len(has) > 0 {
			out = append(out, fmt.Sprintf("Look at the warnings first: %s has %s.", Shorten(File(s.File), longName), and(has)))
		}
	}
	return slices.Compact(out)
}
