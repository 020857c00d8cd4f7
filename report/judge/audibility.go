package judge

import (
	"cmp"
	"math"
	"slices"

	"humdiff/fft/estimate"
	"humdiff/report/model"
	"humdiff/report/weighting"
)

const (
	sensitivityVolts = 2.83 // at which loudspeakers are rated, 1 m away (common practice: 1 W in 8 Ω)

	// decideDB is the distance from the threshold from which on a verdict is given: the
	// threshold is a median, and listeners spread around it by some 5 dB (common
	// practice, no source).
	decideDB = 10
)

// HumLine is hum at the input at one frequency, volts rms.
type HumLine struct {
	Harmonic int
	Hz       float64
	Volts    model.Estimate
}

// AudiblePair is what the near capture of a pair comes to at a listener; near by itself
// is what is heard, so pairs that allow no comparison are judged too.
func AudiblePair(set model.Settings, p model.Pair, chain model.Playback) model.Audibility {
	near := p.Near
	near.Hum.Level, near.Lines = p.Hum.Near, nil
	for _, row := range p.Rows() {
		row.Near.Hz = row.Hz
		near.Lines = append(near.Lines, row.Near)
	}
	return audibleCapture(set, near, chain)
}

// audibleCapture is what one capture, on near's scale, comes to at a listener.
func audibleCapture(set model.Settings, c model.Capture, chain model.Playback) model.Audibility {
	full := set.FullScaleVolts.Float()
	if scale, known := set.ScaleOf(model.ForNear); known {
		full = float64(scale.FullScaleVolts)
	}
	var lines []HumLine
	for _, l := range c.Lines {
		lines = append(lines, HumLine{l.Harmonic, l.Hz.Float(), atInput(l.Level, full)})
	}
	return Audible(atInput(c.Hum.Level, full), lines, chain)
}

// atInput is a level as volts; what may be none reaches down to zero.
func atInput(level model.Estimate, full float64) model.Estimate {
	e := endsOf(level)
	if !level.Known() || math.IsNaN(full) {
		return estimate.None(model.WhyNoVolts)
	}
	return estimate.Between(full*amplitude(e.lo), full*amplitude(e.hi))
}

// Audible sets hum (all lines' sum, volts rms) and its lines against a programme and,
// where the chain has a loudspeaker or a headphone, against the threshold of hearing. It
// assumes a free field, silence but for the hum, and a median young listener.
func Audible(hum model.Estimate, lines []HumLine, p model.Playback) model.Audibility {
	none := estimate.None("")
	a := model.Audibility{Playback: p, HumVolts: stated(hum), BelowProgrammeDB: none, Verdict: model.NotPlayed,
		Band: model.AudibleBand{Harmonics: []int{}, MarginDB: none}, AWeightedDB: none, Lines: []model.AudibleLine{}, Unjudged: []int{}}
	if p.ProgrammeVolts.Ok() && hum.Known() {
		lo, hi := volts(hum)
		v := float64(p.ProgrammeVolts)
		a.BelowProgrammeDB = ends{20 * math.Log10(v/hi), math.NaN(), 20 * math.Log10(v/lo)}.estimate()
	}
	if p.Kind == "" {
		return a
	}
	played := play(lines, p)
	for _, l := range played {
		if l.heard {
			a.Lines = append(a.Lines, l.line())
		} else {
			a.Unjudged = append(a.Unjudged, l.Harmonic)
		}
	}
	a.AWeightedDB = sumOf(played, func(l pressure) float64 { return weighting.APower(l.Hz) }).estimate()
	a.Band = nearestBand(played)
	a.Verdict = audible(played, a)
	return a
}

// stated is a voltage as it stands in a result; what may be zero has no lower end.
func stated(e model.Estimate) model.Estimate {
	lo, hi := volts(e)
	switch {
	case !e.Known():
		return estimate.None(model.WhyNoVolts)
	case lo > 0:
		return estimate.Between(model.Digits(lo, 7), model.Digits(hi, 7))
	}
	return estimate.Below(model.Digits(hi, 7))
}

// volts are the ends of a voltage; from zero up where there is no lower one, and the
// value where nothing was said of its ends.
func volts(e model.Estimate) (lo, hi float64) {
	v, lo, hi := e.Numbers()
	switch {
	case math.IsNaN(lo) && math.IsNaN(hi):
		return v, v
	case math.IsNaN(lo):
		lo = 0
	}
	return lo, hi
}

// loudness is a range of power relative to 20 µPa, or to a threshold.
type loudness struct{ lo, hi float64 }

func (l loudness) estimate() model.Estimate {
	return estimate.Between(model.DB(l.lo).Float(), model.DB(l.hi).Float())
}

func (l loudness) times(f float64) loudness { return loudness{l.lo * f, l.hi * f} }

// pressure is a line at the listener.
type pressure struct {
	HumLine
	loudness
	threshold float64 // as a power relative to 20 µPa
	heard     bool    // there is something to judge
}

