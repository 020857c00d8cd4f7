package doc

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/report/model"
)

// Compare tells a comparison, with levels in the unit that suits it.
func Compare(r model.Compare) Document { return CompareIn(r, UnitFor(r.Settings)) }

// CompareIn is Compare with levels in a unit.
func CompareIn(r model.Compare, u Unit) Document {
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
	d.Sections = filled(
		Section{ID: "figure", Title: "The spectrum", Blocks: spectra(r)},
		publishSection(r.Head, CompareCaption(r), said),
		sureSection(all),
		foundSection(all),
		openSection(all),
		channelSection(r, u),
		linesSection(slices.Collect(CompareTables(r, u)), r.Settings, u, "Floor: near's noise density at the line, in a band of 1 Hz.", "Frequency: the mean of both captures' lines."),
		weighted(r.Settings, u, sidesByChannel(r)),
		Section{ID: "figures", Title: "More figures", Blocks: eachOf(r, otherFigures)},
		audibleSection(r),
		warningSection(r.Warnings),
		Section{ID: "conditions", Title: "Conditions", Blocks: pairConditions(r)},
		explainSection(r),
		Section{ID: "check", Title: "Check this with any FFT", Folded: true, Blocks: checks(r)},
		methodSection(r),
		hashes(everySide(r)),
	)
	return d
}

func compared(p model.Pair) string {
	return fmt.Sprintf("%s (near) compared with %s (quiet)", Shorten(File(p.Near.File), longName), Shorten(File(p.Quiet.File), longName))
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
		return len(b.Items) == 0
	case Facts:
		return len(b.Of) == 0
	case Table:
		return len(b.Rows)+len(b.Notes) == 0
	case Columns:
		return len(b) == 0
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
	blocks := eachOf(r, func(i int, _ model.Pair) []Block {
		if i >= mostDrawn {
			return nil
		}
		return []Block{Figure{Name: "spectrum", Index: i}}
	})
	if left := len(r.Pairs) - mostDrawn; left > 0 {
		blocks = append(blocks, List{Items: []string{fmt.Sprintf("Figures of %s more are in files of their own.", Count(left, "channel"))}})
	}
	return blocks
}

func otherFigures(i int, p model.Pair) []Block {
	var all []Block
	if n := CountLines(p); n.Both+n.NearOnly+n.QuietOnly > 0 && i < mostDrawn {
		all = append(all, Figure{Name: "lines", Index: i})
	}
	if (len(p.Near.Cycle.Samples) > 1 || len(p.Quiet.Cycle.Samples) > 1) && i < mostDrawn {
		all = append(all, Figure{Name: "cycle", Index: i})
	}
	return all
}

// audibleSection compares hum with a programme and with the threshold of hearing,
// where that was asked.
func audibleSection(r model.Compare) Section {
	s := Section{ID: "audible", Title: "Hum and programme", Short: shortHeard}
	s.Blocks = eachOf(r, func(i int, p model.Pair) []Block {
		if p.Audibility == nil {
			return nil
		}
		said := AudibleSaid(*p.Audibility)
		list := List{Items: said, Brief: first(said, 2)}
		if p.Audibility.Verdict == model.NotPlayed {
			return []Block{list}
		}
		s.Title = "Could it be heard"
		t := AudibleTable(*p.Audibility)
		t.ID += fmt.Sprint(i + 1)
		return []Block{list, t}
	})
	return s
}

func pairConditions(r model.Compare) []Block {
	blocks := eachOf(r, func(i int, p model.Pair) []Block {
		return []Block{sidesTable(fmt.Sprintf("conditions%d", i+1), pairSides(p))}
	})
	return append(blocks, settingsFacts(r.Settings))
}

func explainSection(r model.Compare) Section {
	s := Section{ID: "others", Title: "What could still explain it"}
	if advice := explain(r); len(advice) > 0 {
		s.Blocks = []Block{advice, cautionList()}
	}
	return s
}

func checks(r model.Compare) []Block {
	return eachOf(r, func(i int, p model.Pair) []Block { return anyFFT(i, p, r.Settings) })
}

func methodSection(r model.Compare) Section {
	if len(r.Pairs) == 0 {
		return Section{}
	}
	return methodOf(r.Pairs[0].Near, differences...)
}

