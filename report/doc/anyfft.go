package doc

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/report/model"
)

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
	var clear []model.Row
	for _, l := range p.Rows() {
		if over(l.Near, p.Near.Trace) >= standsOut {
			clear = append(clear, l)
		}
	}
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
