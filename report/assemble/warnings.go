package assemble

import (
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

func (w *warnings) add(at result.Side, code string, args ...any) {
	n := note.New(code, args...)
	w.once(result.Warning{Code: code, File: at.File, Channel: at.Channel, Message: said(n)})
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
		w.add(c.Side, "noise_interpolated", "share", t.Filled)
	}
}

func (w *warnings) pass(at result.Side, list []note.Note) {
	for _, n := range list {
		w.once(result.Warning{Code: n.Code, File: at.File, Channel: at.Channel, Message: said(n)})
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
	w.add(c.Side, "no_mains", noMains(c, c)...)
}

// noMains are the arguments of a note that no mains was found in any of some
// captures, at one of them.
func noMains(at result.Capture, in ...result.Capture) []any {
	limits := false
	for _, c := range in {
		limits = limits || len(c.Lines) > 0
	}
	args := []any{"captures", len(in), "limits", limits, "followed", false}
	if at.Mains.NominalHz.Ok() {
		args = append(args, "nominal_hz", float64(at.Mains.NominalHz))
	}
	return args
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
		w.add(r.Side, "residual_differs", "rate_hz", r.RateHz, "near_rate_hz", n.RateHz)
	}
	if r.Hum.DBFS.Ok() && n.Hum.DBFS.Ok() && n.Hum.DBFS-r.Hum.DBFS < ownHumDB {
		w.add(n.Side, "residual_hum", "db", float64(n.Hum.DBFS-r.Hum.DBFS))
	}
	if n.Noise.BandHz == r.Noise.BandHz && n.Noise.DBFS.Ok() && r.Noise.DBFS.Ok() && n.Noise.DBFS-r.Noise.DBFS < ownFloorDB {
		w.add(n.Side, "residual_floor", "within_db", ownFloorDB)
	}
}

// bench compares how the two sides were recorded.
func (w *warnings) bench(q, n result.Side) {
	if q.RateHz != n.RateHz {
		w.add(n, "rates_differ", "rate_hz", n.RateHz, "quiet_rate_hz", q.RateHz)
	}
	if q.Bits != n.Bits && q.Float == n.Float {
		w.add(n, "bits_differ", "bits", n.Bits, "quiet_bits", q.Bits)
	}
	if q.Float != n.Float {
		w.add(n, "formats_differ", "bits", n.Bits, "float", n.Float, "quiet_bits", q.Bits, "quiet_float", q.Float)
	}
	if q.Channel != n.Channel {
		w.add(n, "channels_differ", "channel", n.Channel, "quiet_channel", q.Channel)
	}
	if q.Overlaps(n) {
		w.add(n, "spans_overlap")
	}
}

func (w *warnings) mains(q, n result.Capture) {
	switch {
	case unlike(q, n):
		w.add(n.Side, "mains_differ", "nominal_hz", float64(n.Mains.NominalHz), "quiet_nominal_hz", float64(q.Mains.NominalHz))
	case !q.Mains.Detected && !n.Mains.Detected:
		w.add(n.Side, "no_mains", noMains(n, q, n)...)
	case !q.Mains.Detected:
		w.fromOther(q, "near", n)
	case !n.Mains.Detected:
		w.fromOther(n, "quiet", q)
	}
	if !unlike(q, n) && len(q.Lines) != len(n.Lines) && min(len(q.Lines), len(n.Lines)) == 0 {
		w.add(n.Side, "lines_differ", "count", len(n.Lines), "quiet_count", len(q.Lines))
	}
}

// fromOther says around what a side's lines were sought that shows no mains.
func (w *warnings) fromOther(c result.Capture, other string, o result.Capture) {
	switch {
	case len(c.Lines) == 0:
		w.add(c.Side, "mains_from_other", "how", "none")
	case c.AroundHz == o.Mains.Hz:
		w.add(c.Side, "mains_from_other", "how", "other", "around_hz", float64(c.AroundHz), "other", other)
	case c.AroundHz.Ok():
		w.add(c.Side, "mains_from_other", "how", "stated", "around_hz", float64(c.AroundHz))
	default:
		w.add(c.Side, "mains_from_other", "how", "nominal")
	}
}

// hum says what the phase that nobody knows does to this pair.
func (w *warnings) hum(stated result.Pair) {
	d := stated.Hum.Delta
	switch {
	case d.State == result.Measured && d.DB >= 0 && d.DB < closeDB:
		w.add(stated.Near, "quiet_close_to_near", append([]any{"found", true, "db", float64(d.DB)}, looseness(stated.Hum.Pickup)...)...)
	case d.State == result.AtLeast && d.LoDB < closeDB:
		w.add(stated.Near, "quiet_close_to_near", "found", false, "db", float64(d.LoDB))
	}
	if total, harmonics := belowQuiet(stated); total || len(harmonics) > 0 {
		w.add(stated.Near, "near_below_quiet", "total", total, "harmonics", harmonics, "lines", len(stated.Lines))
	}
}

// looseness says how wide the range of a pickup is where one is printed.
func looseness(p result.Pickup) []any {
	switch {
	case !p.HiVolts.Ok():
		return nil
	case p.LoVolts > 0:
		return []any{"known", true, "span_db", 20 * math.Log10(float64(p.HiVolts/p.LoVolts))}
	}
	return []any{"known", true}
}

// belowQuiet says what lies below quiet beyond chance: the total by its interval,
// a line by twice its interval, as there are many lines.
func belowQuiet(p result.Pair) (total bool, harmonics []int) {
	for _, l := range p.Lines {
		if words.Below(l.Delta) {
			harmonics = append(harmonics, l.Harmonic)
		}
	}
	hi := p.Hum.Delta.HiDB
	return hi.Ok() && hi < 0, harmonics
}

func (w *warnings) noise(near result.Side, n result.PairNoise, step result.Step) {
	if !n.QuietDBFS.Ok() || !n.NearDBFS.Ok() {
		return
	}
	if d := float64(n.NearDBFS - n.QuietDBFS + step.DB); math.Abs(d) > noiseDB {
		w.add(near, "noise_differs", "db", d, "scales", step.DB != 0)
	}
}
