package judge

import (
	"math"

	"humdiff/fft/estimate"
	"humdiff/fft/likeness"
	"humdiff/report/model"
)

// What the warnings of a pair go by.
const (
	closeDB = 20 // quiet within this of near makes the pickup's range wide
	gainDB  = 3  // noise without lines differing by more points to another gain

	ownFloorDB = 3  // a floor within this of the residual's is the instrument's own
	ownHumDB   = 10 // hum within this of the residual's may be the instrument's own

	// movedHz is how far apart two captures' mains may lie unsaid, besides their
	// intervals: a grid's usual wander is 0.02 Hz over minutes.
	movedHz = 0.1
	// fewerBits is by how many bits a file may say too much unsaid.
	fewerBits = 2
)

// Warnings of one capture and of two captures together, with their arguments.
// Beside them there are model.OnePlacement, of everything: intervals are recording
// noise alone; model.SameRecording; model.NoiseDiffers: db at the input, near less quiet, and scales (1:
// two); model.GainChanged: db by which the floor above 5 kHz stepped.
const (
	FewerBits         = "fewer_bits"          // bits, used
	noMains           = "no_mains"            // captures (1 or 2), nominal_hz where it was sought there, limits (1: the lines' limits are given)
	RatesDiffer       = "rates_differ"        // rate_hz, quiet_rate_hz
	BitsDiffer        = "bits_differ"         // bits, quiet_bits
	formatsDiffer     = "formats_differ"      // bits, float, quiet_bits, quiet_float (1: floating point)
	ChannelsDiffer    = "channels_differ"     // channel, quiet_channel
	spansOverlap      = "spans_overlap"       // quiet and near share samples
	MainsDiffer       = "mains_differ"        // nominal_hz, quiet_nominal_hz
	MainsFromOther    = "mains_from_other"    // how (other, stated, nominal, none), around_hz, other (quiet or near)
	MainsMoved        = "mains_moved"         // hz: near less quiet
	LinesDiffer       = "lines_differ"        // count, quiet_count
	QuietCloseToNear  = "quiet_close_to_near" // found (1: in quiet too), db: near above quiet, at least where not found; span_db of the pickup, where volts are known: no span_db and known 1: it has no lower end
	NearBelowQuiet    = "near_below_quiet"    // total (1: the total lies below), harmonics, lines: of how many
	residualDiffers   = "residual_differs"    // rate_hz, near_rate_hz
	residualHum       = "residual_hum"        // db: near above residual
	residualFloor     = "residual_floor"      // within_db
	channelsSwapped   = "channels_swapped"    // channel, other_channel
	referenceMoved    = "reference_moved"     // channel, harmonic, db: near above quiet of the reference's own line; below_db: of the room's hum, below which no pickup is to be trusted; or turn_deg in place of harmonic and db
	calibrationDiffer = "calibration_differs" // address, rate_hz, bits, float, channel, its_rate_hz, its_bits, its_float, its_channel
)

// CompareWarnings are those of all pairs, in the order in which a reader wants
// them: of the scales, of all; then those of the measuring, then of each pair.
func CompareWarnings(set model.Settings, pairs []model.Pair, measuring []model.Warning) []model.Warning {
	l := list{}
	l = append(l, scaleWarnings(set)...)
	l.add(everything, model.OnePlacement)
	l = append(l, measuring...)
	for _, p := range pairs {
		l = append(l, PairWarnings(set, p)...)
		if ask, differ := likeness.NamesDiffer(p.Quiet.File, p.Near.File); differ {
			l = append(l, model.Warning{Note: ask, File: p.Near.File})
		}
	}
	l.swapped(pairs)
	return model.Once(l)
}

// TrendWarnings are those of channels that were followed step by step.
func TrendWarnings(set model.Settings, captures []model.TrendCapture, measuring []model.Warning) []model.Warning {
	l := list{}
	l = append(scaleWarnings(set), measuring...)
	for _, c := range captures {
		l.calibrated(set, model.ForAll, c.Side)
	}
	return model.Once(l)
}

// CheckWarnings are those of files that were looked at.
func CheckWarnings(files []model.CheckedFile, measuring []model.Warning) []model.Warning {
	l := list{}
	l = append(l, measuring...)
	for _, f := range files {
		for _, c := range f.Channels {
			side := model.Side{File: f.File, Channel: c.Channel, Bits: int(f.Bits), Float: f.Float}
			l.depth(model.Capture{Side: side, Health: c.Health})
		}
	}
	return model.Once(l)
}

