package assemble

import (
	"fmt"
	"math"
	"strings"

	"humdiff/fft/note"
	"humdiff/report/doc"
	"humdiff/report/result"
	"humdiff/report/words"
)

// What the warnings of a pair go by.
const (
	closeDB = 20 // quiet within this of near makes the pickup's range wide
	noiseDB = 3  // noise without lines differing by more points to another gain

	ownFloorDB = 3  // a floor within this of the residual's is the instrument's own
	ownHumDB   = 10 // hum within this of the residual's may be the instrument's own

	mostFilled = 0.5 // share of the noise band that may be interpolated unsaid
)

// everything is the place of a warning that concerns all.
var everything = result.Side{}

// warnings gathers them in the order in which they arise, each once.
type warnings struct {
	said []result.Warning
	seen map[result.Warning]bool
}

func (w *warnings) add(at result.Side, code, format string, args ...any) {
	w.once(result.Warning{Code: code, File: at.File, Channel: at.Channel, Message: fmt.Sprintf(format, args...)})
}

// once adds what hasn't been said yet.
func (w *warnings) once(warning result.Warning) {
	if w.seen[warning] {
		return
	}
	if w.seen == nil {
		w.seen = map[result.Warning]bool{}
	}
	w.seen[warning] = true
	w.said = append(w.said, warning)
}

func (w *warnings) list() []result.Warning { return append([]result.Warning{}, w.said...) }

// channel passes on what was said about a file and about a channel of it.
func (w *warnings) channel(c Channel) {
	file := c.Side
	file.Channel = 0
	w.pass(file, c.FileWarnings)
	w.pass(c.Side, c.Measurement.Warnings)
	w.depth(c)
	if t := c.noise(); t.Filled > mostFilled {
		w.add(c.Side, "noise_interpolated", "Lines and tones occupy %.0f %% of the noise band: the noise totals there are interpolated.", 100*t.Filled)
	}
}

func (w *warnings) pass(at result.Side, list []note.Note) {
	for _, n := range list {
		w.add(at, n.Code, "%s", said(n))
	}
}

// said is a note's sentence with a hyphen for a minus, as the outputs of today
// write it.
func said(n note.Note) string { return strings.ReplaceAll(doc.Says(n), "−", "-") }

// unfound says of a capture measured alone that no mains was found in it.
func (w *warnings) unfound(c result.Capture) {
	if c.Mains.Detected || c.Health.Silent {
		return
	}
	w.add(c.Side, "no_mains", "No %s was found. %s", mainsSought(c), belowLimits(c))
}

// mainsSought is which mains was sought.
func mainsSought(c result.Capture) string {
	if !c.Mains.NominalHz.Ok() {
		return "mains"
	}
	return fmt.Sprintf("%g Hz mains", float64(c.Mains.NominalHz))
}

// belowLimits says what is known of hum where no mains was found.
func belowLimits(captures ...result.Capture) string {
	for _, c := range captures {
		if len(c.Lines) > 0 {
			return fmt.Sprintf("Hum of a %g Hz mains, if there is any, lies below the limits given; tones are listed apart.", float64(c.Mains.NominalHz))
		}
	}
	return "With --mains 50 or --mains 60 the lines' detection limits are given."
}

// PairWarnings says what holds only for two captures together, p what PairOf
// makes of them.
func PairWarnings(settings result.Settings, quiet, near result.Capture, p result.Pair) []result.Warning {
	var w warnings
	w.pair(quiet, near, p, settings.Step)
	return w.list()
}

// pair says what holds only for the two sides together.
func (w *warnings) pair(q, n result.Capture, stated result.Pair, step result.Step) {
	w.bench(q.Side, n.Side)
	if q.Health.Silent || n.Health.Silent {
		return // that has been said, and there is nothing more
	}
	w.mains(q, n)
	w.moved(q, n)
	w.hum(stated)
	if w.stepped(q, n, float64(step.DB)) {
		return // that is why noise differs
	}
	w.noise(n.Side, stated.Noise, step)
}

// residual says where near shows the instrument rather than the cable.
func (w *warnings) residual(n, r result.Capture) {
	if r.RateHz != n.RateHz {
		w.add(r.Side, "residual_differs", "The residual is sampled at %d Hz, near at %d Hz: another setting of the recorder can be another gain.", r.RateHz, n.RateHz)
	}
	if r.Hum.DBFS.Ok() && n.Hum.DBFS.Ok() && n.Hum.DBFS-r.Hum.DBFS < ownHumDB {
		w.add(n.Side, "residual_hum", "The residual has hum only %s below near's: what is seen here may be the instrument's own.", words.DB(n.Hum.DBFS-r.Hum.DBFS))
	}
	if n.Noise.BandHz == r.Noise.BandHz && n.Noise.DBFS.Ok() && r.Noise.DBFS.Ok() && n.Noise.DBFS-r.Noise.DBFS < ownFloorDB {
		w.add(n.Side, "residual_floor", "Noise without hum lies within %d dB of the residual's: the floor, and with it every detection limit, is the instrument's own.", ownFloorDB)
	}
}

