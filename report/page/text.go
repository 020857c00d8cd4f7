package page

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"sort"
	"strings"

	"humdiff/report/page/parts"
	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"
)

// others lists what could still explain a result, each with the run that would
// tell. Where nothing rose, only
// what can hide a rise; pairs that nothing can be read off need no explanation
// but that.
func others(r result.Compare) []parts.Item {
	rose, fell := false, false
	var sound []result.Pair
	var out []parts.Item
	for _, p := range r.Pairs {
		switch {
		case words.Clipped(p) != "":
			out = append(out, parts.Item{What: "Clipping, which makes lines of its own and changes the levels of others.", Do: "Record again at a lower gain."})
		case words.Obstacle(p) != "":
			out = append(out, parts.Item{What: "Nothing yet: there is no comparison to explain, as " + words.Obstacle(p) + ".", Do: "Record both captures again."})
		default:
			sound = append(sound, p)
		}
	}
	if out = slices.Compact(out); len(sound) == 0 {
		return out
	}
	for _, p := range sound {
		d := p.Hum.Delta
		rose = rose || d.LoDB.Ok() && d.LoDB > 0
		fell = fell || d.HiDB.Ok() && d.HiDB < 0
	}
	if rose || fell {
		out = append(out,
			parts.Item{What: "Something else changed between the captures: a device switched on, a cable or a hand moved, another gain.", Do: "Record quiet again after near."},
			parts.Item{What: "Laying the lead there changed the bench, with or without voltage on it.", Do: "Record a dead run: the same lead in the same place, unplugged."})
	}
	if rose {
		out = append(out,
			parts.Item{What: "The instrument picked it up, not the cable.", Do: ofInstrument(sound)},
			parts.Item{What: "The lead's current did it, not its voltage; or current in a loop of earths.", Do: "Change one thing at a time: the load on the lead, the termination, the far device's earth. This comparison alone names no mechanism."},
			parts.Item{What: "This placement was a lucky or an unlucky one.", Do: "Repeat with the lead taken away and put back."})
	}
	if fell {
		out = append(out, parts.Item{What: "Quiet and near were given in the wrong order.", Do: "Check which file is which."})
		out = append(out, parts.Item{What: "The new hum cancels the old: they add as waves do, and can be opposite.", Do: "Lower the hum in quiet, or move the lead and record again."})
	}
	if !rose {
		out = append(out,
			parts.Item{What: "The exposure was too weak to raise any cable.", Do: "Record a witness, a cable known to leak, under the same exposure."},
			parts.Item{What: "A rise is hidden below the detection limits.", Do: "Record longer."})
	}
	return out
}

// ofInstrument is what there is of a residual, or what to record.
func ofInstrument(pairs []result.Pair) string {
	for _, p := range pairs {
		if p.Residual == nil {
			return "Record a residual under the same exposure: the input shorted at its connector."
		}
	}
	return "A residual was recorded, see above: it speaks to this only if the lead lay there then too."
}

// method says in brief how the numbers came about.
func method(r result.Compare) []string {
	out := []string{
		"Levels are rms; 0 dBFS is the rms of a full-scale sine (AES17). Frequencies are by the recorder's clock, which can be off by tens of parts in a million.",
		"The mains frequency is found in each capture from all its lines together and followed from block to block. Each line is then averaged at its multiple of that frequency, so that it is found well below what a single spectrum shows.",
		"The noise beside a line is taken off its level. Its interval is that of a steady line in this noise (noncentral chi-square). A line that is not found gets no number, but a detection limit: the level it lies below with 97.5 % confidence.",
		"The delta is near minus quiet in dB. Where one side was not found, the delta is only bounded: at least, or at most. Where neither was found, there is no delta, only the two limits.",
		"Hum adds as waves do, and two separate captures do not tell the phase between old and new hum. So the pickup, what bringing the lead near added, is given as a range: from the difference of the two voltages to their sum.",
		"The hum total is the power sum over one fixed set of lines, the same on both sides.",
	}
	for _, p := range r.Pairs {
		if t := p.Trace.Near; t.BinHz.Ok() && t.ENBWHz.Ok() {
			return append(out, "Spectra: "+table.Bins(t)+".")
		}
	}
	return out
}

