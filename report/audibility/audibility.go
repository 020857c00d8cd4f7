// Package audibility says how loud hum would be at a listener: lines at the
// input, through a playback chain, against the threshold of hearing. It is a
// pure function of both. It assumes a free field, silence but for the hum, and
// a median young listener.
package audibility

import (
	"cmp"
	"math"
	"slices"

	"humdiff/report/hearing"
	"humdiff/report/quantity"
	"humdiff/report/result"
	"humdiff/report/weighting"
)

// Line is hum at the input at one frequency, volts rms. Lo is 0 where the line
// wasn't found and Hi its detection limit; unknown where there is neither.
type Line struct {
	Harmonic int
	Hz       float64
	Volts    quantity.Range
}

const (
	sensitivityVolts = 2.83 // at which loudspeakers are rated, 1 m away (common practice: 1 W in 8 Ω)

	// decideDB is the distance from the threshold from which on a verdict is
	// given: the threshold is a median, and listeners spread around it by some
	// 5 dB (common practice, no source).
	decideDB = 10
)

// Assess sets hum (all lines' sum, volts rms) and its lines against a programme
// and, where the chain has a loudspeaker or a headphone, against the threshold of
// hearing.
func Assess(hum quantity.Range, lines []Line, p result.Playback) result.Audibility {
	a := result.Audibility{Playback: p, HumVolts: volts(hum), BelowProgrammeDB: none(), Verdict: result.NotPlayed,
		Band: result.AudibleBand{Harmonics: []int{}, MarginDB: none()}, AWeightedDB: none(), Lines: []result.AudibleLine{}, Unjudged: []int{}}
	if p.ProgrammeVolts.Ok() && hum.Known() {
		v := float64(p.ProgrammeVolts)
		a.BelowProgrammeDB = result.Ends{Lo: dB(v / hum.Hi), Hi: dB(v / hum.Lo)}
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
	a.AWeightedDB = inDB(sum(played, func(l pressure) float64 { return weighting.APower(l.Hz) }))
	a.Band = nearest(played)
	a.Verdict = verdict(played, a)
	return a
}

// pressure is a line at the listener, as a power relative to 20 µPa.
type pressure struct {
	Line
	quantity.Range
	threshold float64 // likewise
	heard     bool    // there is something to judge
}

// play takes the lines through the chain. Sound pressure falls by 6 dB with each
// doubling of the distance. Several loudspeakers add up to 20·lg n dB at most,
// where they play the same and in phase, and the room what the user allows for
// it; both raise the upper end alone.
func play(lines []Line, p result.Playback) []pressure {
	gain := float64(p.GainDB) + float64(p.SensitivityDB)
	more := p.MarginDB
	if p.Kind == result.KindLoudspeaker {
		gain -= 20*math.Log10(sensitivityVolts) + 20*math.Log10(float64(p.DistanceMetres))
		more += 20 * math.Log10(float64(max(1, p.Loudspeakers)))
	}
	out := make([]pressure, len(lines))
	for i, l := range lines {
		threshold := hearing.Threshold(l.Hz)
		out[i] = pressure{Line: l, threshold: ratio(threshold),
			Range: quantity.Range{Lo: l.Volts.Lo * l.Volts.Lo * ratio(gain), Hi: l.Volts.Hi * l.Volts.Hi * ratio(gain+more)},
			heard: l.Volts.Known() && !math.IsNaN(threshold)}
	}
	return out
}

func (l pressure) line() result.AudibleLine {
	return result.AudibleLine{Harmonic: l.Harmonic, Hz: result.Num(l.Hz), Volts: volts(l.Volts), SPLDB: inDB(l.Range),
		ThresholdDB: result.DB(l.threshold), MarginDB: inDB(quantity.Range{Lo: l.Lo / l.threshold, Hi: l.Hi / l.threshold})}
}

// sum adds up powers, each with its weight.
func sum(lines []pressure, weight func(pressure) float64) quantity.Range {
	var s quantity.Range
	for _, l := range lines {
		if l.heard {
			s.Lo += l.Lo * weight(l)
			s.Hi += l.Hi * weight(l)
		}
	}
	return s
}

// nearest is the critical band in which hum comes nearest to being heard: each
// line's power over its own threshold, added up. A band may have its middle
// anywhere, so each begins at one line and holds all that fit with it.
func nearest(lines []pressure) result.AudibleBand {
	lines = slices.Clone(lines)
	slices.SortStableFunc(lines, func(a, b pressure) int { return cmp.Compare(a.Hz, b.Hz) })
	best, at := quantity.Range{}, result.AudibleBand{Harmonics: []int{}, MarginDB: none()}
	for i, lowest := range lines {
		var in []pressure
		var harmonics []int
		for _, l := range lines[i:] {
			if l.heard && l.Hz-lowest.Hz <= CriticalBand((l.Hz+lowest.Hz)/2) {
				in, harmonics = append(in, l), append(harmonics, l.Harmonic)
			}
		}
		if s := sum(in, func(l pressure) float64 { return 1 / l.threshold }); s.Hi > best.Hi {
			best, at = s, result.AudibleBand{Harmonics: harmonics, MarginDB: inDB(s)}
		}
	}
	return at
}

// CriticalBand is the width of the critical band around a frequency, Hz
// (E. Zwicker and E. Terhardt, J. Acoust. Soc. Am. 68, 1980, 1523; from memory).
func CriticalBand(hz float64) float64 {
	khz := hz / 1000
	return 25 + 75*math.Pow(1+1.4*khz*khz, 0.69)
}

// verdict decides only where the whole interval lies 10 dB and more off the
// threshold; below it only where every line has been judged.
func verdict(lines []pressure, a result.Audibility) string {
	top := result.Num(math.Inf(-1))
	for _, l := range a.Lines {
		if l.MarginDB.Lo.Ok() {
			top = max(top, l.MarginDB.Lo)
		}
	}
	if lo := a.Band.MarginDB.Lo; lo.Ok() {
		top = max(top, lo)
	}
	switch hi := a.Band.MarginDB.Hi; {
	case top >= decideDB:
		return result.AboveThreshold
	case hi.Ok() && hi <= -decideDB && len(lines) > 0 && len(a.Unjudged) == 0:
		return result.BelowThreshold
	}
	return result.NearThreshold
}

// Judge fills in what a comparison's near captures come to at a listener; nil
// changes nothing. Pairs that allow no comparison are judged too: near by
// itself is what is heard.
func Judge(r *result.Compare, p *result.Playback) {
	if p == nil {
		return
	}
	for i, pair := range r.Pairs {
		hum, lines := Near(pair, r.Settings.FullScaleVolts)
		a := Assess(hum, lines, *p)
		r.Pairs[i].Audibility = &a
	}
}

// Near is the hum and the lines of the near capture of a pair, in volts at the
// input. Without a voltage scale they are unknown.
func Near(p result.Pair, fullScale result.Num) (hum quantity.Range, lines []Line) {
	h := p.Hum.Near
	hum = between(h.State, h.LoDBFS, h.HiDBFS, h.LimitDBFS, fullScale)
	for _, l := range p.Lines {
		n := l.Near
		lines = append(lines, Line{l.Harmonic, float64(l.Hz), between(n.State, n.LoDBFS, n.HiDBFS, n.LimitDBFS, fullScale)})
	}
	return hum, lines
}

// Of is the hum and the lines of one capture, as Near has them.
func Of(c result.Capture, fullScale result.Num) (hum quantity.Range, lines []Line) {
	h := c.Hum
	hum = between(h.State, h.LoDBFS, h.HiDBFS, h.LimitDBFS, fullScale)
	for _, l := range c.Lines {
		lines = append(lines, Line{l.Harmonic, float64(l.Hz), between(l.State, l.LoDBFS, l.HiDBFS, l.LimitDBFS, fullScale)})
	}
	return hum, lines
}

func between(state string, lo, hi, limit, fullScale result.Num) quantity.Range {
	at := func(dbfs result.Num) float64 { return float64(fullScale) * math.Sqrt(ratio(float64(dbfs))) }
	switch {
	case !fullScale.Ok():
	case state == result.Detected && hi.Ok():
		r := quantity.Range{Hi: at(hi)}
		if lo.Ok() {
			r.Lo = at(lo)
		}
		return r
	case limit.Ok():
		return quantity.Range{Hi: at(limit)}
	}
	return quantity.Unknown
}

func ratio(db float64) float64        { return math.Pow(10, db/10) }
func dB(amplitude float64) result.Num { return result.Of(20 * math.Log10(amplitude)) }
func none() result.Ends               { return result.Ends{Lo: result.None, Hi: result.None} }

func inDB(r quantity.Range) result.Ends { return result.Ends{Lo: result.DB(r.Lo), Hi: result.DB(r.Hi)} }

func volts(r quantity.Range) result.Ends {
	if !r.Known() {
		return none()
	}
	e := result.Ends{Lo: result.None, Hi: result.Of(r.Hi)}
	if r.Lo > 0 {
		e.Lo = result.Of(r.Lo)
	}
	return e
}