// bench compares how the two sides were recorded.
func (w *warnings) bench(q, n result.Side) {
	if q.RateHz != n.RateHz {
		w.add(n, "rates_differ", "Sampled at %d Hz, quiet at %d Hz: another setting of the recorder can be another gain.", n.RateHz, q.RateHz)
	}
	if q.Bits != n.Bits && q.Float == n.Float {
		w.add(n, "bits_differ", "Recorded with %d bits, quiet with %d: check that nothing between was converted or scaled.", n.Bits, q.Bits)
	}
	if q.Float != n.Float {
		w.add(n, "formats_differ", "Recorded as %s, quiet as %s: check that nothing between was converted or scaled.", words.Format(n), words.Format(q))
	}
	if q.Channel != n.Channel {
		w.add(n, "channels_differ", "Channel %d here is compared with channel %d of quiet: another input can have another gain, and other hum.", n.Channel, q.Channel)
	}
	if q.Overlaps(n) {
		w.add(n, "spans_overlap", "Quiet and near overlap in the same recording: the delta is that of a capture with itself.")
	}
}

func (w *warnings) mains(q, n result.Capture) {
	switch {
	case unlike(q, n):
		w.add(n.Side, "mains_differ", "Mains is %g Hz here and %g Hz in quiet: their lines are not compared.", float64(n.Mains.NominalHz), float64(q.Mains.NominalHz))
	case !q.Mains.Detected && !n.Mains.Detected:
		w.add(n.Side, "no_mains", "No %s was found in quiet or in near. %s", mainsSought(n), belowLimits(q, n))
	case !q.Mains.Detected:
		w.fromOther(q, "near", n)
	case !n.Mains.Detected:
		w.fromOther(n, "quiet", q)
	}
	if !unlike(q, n) && len(q.Lines) != len(n.Lines) && min(len(q.Lines), len(n.Lines)) == 0 {
		w.add(n.Side, "lines_differ", "%d lines were measured here and %d in quiet: the hum totals are not compared.", len(n.Lines), len(q.Lines))
	}
}

// fromOther says around what a side's lines were sought that shows no mains.
func (w *warnings) fromOther(c result.Capture, other string, o result.Capture) {
	around := "the nominal frequency"
	switch {
	case len(c.Lines) == 0:
		w.add(c.Side, "mains_from_other", "No mains was found here, and no lines were sought. With --mains 50 or --mains 60 they are.")
		return
	case c.AroundHz == o.Mains.Hz:
		around = fmt.Sprintf("the %.3f Hz of %s", float64(c.AroundHz), other)
	case c.AroundHz.Ok():
		around = fmt.Sprintf("%.3f Hz", float64(c.AroundHz))
	}
	w.add(c.Side, "mains_from_other", "No mains was found here; lines were sought around %s.", around)
}

// hum says what the phase that nobody knows does to this pair.
func (w *warnings) hum(stated result.Pair) {
	d := stated.Hum.Delta
	switch {
	case d.State == result.Measured && d.DB >= 0 && d.DB < closeDB:
		w.add(stated.Near, "quiet_close_to_near", "Quiet's hum lies only %.1f dB below near's, and the phase between them is unknown: "+
			"what the lead added is known only as a range.%s", d.DB, looseness(stated.Hum.Pickup))
	case d.State == result.AtLeast && d.LoDB < 0:
		w.add(stated.Near, "quiet_close_to_near", "Quiet's hum was not detected, but may lie above near's, by as much as %.1f dB: "+
			"record longer to know whether hum rose.", -d.LoDB)
	case d.State == result.AtLeast && d.LoDB < closeDB:
		w.add(stated.Near, "quiet_close_to_near", "Quiet's hum was not detected, but may lie as little as %.1f dB below near's: "+
			"record longer to know more closely what the lead added.", d.LoDB)
	}
	if below := belowQuiet(stated); below != "" {
		w.add(stated.Near, "near_below_quiet", "Near lies below quiet in %s. Hum adds as phasors: "+
			"this is cancellation, or a changed bench, never immunity.", below)
	}
}

// looseness says how wide the range of a pickup is where one is printed.
func looseness(p result.Pickup) string {
	switch {
	case !p.HiVolts.Ok():
		return ""
	case p.LoVolts > 0:
		return fmt.Sprintf(" The pickup's range spans %.1f dB.", 20*math.Log10(float64(p.HiVolts/p.LoVolts)))
	}
	return " The pickup has no lower end."
}

// belowQuiet names what lies below quiet beyond chance: the total by its
// interval, a line by twice its interval, as there are many lines.
func belowQuiet(p result.Pair) string {
	var below []string
	if hi := p.Hum.Delta.HiDB; hi.Ok() && hi < 0 {
		below = append(below, "the hum total")
	}
	var harmonics []string
	for _, l := range p.Lines {
		if words.Below(l.Delta) {
			harmonics = append(harmonics, fmt.Sprint(l.Harmonic))
		}
	}
	if len(harmonics) > 0 {
		below = append(below, fmt.Sprintf("%d of %d lines by more than twice the interval (h = %s)", len(harmonics), len(p.Lines), strings.Join(harmonics, ", ")))
	}
	return strings.Join(below, " and in ")
}

func (w *warnings) noise(near result.Side, n result.PairNoise, step result.Step) {
	if !n.QuietDBFS.Ok() || !n.NearDBFS.Ok() {
		return
	}
	d := float64(n.NearDBFS - n.QuietDBFS + step.DB)
	switch {
	case math.Abs(d) <= noiseDB:
	case step.DB == 0:
		w.add(near, "noise_differs", "Noise without lines lies %+.1f dB from quiet's: either the lead brought noise, "+
			"or the gain differs, and then every delta is off by as much.", d)
	default:
		w.add(near, "noise_differs", "At the input, noise without lines lies %+.1f dB from quiet's: the converter's own at another gain, "+
			"or noise that the lead brought, or the gains are not those given, and then every delta is off.", d)
	}
}