// MeasureWarnings are those of captures measured one by one.
func MeasureWarnings(set model.Settings, captures []model.Capture, measuring []model.Warning) []model.Warning {
	l := list{}
	l = append(scaleWarnings(set), measuring...)
	for _, c := range captures {
		l.depth(c)
		l.calibrated(set, model.ForAll, c.Side)
		if !c.Mains.Detected && !c.Health.Silent {
			l.noMains(c, c)
		}
	}
	return model.Once(l)
}

// PairWarnings are what a reader has to know of a pair, beside what the measuring
// of either side said.
func PairWarnings(set model.Settings, p model.Pair) []model.Warning {
	l := list{}
	l.depth(p.Quiet)
	l.depth(p.Near)
	l.calibrated(set, model.ForQuiet, p.Quiet.Side)
	l.calibrated(set, model.ForNear, p.Near.Side)
	l.pair(set, p)
	if p.Residual != nil {
		l.depth(*p.Residual)
		l.residual(p.Near, *p.Residual)
	}
	return model.Once(l)
}

// depth says where a file holds fewer bits than it says.
func (l *list) depth(c model.Capture) {
	if used := c.Health.BitsUsed; !c.Float && used > 0 && used+fewerBits <= c.Bits {
		l.add(c.Side, FewerBits, "bits", c.Bits, "used", used)
	}
}

// pair says what holds only for the two sides together.
func (l *list) pair(set model.Settings, p model.Pair) {
	l.bench(p.Quiet.Side, p.Near.Side)
	l.shared(p.Quiet, p.Near)
	if p.Quiet.Health.Silent || p.Near.Health.Silent {
		return // that has been said, and there is nothing more
	}
	l.mains(p)
	l.reference(p)
	l.hum(set, p)
	step := set.Step.DB.Float()
	if l.stepped(p, step) {
		return // that is why noise differs
	}
	l.noise(p, set)
}

// bench compares how the two sides were recorded.
func (l *list) bench(q, n model.Side) {
	if q.RateHz != n.RateHz {
		l.add(n, RatesDiffer, "rate_hz", n.RateHz, "quiet_rate_hz", q.RateHz)
	}
	if q.Bits != n.Bits && q.Float == n.Float {
		l.add(n, BitsDiffer, "bits", n.Bits, "quiet_bits", q.Bits)
	}
	if q.Float != n.Float {
		l.add(n, formatsDiffer, "bits", n.Bits, "float", n.Float, "quiet_bits", q.Bits, "quiet_float", q.Float)
	}
	if q.Channel != n.Channel {
		l.add(n, ChannelsDiffer, "channel", n.Channel, "quiet_channel", q.Channel)
	}
}

// shared says where two captures have samples in common.
func (l *list) shared(q, n model.Capture) {
	switch {
	case sameSamples(q, n):
		l.add(n.Side, model.SameRecording, "lag_s", 0, "gain_db", 0, "inverted", false, "correlation", 1, "seconds", n.EndS-n.StartS, "other", model.Quiet)
	case q.Overlaps(n.Side):
		l.add(n.Side, spansOverlap)
	}
}

func (l *list) mains(p model.Pair) {
	q, n := p.Quiet, p.Near
	switch {
	case p.Unlike():
		l.add(n.Side, MainsDiffer, "nominal_hz", float64(n.Mains.NominalHz), "quiet_nominal_hz", float64(q.Mains.NominalHz))
		return
	case !q.Mains.Detected && !n.Mains.Detected:
		l.noMains(n, q, n)
	case !q.Mains.Detected:
		l.fromOther(q, model.Near, n)
	case !n.Mains.Detected:
		l.fromOther(n, model.Quiet, q)
	default:
		d := float64(n.Mains.Hz - q.Mains.Hz)
		if math.Abs(d) > movedHz+math.Hypot(q.Mains.U95Hz.OrZero(), n.Mains.U95Hz.OrZero()) {
			l.add(n.Side, MainsMoved, "hz", model.Digits(d, 7))
		}
	}
	if len(q.Lines) != len(n.Lines) && min(len(q.Lines), len(n.Lines)) == 0 {
		l.add(n.Side, LinesDiffer, "count", len(n.Lines), "quiet_count", len(q.Lines))
	}
}

