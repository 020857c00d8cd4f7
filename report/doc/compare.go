package doc

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/report/model"
)

// Compare tells a comparison, with levels in a unit.
func Compare(r model.Compare, u Unit) Document {
	var all []told
	for _, p := range r.Pairs {
		t := tellPair(p, r.Settings, r.Warnings)
		if len(r.Pairs) > 1 {
			t.of = channels(p)
		}
		all = append(all, t)
	}
	d := Document{Title: CompareHeadline(r), Gate: gate(r.MayPublish), Footer: madeBy(r.Head)}
	if len(r.Pairs) > 0 {
		d.Lead = compared(r.Pairs[0])
	}
	sure := append(sureSections(all), Section{})
	d.Sections = filled(
		Section{ID: "figure", Title: "The spectrum", Blocks: spectra(r)},
		publishSection(r.Head, CompareCaption(r), said),
		sure[0],
		sure[1],
		openSection(all),
		channelSection(r, u),
		linesSection(compareTables(r, u), r.Settings, u, "Floor: near's noise density at the line, in a band of 1 Hz.", "Frequency: the mean of both captures' lines."),
		weighted(r.Settings, u, sidesByChannel(r)),
		Section{ID: "figures", Title: "More figures", Blocks: figuresOf(r, false)},
		audibleSection(r),
		warningSection(unsaid(r.Warnings, r.Head)),
		conditionsSection(r),
		Section{ID: "caution", Title: "Before you go to the bench", Blocks: []Block{cautionList()}},
		Section{ID: "check", Title: "Check this with any FFT", Folded: true, Blocks: eachOf(r, func(_ int, p model.Pair) []Block { return anyFFT(p, r.Settings) })},
		methodSection(r),
		hashes(everySide(r)),
	)
	return d
}

func compared(p model.Pair) string {
	return fmt.Sprintf("%s (near) compared with %s (quiet)", shorten(File(p.Near.File), longName), shorten(File(p.Quiet.File), longName))
}

// longName is how much of a file's name stands where there is little room; the
// conditions have it whole.
const longName = 36 // characters

func channelSection(r model.Compare, u Unit) Section {
	if len(r.Pairs) < 2 {
		return Section{}
	}
	return Section{ID: "channels", Title: "Each channel", Short: shortLines, Blocks: []Block{channelTable(r, u)}}
}

// filled leaves out what says nothing: blocks without content, sections without
// blocks.
func filled(all ...Section) []Section {
	for i := range all {
		all[i].Blocks = slices.DeleteFunc(all[i].Blocks, empty)
	}
	return slices.DeleteFunc(all, func(s Section) bool { return len(s.Blocks) == 0 })
}

func empty(b Block) bool {
	switch b := b.(type) {
	case List:
		return len(b.Items)+len(b.Brief) == 0
	case Facts:
		return len(b.Of) == 0
	case Table:
		return len(b.Rows)+len(b.Notes) == 0
	}
	return false
}

// eachOf puts a heading above what is said of each of several pairs.
func eachOf(r model.Compare, say func(i int, p model.Pair) []Block) []Block {
	var blocks []Block
	for i, p := range r.Pairs {
		said := say(i, p)
		if len(said) > 0 && len(r.Pairs) > 1 {
			blocks = append(blocks, Heading{Text: channels(p)})
		}
		blocks = append(blocks, said...)
	}
	return blocks
}

// mostDrawn is how many pairs have their figures on the page: more would make it
// too heavy to mail.
const mostDrawn = 5

// spectra are the spectra of the first pairs, and where the others' are.
func spectra(r model.Compare) []Block {
	blocks := figuresOf(r, true)
	if left := len(r.Pairs) - mostDrawn; left > 0 {
		blocks = append(blocks, List{Items: []string{fmt.Sprintf("Figures of %s more are in files of their own.", Count(left, "channel"))}})
	}
	return blocks
}

// Figures of a pair, by the names of their files.
const (
	SpectrumOf = "spectrum"
	LinesOf    = "lines"
	CycleOf    = "cycle"
	PhasorsOf  = "phasors"
)

// PairFigures are the figures that a pair gives, in the order to show them in.
func PairFigures(p model.Pair) []string {
	all := []string{SpectrumOf}
	if slices.ContainsFunc(p.Rows(), foundIn) {
		all = append(all, LinesOf)
	}
	if len(p.Near.Cycle.Samples) > 1 || len(p.Quiet.Cycle.Samples) > 1 {
		all = append(all, CycleOf)
	}
	if slices.ContainsFunc(p.Lines, func(l model.LineChange) bool { _, _, ok := l.Pickup.Phase(); return ok }) {
		all = append(all, PhasorsOf)
	}
	return all
}

