package page

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"
)

// other is an explanation that the result leaves open, and the run that would
// tell.
type other struct{ What, Run string }

// others lists what could still explain a result. Where nothing rose, only
// what can hide a rise; pairs that nothing can be read off need no explanation
// but that.
func others(r result.Compare) []other {
	rose, fell := false, false
	var sound []result.Pair
	var out []other
	for _, p := range r.Pairs {
		switch {
		case words.Clipped(p) != "":
			out = append(out, other{"Clipping, which makes lines of its own and changes the levels of others.", "Record again at a lower gain."})
		case words.Obstacle(p) != "":
			out = append(out, other{"Nothing yet: there is no comparison to explain, as " + words.Obstacle(p) + ".", "Record both captures again."})
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
			other{"Something else changed between the captures: a device switched on, a cable or a hand moved, another gain.", "Record quiet again after near."},
			other{"Laying the lead there changed the bench, with or without voltage on it.", "Record a dead run: the same lead in the same place, unplugged."})
	}
	if rose {
		out = append(out,
			other{"The instrument picked it up, not the cable.", "Record a residual under the same exposure: the input shorted at its connector."},
			other{"The lead's current did it, not its voltage; or current in a loop of earths.", "Change one thing at a time: the load on the lead, the termination, the far device's earth. This comparison alone names no mechanism."},
			other{"This placement was a lucky or an unlucky one.", "Repeat with the lead taken away and put back."})
	}
	if fell {
		out = append(out, other{"Quiet and near were given in the wrong order.", "Check which file is which."})
		out = append(out, other{"The new hum cancels the old: they add as waves do, and can be opposite.", "Lower the hum in quiet, or move the lead and record again."})
	}
	if !rose {
		out = append(out,
			other{"The exposure was too weak to raise any cable.", "Record a witness, a cable known to leak, under the same exposure."},
			other{"A rise is hidden below the detection limits.", "Record longer."})
	}
	return out
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

// check is what anyone can read off an averaged spectrum of a capture.
type check struct {
	Name    string
	Near    result.Side
	Quiet   result.Side
	Points  int // length of the FFT
	Lines   []checkLine
	Nothing bool // no line stands out enough
}

type checkLine struct {
	Harmonic                         int
	NearHz, NearDBFS, QuietHz, Quiet string
}

// standsOut is how far above the noise of a bin a line has to be so that its
// peak reads its level: 15 dB of noise below adds 0.14 dB.
const standsOut = 15

func checks(r result.Compare) []check {
	var out []check
	for _, p := range r.Pairs {
		c := check{Near: p.Near, Quiet: p.Quiet}
		if len(r.Pairs) > 1 {
			c.Name = words.Channels(p)
		}
		if bin := p.Trace.Near.BinHz; bin.Ok() && bin > 0 {
			c.Points = int(math.Round(float64(p.Near.RateHz) / float64(bin)))
		}
		c.Lines = checkLines(p)
		c.Nothing = len(c.Lines) == 0
		out = append(out, c)
	}
	return out
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

// Where says where to look in a file.
func (c check) Where(s result.Side) string {
	return fmt.Sprintf("%s, channel %d, from %s to %s", words.File(s.File), s.Channel,
		strings.TrimSuffix(words.Seconds(s.StartS), " s"), words.Seconds(s.EndS))
}

// cautions go with any advice for the bench.
var cautions = []string{
	"Work near mains can kill. Use only intact, certified leads with their insulation whole, the free end touch-proof.",
	"Open nothing that is plugged in.",
	"Never connect a measuring input to the mains.",
	"Never remove a protective earth. To break a loop use battery or double-insulated devices, or a signal transformer.",
	"Use a residual-current device.",
	"For a mains phase reference use only a certified isolated low-voltage AC adapter.",
	"Mute loudspeakers before unplugging a signal cable.",
	"Work under your local electrical codes, and leave mains wiring to licensed people.",
}