func everySide(r model.Compare) (all []side) {
	for _, p := range r.Pairs {
		all = append(all, pairSides(p)...)
	}
	return all
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

// explanation is what could still explain a result, and the run that would tell.
type explanation = struct{ Text, Answer string }

// explain lists what could still explain a comparison. Where nothing rose, only
// what can hide a rise; pairs that nothing can be read off need no explanation but
// that.
func explain(r model.Compare) Advice {
	var out Advice
	var sound []model.Pair
	for _, p := range r.Pairs {
		switch {
		case Clipped(p) != "":
			out = append(out, explanation{"Clipping, which makes lines of its own and changes the levels of others.", "Record again at a lower gain."})
		case Obstacle(p) != "":
			out = append(out, explanation{"Nothing yet: there is no comparison to explain, as " + Obstacle(p) + ".", "Record both captures again."})
		default:
			sound = append(sound, p)
		}
	}
	out = slices.Compact(out)
	has := func(c change) bool {
		return slices.ContainsFunc(sound, func(p model.Pair) bool { return changeOf(p.Hum.Delta) == c })
	}
	if has(rose) || has(fell) {
		out = append(out, ofAnyChange...)
	}
	if has(rose) {
		out = append(out, explanation{"The instrument picked it up, not the cable.", ofInstrument(sound)})
		out = append(out, ofRise...)
	}
	if has(fell) {
		out = append(out, ofFall...)
	}
	if len(sound) > 0 && !has(rose) {
		out = append(out, ofNoRise...)
	}
	return out
}

var (
	ofAnyChange = Advice{
		{"Something else changed between the captures: a device switched on, a cable or a hand moved, another gain.", "Record quiet again after near."},
		{"Laying the lead there changed the bench, with or without voltage on it.", "Record an unplugged-lead control: the same lead in the same place, unplugged."},
	}
	ofRise = Advice{
		{"The lead's current did it, not its voltage; or current in a loop of earths.",
			"Change one thing at a time: the load on the lead, the termination, the far device's earth. This comparison alone names no mechanism."},
		{"This placement was a lucky or an unlucky one.", "Repeat with the lead taken away and put back."},
	}
	ofFall = Advice{
		{"Quiet and near were given in the wrong order.", "Check which file is which."},
		{"The new hum cancels the old: they add as waves do, and can be opposite.", "Lower the hum in quiet, or move the lead and record again."},
	}
	ofNoRise = Advice{
		{"The exposure was too weak to raise any cable.", "Record a positive control, a cable known to leak, under the same exposure."},
		{"A rise is hidden below the upper limits.", "Record longer."},
	}
)

func ofInstrument(pairs []model.Pair) string {
	if slices.ContainsFunc(pairs, func(p model.Pair) bool { return p.Residual == nil }) {
		return "Record a residual under the same exposure: the input shorted at its connector, or closed with the source's resistance."
	}
	return "A residual was recorded, see above: it speaks to this only if the lead lay there then too."
}

// standsOut is how far above the noise of a bin a line has to be so that its
// peak reads its level: 15 dB of noise below adds 0.14 dB.
const standsOut = 15

// anyFFT says what anyone can read off an averaged spectrum of a pair's captures.
func anyFFT(i int, p model.Pair, set model.Settings) []Block {
	clear := standingOut(p)
	if len(clear) == 0 {
		return []Block{List{Items: []string{"No line stands far enough out of the noise of a bin to be read off an ordinary spectrum."}}}
	}
	t := Table{ID: fmt.Sprintf("expect%d", i+1), Title: "Levels to expect",
		Columns: []Column{{Head: "harmonic"}, {Head: "near at"}, {Head: "near"}, {Head: "quiet at"}, {Head: "quiet"}}}
	for _, l := range clear {
		quiet := "does not stand out"
		if over(l.Quiet, p.Quiet.Trace) >= standsOut {
			quiet = Level(l.Quiet.Level)
		}
		t.Rows = append(t.Rows, Row{Shown: true, Cells: []Cell{{Text: fmt.Sprint(l.Harmonic)},
			{Text: Hz(l.LineHz(p.Near.Mains.Hz))}, {Text: Level(l.Near.Level)}, {Text: Hz(l.LineHz(p.Quiet.Mains.Hz))}, {Text: quiet}}})
	}
	after := []string{"A program in which a full-scale sine reads −3 dB gives 3 dB less throughout.", "The difference between the two captures is the same in any of them."}
	if set.TwoScales() && set.Step.DB.Ok() {
		after = append(after, fmt.Sprintf("The two have different full scales: add %s dB to near less quiet as read, to have the delta at the input.", Signed(set.Step.DB)))
	}
	return []Block{List{Kind: Prose, Items: howToRead(p)}, t, List{Kind: Prose, Items: after}}
}

func howToRead(p model.Pair) []string {
	points := ""
	if bin := p.Near.Trace.BinHz; bin.Ok() && bin > 0 {
		points = fmt.Sprintf(", %.0f points or the nearest length on offer", math.Round(float64(p.Near.RateHz)/float64(bin)))
	}
	return []string{
		fmt.Sprintf("Take an averaged spectrum of %s and of %s.", whereOf(p.Near.Side), whereOf(p.Quiet.Side)),
		fmt.Sprintf("Blackman-Harris window%s, averaged over the whole span, scaled so that a full-scale sine reads 0 dB.", points),
		"The highest points near these frequencies should read these levels, or up to 0.9 dB less where a line falls between two points.",
		"They read less still where the mains frequency wandered during the span.",
	}
}

// standingOut are the three strongest lines in near that can be read.
func standingOut(p model.Pair) []model.Row {
	clear := slices.DeleteFunc(p.Rows(), func(l model.Row) bool { return !(over(l.Near, p.Near.Trace) >= standsOut) })
	slices.SortStableFunc(clear, func(a, b model.Row) int { return cmp.Compare(strength(b), strength(a)) })
	return clear[:min(3, len(clear))]
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
