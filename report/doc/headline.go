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
type change = string

const (
	undecided change = "undecided" // one side has hum, but its limits allow both directions
	rose      change = "rose"
	fell      change = "fell"
	same      change = "same"    // the interval holds zero
	nothing   change = "nothing" // neither side has hum
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

// pairSaid is a pair with what its sentences have besides.
type pairSaid struct {
	model.Pair
	Set               model.Settings
	Clipped, Obstacle string
	Change            change
}

func pairOf(p model.Pair, set model.Settings) pairSaid {
	return pairSaid{p, set, Clipped(p), Obstacle(p), changeOf(p.Hum.Delta)}
}

// Sound says that something can be read off the pair.
func (p pairSaid) Sound() bool { return p.Clipped == "" && p.Obstacle == "" }

// By is by how much hum rose or fell, e.g. "11.3 dB", "by at least 9.1 dB". What would
// be printed as no change at all is "by less than 0.1 dB".
func (p pairSaid) By() string {
	v, lo, hi := p.AsSaid().Numbers()
	if p.Change == fell && !p.Hum.Delta.Measured() {
		lo = -hi
	}
	if p.Hum.Delta.Measured() {
		if v < 0.05 {
			return "by less than 0.1 dB"
		}
		return DB(model.Num(v))
	}
	return "by at least " + DB(down(model.Num(lo)))
}

// AsSaid is the delta in the sense in which it is told: of a fall, how far hum fell.
func (p pairSaid) AsSaid() model.Estimate {
	if v, lo, hi := p.Hum.Delta.Numbers(); p.Change == fell && p.Hum.Delta.Measured() {
		return estimate.Of(-v, -hi, -lo)
	}
	return p.Hum.Delta
}

// Interval is the delta's, in the sense in which it is told.
func (p pairSaid) Interval() string { return Interval(p.AsSaid()) }

// Sources are what the interval holds.
func (p pairSaid) Sources() string { return sources(p.Set) }

// Of is a level of one side, in volts too where they are known.
func (p pairSaid) Of(side string, level model.Estimate) string { return levelOn(p.Set, side, level) }

// NoHum begins what is said where nothing was found.
func (p pairSaid) NoHum() string { return noHumOf(p.Set.Mains) }

// CompareHeadline is the answer of a comparison, for all its channels in one
// sentence where they say the same.
func CompareHeadline(r model.Compare) string {
	switch len(r.Pairs) {
	case 0:
		return "Nothing was compared."
	case 1:
		return headline(r.Pairs[0], r.Settings)
	}
	if s := oneVerb(r.Pairs); s != "" {
		return s
	}
	said := each(r.Pairs[:min(len(r.Pairs), mostHeaded)], func(p model.Pair) string { return channels(p) + ": " + lowerFirst(headline(p, r.Settings)) })
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
	var parts []string
	least, most, verb := math.Inf(1), 0.0, changeOf(pairs[0].Hum.Delta)
	for _, pair := range pairs {
		p := pairOf(pair, model.Settings{})
		v, ok := p.AsSaid().Value()
		if !ok || p.Change != verb || verb != rose && verb != fell || !p.Sound() {
			return ""
		}
		least, most = min(least, v), max(most, v)
		parts = append(parts, p.By()+" on "+lowerFirst(channels(pair)))
	}
	if len(pairs) > mostHeaded {
		return fmt.Sprintf("Hum %s %s dB on all %d channels, on one placement of the lead.", verb, between(Fixed(model.Num(least), 1), Fixed(model.Num(most), 1)), len(pairs))
	}
	return fmt.Sprintf("Hum %s %s, on one placement of the lead.", verb, and(parts))
}

// headline is the one sentence that says what became of a pair's hum. It has no
// interval: recording noise's is told by its name in "How sure".
func headline(p model.Pair, set model.Settings) string {
	return tellOne("pair.headline", pairOf(p, set))
}

// rise is the finding of a pair in so few words that it can stand above a figure.
func rise(p model.Pair, set model.Settings) string { return tellOne("pair.rise", pairOf(p, set)) }

// noHumOf begins what is said where nothing was found.
func noHumOf(asked string) string {
	if asked == "50" || asked == "60" {
		return "No hum of a " + asked + " Hz mains was found"
	}
	return "No hum was found"
}

// sources are what the interval of a delta holds.
func sources(set model.Settings) string {
	if set.TwoScales() {
		return "recording noise and the step between the two scales"
	}
	return "recording noise alone"
}

// Clipped says how many samples of which capture are clipped, e.g. "12 samples
// of near are clipped"; empty where none are.
func Clipped(p model.Pair) string {
	return tellOne("pair.clipped", map[string]any{"quiet": p.Quiet.Health.Clipped, "near": p.Near.Health.Clipped})
}

// Obstacle is why the hum of a pair can't be compared, e.g. "the mains is 50 Hz
// in quiet and 60 Hz in near"; empty where it can.
func Obstacle(p model.Pair) string {
	found := p.Hum.Quiet.Measured() || p.Hum.Near.Measured()
	return tellOne("pair.obstacle", map[string]any{"pair": p, "overlaps": p.Quiet.Overlaps(p.Near.Side),
		"foundAndUnknown": found && changeOf(p.Hum.Delta) == nothing})
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
	{"hum_fades", "hum that fades"},
	{"reference_moved", "a reference that may pick up the lead"},
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
			out = appendOnce(out, fmt.Sprintf("Look at the warnings first: %s has %s.", shorten(File(s.File), longName), and(has)))
		}
	}
	return out
}