// noMains says of captures that no mains was found in any, at one of them.
func (l *list) noMains(at model.Capture, in ...model.Capture) {
	args, limits := []any{"captures", len(in)}, false
	for _, c := range in {
		limits = limits || len(c.Lines) > 0
	}
	if hz := at.Mains.NominalHz; hz.Ok() {
		args = append(args, "nominal_hz", float64(hz))
	}
	l.add(at.Side, noMains, append(args, "limits", limits)...)
}

// fromOther says around what a side's lines were sought that shows no mains.
func (l *list) fromOther(c model.Capture, other string, o model.Capture) {
	switch {
	case len(c.Lines) == 0:
		l.add(c.Side, MainsFromOther, "how", "none")
	case c.AroundHz == o.Mains.Hz:
		l.add(c.Side, MainsFromOther, "how", "other", "around_hz", float64(c.AroundHz), "other", other)
	case c.AroundHz.Ok():
		l.add(c.Side, MainsFromOther, "how", "stated", "around_hz", float64(c.AroundHz))
	default:
		l.add(c.Side, MainsFromOther, "how", "nominal")
	}
}

// hum says what the phase that nobody knows does to this pair.
func (l *list) hum(set model.Settings, p model.Pair) {
	d := p.Hum.Delta
	lo, _ := d.Lower()
	switch v, measured := d.Value(); {
	case p.Hum.Pickup.Measured() || p.Hum.Pickup.State() == estimate.AtMost: // a reference tells its phase
	case measured && v >= 0 && v < closeDB:
		l.add(p.Near.Side, QuietCloseToNear, append([]any{"found", true, "db", v}, looseness(set, p.Hum.Pickup)...)...)
	case d.State() == estimate.AtLeast && lo < closeDB:
		l.add(p.Near.Side, QuietCloseToNear, "found", false, "db", lo)
	}
	total, harmonics := belowQuiet(p)
	if total || len(harmonics) > 0 {
		l.add(p.Near.Side, NearBelowQuiet, "total", total, "harmonics", harmonics, "lines", len(p.Lines))
	}
}

// looseness says how wide the range of a pickup is where one is printed.
func looseness(set model.Settings, pickup model.Estimate) []any {
	scale, _ := set.ScaleOf(model.ForNear)
	volts := scale.AmplitudeInVolts(pickup)
	lo, _ := volts.Lower()
	hi, known := volts.Upper()
	switch {
	case !known:
		return nil
	case lo > 0:
		return []any{"known", true, "span_db", model.Places(20*math.Log10(hi/lo), 4)}
	}
	return []any{"known", true}
}

// belowQuiet says what lies below quiet beyond chance: the total by its interval,
// a line by twice its interval, as there are many lines.
func belowQuiet(p model.Pair) (total bool, harmonics []int) {
	hi, ok := p.Hum.Delta.Upper()
	harmonics = []int{}
	for _, l := range p.Lines {
		if fellBeyondChance(l.Delta) {
			harmonics = append(harmonics, l.Harmonic)
		}
	}
	return ok && hi < 0, harmonics
}

// fellBeyondChance says that a line lies below quiet by twice its interval where
// it was measured, as among many lines some lie below by once.
func fellBeyondChance(delta model.Estimate) bool {
	hi, ok := delta.Upper()
	if v, measured := delta.Value(); measured {
		return ok && v+2*(hi-v) < 0
	}
	return ok && hi < 0
}

// noise compares the noise without lines at the input. Hum that swings, or is keyed, and
// a strong tone leave their skirts in its total: that noise differs is said where the
// floors do as well.
func (l *list) noise(p model.Pair, set model.Settings) {
	d := float64(p.Noise.NearDBFS - p.Noise.QuietDBFS + set.Step.DB)
	if math.Abs(d) > gainDB && floorsMoved(p, set.Step.DB.Float(), d) {
		l.add(p.Near.Side, model.NoiseDiffers, "db", model.Places(d, 4), "scales", set.Step.DB != 0)
	}
}

// residual says where near shows the instrument rather than the cable.
func (l *list) residual(n, r model.Capture) {
	if r.RateHz != n.RateHz {
		l.add(r.Side, residualDiffers, "rate_hz", r.RateHz, "near_rate_hz", n.RateHz)
	}
	hum, found := n.Hum.Level.Value()
	if own, too := r.Hum.Level.Value(); found && too && hum-own < ownHumDB {
		l.add(n.Side, residualHum, "db", model.Places(hum-own, 4))
	}
	if n.Noise.BandHz == r.Noise.BandHz && n.Noise.DBFS-r.Noise.DBFS < ownFloorDB {
		l.add(n.Side, residualFloor, "within_db", ownFloorDB)
	}
}
