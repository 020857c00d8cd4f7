// Package volts puts levels on a voltage scale: what full scale is at the input,
// how far that is known, and the levels in volts, dBV and dBu with it. It
// assumes that what a scale may be off by is small, independent from part to
// part, and the same for all levels on that scale. So it goes into absolute
// levels, and into deltas only between two scales.
package volts

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/repeats"
	"humdiff/report/result"
)

// Confidence of a scale's interval.
const Confidence = 0.95

// Part is one contribution to a scale's uncertainty. NaN stands for what the
// user didn't state.
type Part struct {
	What  string
	U     float64 // standard uncertainty, dB
	DOF   float64
	Basis string // how it was got, for a reader
}

// Scale is what full scale is in volts, and how far that is known. The zero
// Scale knows nothing.
type Scale struct {
	Said  string
	base  float64 // volts rms of a full-scale sine without the gains below; 0: unknown
	gains []capture.Stated
	// own are the parts of base, others the gains'. Scales with the same origin
	// are wrong by the same amount, as far as that origin goes.
	origin string
	own    []Part
	Tones  []result.Calibration
	Drift  float64 // dB; NaN without two calibrations
}

// Known reports whether the scale says anything, if only a gain.
func (s Scale) Known() bool { return s.base > 0 || len(s.gains) > 0 }

// FullScale is the rms voltage of a full-scale sine at the input; NaN where it
// is unknown.
func (s Scale) FullScale() float64 {
	if !(s.base > 0) {
		return math.NaN()
	}
	return s.base * math.Pow(10, -s.gain()/20)
}

func (s Scale) gain() (db float64) {
	for _, g := range s.gains {
		db += g.Value
	}
	return db
}

// Parts are what the scale may be off by.
func (s Scale) Parts() []Part {
	parts := slices.Clone(s.own)
	for _, g := range s.gains {
		parts = append(parts, limits("gain", g))
	}
	return parts
}

// limits is the part of something stated to lie within limits: any value in
// them is as likely as any other, so its standard uncertainty is their
// half-width over √3 (JCGM 100:2008, 4.3.7).
func limits(what string, s capture.Stated) Part {
	p := Part{What: what, U: s.Within / math.Sqrt(3), DOF: math.Inf(1), Basis: "not stated"}
	if !math.IsNaN(s.Within) {
		p.Basis = fmt.Sprintf("%s: limits of %.3f dB to either side, any value in them as likely", s.Said, s.Within)
	}
	return p
}

// Stated is a scale as given: the voltage at the converter, and the gain ahead
// of it. Both may be empty; a gain alone gives no volts.
func Stated(fullScale, gain string) (Scale, error) {
	s := Scale{Drift: math.NaN()}
	if fullScale != "" {
		v, err := capture.ParseStatedVolts(fullScale)
		if err != nil {
			return Scale{}, err
		}
		s.base, s.Said, s.origin = v.Value, v.Said, "full scale "+v.Said
		s.own = []Part{limits("full scale", v)}
	}
	if gain == "" {
		return s, nil
	}
	g, err := capture.ParseStatedGain(gain)
	if err != nil {
		return Scale{}, err
	}
	return s.less(g), nil
}

// StatedFull is Stated for captures on one scale, where a gain alone is of no use.
func StatedFull(fullScale, gain string) (Scale, error) {
	if fullScale == "" && gain != "" {
		return Scale{}, &fault.Error{What: fmt.Sprintf("a gain of %s alone gives no volts", gain), Hint: "say what full scale is too, e.g. --full-scale 2.0V"}
	}
	return Stated(fullScale, gain)
}

// less is the scale with a further gain ahead of it.
func (s Scale) less(g capture.Stated) Scale {
	s.gains = append(slices.Clone(s.gains), g)
	gain := capture.Decimal(g.Value) + " dB"
	if !math.IsNaN(g.Within) {
		gain = g.Said
	}
	if s.Said == "" {
		s.Said = gain + " of gain"
	} else {
		s.Said += " less " + gain + " of gain"
	}
	return s
}