// figuresOf are the first pairs' spectra, or their other figures.
func figuresOf(r model.Compare, spectra bool) []Block {
	return eachOf(r, func(i int, p model.Pair) (all []Block) {
		for _, name := range PairFigures(p) {
			if (name == SpectrumOf) == spectra && i < mostDrawn {
				all = append(all, Figure{Name: name, Index: i})
			}
		}
		return all
	})
}

// audibleSection compares hum with a programme and with the threshold of hearing,
// where that was asked.
func audibleSection(r model.Compare) Section {
	s := Section{ID: "audible", Title: "Hum and programme", Short: shortHeard}
	s.Blocks = eachOf(r, func(i int, p model.Pair) []Block {
		if p.Audibility == nil {
			return nil
		}
		said := audibleSaid(*p.Audibility)
		list := List{Items: said, Brief: first(said, 2)}
		if p.Audibility.Verdict == model.NotPlayed {
			return []Block{list}
		}
		s.Title = "Could it be heard"
		t := audibleTable(*p.Audibility)
		t.ID += fmt.Sprint(i + 1)
		return []Block{list, t}
	})
	return s
}

func methodSection(r model.Compare) Section {
	if len(r.Pairs) == 0 {
		return Section{}
	}
	how := "method.differences"
	if pairOf(r.Pairs[0], r.Settings).ByReference() {
		how = "method.reference"
	}
	return methodOf(r.Pairs[0].Near, r.Settings, how)
}

func everySide(r model.Compare) (all []side) {
	for _, p := range r.Pairs {
		all = append(all, pairSides(p)...)
	}
	return all
}

func conditionsSection(r model.Compare) Section {
	s := Section{ID: "conditions", Title: "Conditions"}
	for i, p := range r.Pairs {
		title := ""
		if len(r.Pairs) > 1 {
			title = "Conditions, " + lowerFirst(channels(p))
		}
		s.Blocks = append(s.Blocks, sidesTable(i, title, pairSides(p)))
	}
	return s
}

// sidesByChannel are all sides, with their channels where there are several pairs.
func sidesByChannel(r model.Compare) []side {
	all := everySide(r)
	for i := range all {
		if all[i].name = upperFirst(all[i].name); len(r.Pairs) > 1 {
			all[i].name += fmt.Sprintf(", channel %d", all[i].Channel)
		}
	}
	return all
}

// standsOut is how far above the noise of a bin a line has to be so that its
// peak reads its level: 15 dB of noise below adds 0.14 dB.
const standsOut = 15

// anyFFT says what anyone can read off an averaged spectrum of a pair's captures.
func anyFFT(p model.Pair, set model.Settings) []Block {
	said := map[string]any{"near": p.Near, "quiet": p.Quiet, "points": model.None, "step": model.None, "lines": standingOut(p)}
	if bin := p.Near.Trace.BinHz; bin.Ok() && bin > 0 {
		said["points"] = model.Num(math.Round(float64(p.Near.RateHz) / float64(bin)))
	}
	if set.TwoScales() {
		said["step"] = set.Step.DB
	}
	return []Block{List{Items: tell("pair.check", said)}}
}

// readable is a line that can be read off an ordinary spectrum of near, and perhaps
// of quiet.
type readable struct {
	model.Row
	NearHz, QuietHz model.Num
	InQuiet         bool
}

// standingOut are the three strongest lines in near that can be read.
func standingOut(p model.Pair) []readable {
	clear := slices.DeleteFunc(p.Rows(), func(l model.Row) bool { return !(over(l.Near, p.Near.Trace) >= standsOut) })
	slices.SortStableFunc(clear, func(a, b model.Row) int { return cmp.Compare(strength(b), strength(a)) })
	return each(clear[:min(3, len(clear))], func(l model.Row) readable {
		return readable{l, l.LineHz(p.Near.Mains.Hz), l.LineHz(p.Quiet.Mains.Hz), over(l.Quiet, p.Quiet.Trace) >= standsOut}
	})
}

// over is how far a line that was found stands above the noise of a bin, in dB.
func over(l model.Line, t model.Trace) float64 {
	v, ok := l.Level.Value()
	if !ok || !l.FloorDBFSHz.Ok() || !t.ENBWHz.Ok() {
		return math.Inf(-1)
	}
	return v - float64(l.FloorDBFSHz) - 10*math.Log10(float64(t.ENBWHz))
}

// whereOf says where to look in a file.
func whereOf(s model.Side) string {
	return fmt.Sprintf("%s, channel %d, from %s to %s", File(s.File), s.Channel, strings.TrimSuffix(Seconds(s.StartS), " s"), Seconds(s.EndS))
}