type checkLine struct {
	Harmonic                         int
	NearHz, NearDBFS, QuietHz, Quiet string
}

// standsOut is how far above the noise of a bin a line has to be so that its
// peak reads its level: 15 dB of noise below adds 0.14 dB.
const standsOut = 15

// stepped says what to add to a difference that was read between two scales.
func stepped(set result.Settings) string {
	if !set.TwoScales() || !set.Step.DB.Ok() {
		return ""
	}
	return " The two have different full scales: add " + words.Signed(set.Step.DB) + " dB to what is read in near less what is read in quiet, to have the delta at the input."
}

// checkBoxes say what anyone can read off an averaged spectrum of the captures.
func checkBoxes(r result.Compare) []template.HTML {
	var body []template.HTML
	for _, p := range r.Pairs {
		body = append(body, of(r, p)...)
		if read := checkLines(p); len(read) > 0 {
			body = append(body, parts.Box(parts.Text(checkHow(p)), parts.Sheet(checkTable(read, ending(r, p))),
				parts.Text("A program in which a full-scale sine reads -3 dB gives 3 dB less throughout. The difference between the two captures is the same in any of them."+stepped(r.Settings))))
			continue
		}
		body = append(body, parts.Text("No line stands far enough out of the noise of a bin to be read off an ordinary spectrum."))
	}
	return body
}

func checkHow(p result.Pair) string {
	length := ""
	if bin := p.Trace.Near.BinHz; bin.Ok() && bin > 0 {
		length = fmt.Sprintf(", %d points or the nearest length on offer", int(math.Round(float64(p.Near.RateHz)/float64(bin))))
	}
	return fmt.Sprintf("Take an averaged spectrum of %s and of %s: Blackman-Harris window%s, averaged over the whole span, "+
		"scaled so that a full-scale sine reads 0 dB. The highest points near these frequencies should read these levels, or up to 0.9 dB less "+
		"where a line falls between two points, and less still where the mains frequency wandered during the span.",
		where(p.Near), where(p.Quiet), length)
}

func checkTable(read []checkLine, whose string) parts.Table {
	t := parts.Table{Label: "Levels to expect" + whose, Numbers: true,
		Columns: []parts.Column{{Head: "harmonic"}, {Head: "near at"}, {Head: "near"}, {Head: "quiet at"}, {Head: "quiet"}}}
	for _, l := range read {
		t.Rows = append(t.Rows, parts.Row{Cells: parts.Texts(fmt.Sprint(l.Harmonic), l.NearHz, l.NearDBFS, l.QuietHz, l.Quiet)})
	}
	return t
}

// checkLines are the three strongest lines in near.
func checkLines(p result.Pair) []checkLine {
	var clear []result.PairLine
	for _, l := range p.Lines {
		if above(l.Near, p.Trace.Near) >= standsOut {
			clear = append(clear, l)
		}
	}
	sort.SliceStable(clear, func(i, j int) bool { return clear[i].Near.DBFS > clear[j].Near.DBFS })
	var out []checkLine
	for _, l := range clear[:min(3, len(clear))] {
		c := checkLine{Harmonic: l.Harmonic, NearDBFS: words.DBFS(l.Near.DBFS), Quiet: "does not stand out"}
		c.NearHz, c.QuietHz = words.Hz(words.LineHz(l, p.Mains.NearHz)), words.Hz(words.LineHz(l, p.Mains.QuietHz))
		if above(l.Quiet, p.Trace.Quiet) >= standsOut {
			c.Quiet = words.DBFS(l.Quiet.DBFS)
		}
		out = append(out, c)
	}
	return out
}

// above is how far a detected line stands above the noise of a bin, in dB.
func above(l result.Line, t result.Trace) float64 {
	if l.State != result.Detected || !l.DBFS.Ok() || !l.FloorDBFSHz.Ok() || !t.ENBWHz.Ok() {
		return math.Inf(-1)
	}
	return float64(l.DBFS-l.FloorDBFSHz) - 10*math.Log10(float64(t.ENBWHz))
}

// where says where to look in a file.
func where(s result.Side) string {
	return fmt.Sprintf("%s, channel %d, from %s to %s", words.File(s.File), s.Channel,
		strings.TrimSuffix(words.Seconds(s.StartS), " s"), words.Seconds(s.EndS))
}