// AtGain is the scale of a capture made at another gain than the scale's tone
// was: at is the tone's, gain the capture's.
func (s Scale) AtGain(at, gain string) (Scale, error) {
	a, err := capture.ParseStatedGain(at)
	if err != nil {
		return Scale{}, err
	}
	g, err := capture.ParseStatedGain(gain)
	if err != nil {
		return Scale{}, err
	}
	if g.Value == a.Value {
		return s, nil
	}
	// What a step is off by is stated with either gain; as independent, both count.
	step := capture.Stated{Value: g.Value - a.Value, Within: math.Hypot(g.Within, a.Within)}
	step.Said = fmt.Sprintf("from %s to %s", a.Said, g.Said)
	s.gains = append(slices.Clone(s.gains), step)
	s.Said = fmt.Sprintf("%s, at %s of gain; here %s", s.Said, a.Said, g.Said)
	return s, nil
}

// combined is a sum of parts in squares: the half-width of its interval, and
// whether every part was stated (JCGM 100:2008, 5.1.2 and G.4).
func combined(parts []Part) (half float64, complete bool) {
	square := 0.0
	complete = true
	var known []repeats.Part
	for _, p := range parts {
		if math.IsNaN(p.U) {
			complete = false
			continue
		}
		square += p.U * p.U
		known = append(known, repeats.Part{U: p.U, DOF: p.DOF})
	}
	return coverage(repeats.EffectiveDOF(known)) * math.Sqrt(square), complete
}

// coverage is Student's factor for 95 %; degrees of freedom are rounded down
// (G.4.1).
func coverage(dof float64) float64 {
	if dof > 1e6 {
		return distuv.UnitNormal.Quantile((1 + Confidence) / 2)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(1, math.Floor(dof))}.Quantile((1 + Confidence) / 2)
}

// State is the scale as it stands in a result.
func (s Scale) State(who string) result.Scale {
	r := result.Scale{
		For: who, FullScaleVolts: result.Of(s.FullScale()), Said: s.Said, GainDB: result.None,
		U95DB: result.None, DriftDB: result.None, Parts: []result.ScalePart{}, Calibrations: s.Tones,
	}
	if r.Calibrations == nil {
		r.Calibrations = []result.Calibration{}
	}
	if len(s.Tones) > 1 {
		r.DriftDB = result.Of(s.Drift)
	}
	if len(s.gains) > 0 {
		r.GainDB = result.Of(s.gain())
	}
	half, complete := combined(s.Parts())
	if r.Complete = complete; s.base > 0 {
		r.U95DB = result.Of(half)
	}
	for _, p := range s.Parts() {
		r.Parts = append(r.Parts, result.ScalePart{What: p.What, UDB: result.Of(p.U), DOF: result.Of(p.DOF), Basis: p.Basis})
	}
	return r
}

// Between is the step from quiet's scale to near's: how many dB more voltage
// near's full scale is, and how far that is known. What both scales have in
// common cancels. It returns an error where one of them has volts alone.
func Between(quiet, near Scale) (result.Step, error) {
	if (quiet.base > 0) != (near.base > 0) {
		return result.Step{DB: result.None, U95DB: result.None}, fmt.Errorf("one of the two captures has a voltage scale and the other has none")
	}
	step := near.gainless() - quiet.gainless() + quiet.gain() - near.gain()
	parts := append(unshared(quiet, near), unshared(near, quiet)...)
	half, complete := combined(parts)
	return result.Step{DB: result.Of(step), U95DB: result.Of(half), Complete: complete}, nil
}

// gainless is the base in dBV, 0 where none is known.
func (s Scale) gainless() float64 {
	if !(s.base > 0) {
		return 0
	}
	return 20 * math.Log10(s.base)
}

// unshared are the parts of s that t hasn't.
func unshared(s, t Scale) (parts []Part) {
	if s.origin != t.origin {
		parts = append(parts, s.own...)
	}
	for _, g := range s.gains {
		if !slices.ContainsFunc(t.gains, func(o capture.Stated) bool { return o.Said == g.Said }) {
			parts = append(parts, limits("gain", g))
		}
	}
	return parts
}
