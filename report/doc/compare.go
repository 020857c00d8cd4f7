package doc

import (
	"fmt"
	"slices"

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
		publishSection(r.Head, CompareCaption(r)),
		sureSection(all),
		foundSection(all),
		openSection(all),
		channelSection(r, u),
		linesSection(slices.Collect(CompareTables(r, u)), r.Settings, u, "Floor: near's noise density at the line, in a band of 1 Hz.", "Frequency: the mean of both captures' lines."),
		Section{ID: "figures", Title: "More figures", Blocks: eachOf(r, otherFigures)},
		audibleSection(r),
		warningSection(r.Warnings),
		Section{ID: "conditions", Title: "Conditions", Blocks: pairConditions(r)},
		explainSection(r),
		Section{ID: "check", Title: "Check this with any FFT", Folded: true, Blocks: checks(r)},
		methodSection(r),
		Section{ID: "hashes", Title: "Files", Folded: true, Blocks: pairHashes(r)},
	)
	return d
}

// compared names a pair's files.
func compared(p model.Pair) string {
	return fmt.Sprintf("%s (near) compared with %s (quiet)", Shorten(File(p.Near.File), longName), Shorten(File(p.Quiet.File), longName))
}

// longName is how much of a file's name stands where there is little room; the
// conditions have it whole.
const longName = 36 // characters

// channelSection is a row for each of several channels.
func channelSection(r model.Compare, u Unit) Section {
	if len(r.Pairs) < 2 {
		return Section{}
	}
	return Section{ID: "channels", Title: "Each channel", Short: shortLines, Blocks: []Block{channelTable(r, u)}}
}

// filled leaves out sections that say nothing.
func filled(all ...Section) []Section {
	return slices.DeleteFunc(all, func(s Section) bool { return len(s.Blocks) == 0 })
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

// audibleSection has each pair's lines at the listener; nothing where no playback
// chain was given.
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
	s := Section{ID: "method", Title: "How it was measured", Folded: true}
	if len(r.Pairs) > 0 {
		s.Blocks = []Block{List{Items: methodOfPair(r.Pairs[0].Near)}}
	}
	return s
}

func pairHashes(r model.Compare) []Block {
	var all []side
	for _, p := range r.Pairs {
		all = append(all, pairSides(p)...)
	}
	if len(all) == 0 {
		return nil
	}
	return hashes(all)
}