// play takes the lines through the chain. Sound pressure falls by 6 dB with each
// doubling of the distance. Several loudspeakers add up to 20·lg n dB at most, where they
// play the same and in phase, and the room what the user allows for it; both raise the
// upper end alone.
func play(lines []HumLine, p model.Playback) []pressure {
	gain := float64(p.GainDB) + float64(p.SensitivityDB)
	more := p.MarginDB
	if p.Kind == model.KindLoudspeaker {
		gain -= 20*math.Log10(sensitivityVolts) + 20*math.Log10(float64(p.DistanceMetres))
		more += 20 * math.Log10(float64(max(1, p.Loudspeakers)))
	}
	out := make([]pressure, len(lines))
	for i, l := range lines {
		spl := threshold(l.Hz)
		lo, hi := volts(l.Volts)
		out[i] = pressure{HumLine: l, threshold: power(spl), loudness: loudness{lo * lo * power(gain), hi * hi * power(gain+more)},
			heard: l.Volts.Known() && !math.IsNaN(spl)}
	}
	return out
}

func (l pressure) line() model.AudibleLine {
	return model.AudibleLine{Harmonic: l.Harmonic, Hz: model.Num(l.Hz), Volts: stated(l.Volts), SPLDB: l.loudness.estimate(),
		ThresholdDB: model.DB(l.threshold), MarginDB: l.times(1 / l.threshold).estimate()}
}

// sumOf adds up powers, each with its weight.
func sumOf(lines []pressure, weight func(pressure) float64) (s loudness) {
	for _, l := range lines {
		if l.heard {
			s.lo += l.lo * weight(l)
			s.hi += l.hi * weight(l)
		}
	}
	return s
}

// nearestBand is the critical band in which hum comes nearest to being heard: each
// line's power over its own threshold, added up. A band may have its middle anywhere, so
// each begins at one line and holds all that fit with it.
func nearestBand(lines []pressure) model.AudibleBand {
	lines = slices.Clone(lines)
	slices.SortStableFunc(lines, func(a, b pressure) int { return cmp.Compare(a.Hz, b.Hz) })
	best, at := loudness{}, model.AudibleBand{Harmonics: []int{}, MarginDB: estimate.None("")}
	for i, lowest := range lines {
		var in []pressure
		var harmonics []int
		for _, l := range lines[i:] {
			if l.heard && l.Hz-lowest.Hz <= criticalBand((l.Hz+lowest.Hz)/2) {
				in, harmonics = append(in, l), append(harmonics, l.Harmonic)
			}
		}
		if s := sumOf(in, func(l pressure) float64 { return 1 / l.threshold }); s.hi > best.hi {
			best, at = s, model.AudibleBand{Harmonics: harmonics, MarginDB: s.estimate()}
		}
	}
	return at
}

// criticalBand is the width of the critical band around a frequency, Hz (E. Zwicker and
// E. Terhardt, J. Acoust. Soc. Am. 68, 1980, 1523; from memory).
func criticalBand(hz float64) float64 {
	khz := hz / 1000
	return 25 + 75*math.Pow(1+1.4*khz*khz, 0.69)
}

// audible decides only where the whole interval lies 10 dB and more off the threshold;
// below it only where every line has been judged.
func audible(lines []pressure, a model.Audibility) string {
	top := math.Inf(-1)
	for _, l := range a.Lines {
		top = max(top, endsOf(l.MarginDB).lo)
	}
	band := endsOf(a.Band.MarginDB)
	switch top = max(top, band.lo); {
	case top >= decideDB:
		return model.AboveThreshold
	case band.hi <= -decideDB && len(lines) > 0 && len(a.Unjudged) == 0:
		return model.BelowThreshold
	}
	return model.NearThreshold
}

// audible says of each cable at each place what its hum would come to at a listener: of
// the near run with the most hum. Nothing is said where no chain is stated.
func (b *bench) audible() []model.SessionAudible {
	out := []model.SessionAudible{}
	if b.Playback == nil {
		return out
	}
	for _, c := range b.gathered(model.Quantity{}) {
		var loudest *run
		most := math.Inf(-1)
		for _, n := range numbers(c.nears()) {
			r := b.runs[n-1]
			if l := r.Capture.Hum.Level; height(l) > most {
				loudest, most = r, height(l)
			}
		}
		if loudest != nil {
			out = append(out, model.SessionAudible{Cable: c.cable, Where: c.where, Run: loudest.Number,
				Audibility: audibleCapture(b.Settings, *loudest.Capture, *b.Playback)})
		}
	}
	return out
}

// height orders hum: what was found by its level, what wasn't by its limit, dBFS.
func height(level model.Estimate) float64 {
	if v, ok := level.Value(); ok {
		return v
	}
	if hi, ok := level.Upper(); ok {
		return hi
	}
	return -math.MaxFloat64
}
