package measure

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"humdiff/fft/fault"
	"humdiff/report/model"
	"humdiff/report/unit"
)

// Scale is what full scale is in volts, and how far that is known. What it may be
// off by is taken to be small, independent from part to part, and the same for
// all levels on that scale: so it goes into absolute levels, and into differences
// only between two scales. The zero Scale knows nothing.
type Scale struct {
	said   string
	volts  float64 // rms of a full-scale sine at the input; 0: unknown
	gain   float64 // dB, taken off the volts
	gained bool    // a gain was given
	parts  []part
	tones  []model.Calibration
}

// stated is a voltage or a gain as it was given.
type stated struct {
	value  float64 // volts rms, or dB of gain
	within float64 // dB to either side; NaN where nothing was said
	said   string  // as given
}

// widest is the limit in dB beyond which a scale says nothing worth having.
const widest = 6

// statedAs reads a voltage or a gain; where limits lie unevenly in dB, the wider
// one counts.
func statedAs(u unit.Unit, s string, within func(value, lo float64) float64) (stated, error) {
	e, err := u.Parse(s)
	if err != nil {
		return stated{}, err
	}
	v, lo, _ := e.Numbers()
	g := stated{value: v, within: within(v, lo), said: strings.TrimSpace(s)}
	if g.within > widest {
		return stated{}, fault.New("what is known no closer than "+unit.Gain.WriteNumber(widest)+" gives no scale: measure it, or leave it out", "%q is no plausible tolerance of a scale", s)
	}
	return g, nil
}

func voltsWithin(v, lo float64) float64 { return -20 * math.Log10(lo/v) }
func gainWithin(v, lo float64) float64  { return v - lo }

// StatedScale is a scale as given: the voltage at the converter, and the gain
// ahead of it. Both may be empty; a gain alone gives no volts, but tells two
// captures' scales apart.
func StatedScale(fullScale, gain string) (s Scale, err error) {
	if fullScale != "" {
		v, err := statedAs(unit.Volts, fullScale, voltsWithin)
		if err != nil {
			return Scale{}, err
		}
		s.volts, s.said, s.parts = v.value, v.said, []part{limits("full scale", v)}
	}
	if gain == "" {
		return s, nil
	}
	g, err := statedAs(unit.Gain, gain, gainWithin)
	if err != nil {
		return Scale{}, err
	}
	said := unit.Decimal(g.value) + " dB of gain"
	if !math.IsNaN(g.within) {
		said = g.said + " of gain"
	}
	if s.said != "" {
		said = s.said + " less " + said
	}
	return s.less(g, said), nil
}

// Known reports whether the scale says anything, if only a gain.
func (s Scale) Known() bool { return s.volts > 0 || s.gained }

// Same says that two scales were given in the same words.
func (s Scale) Same(t Scale) bool {
	return s.said == t.said && len(unshared(s, t))+len(unshared(t, s)) == 0
}

// less is the scale with a further gain ahead of it.
func (s Scale) less(g stated, said string) Scale {
	s.said, s.volts, s.gain, s.gained = said, s.volts*math.Pow(10, -g.value/20), s.gain+g.value, true
	s.parts = append(slices.Clone(s.parts), limits("gain", g))
	return s
}

// AtGain is the scale of a capture made at another gain than the scale's tone
// was: at is the tone's, gain the capture's.
func (s Scale) AtGain(at, gain string) (Scale, error) {
	a, err := statedAs(unit.Gain, at, gainWithin)
	if err != nil {
		return Scale{}, err
	}
	g, err := statedAs(unit.Gain, gain, gainWithin)
	if err != nil || g.value == a.value {
		return s, err
	}
	// What a step is off by is stated with either gain; as independent, both count.
	step := stated{value: g.value - a.value, within: math.Hypot(g.within, a.within), said: a.said + " to " + g.said}
	return s.less(step, fmt.Sprintf("%s, at %s of gain; here %s", s.said, a.said, g.said)), nil
}

// State is the scale as it stands in a result.
func (s Scale) State(who string) model.Scale {
	r := model.Scale{
		For: who, FullScaleVolts: model.None, Said: s.said, GainDB: model.None,
		U95DB: model.None, DriftDB: model.None, Parts: []model.ScalePart{}, Calibrations: append([]model.Calibration{}, s.tones...),
	}
	if n := len(s.tones); n > 1 {
		r.DriftDB = places(20*math.Log10(float64(s.tones[n-1].FullScaleVolts/s.tones[0].FullScaleVolts)), 4)
	}
	if s.gained {
		r.GainDB = places(s.gain, 4)
	}
	half, complete := combined(s.parts)
	if r.Complete = complete; s.volts > 0 {
		r.FullScaleVolts, r.U95DB = seven(s.volts), seven(half)
	}
	for _, p := range s.parts {
		r.Parts = append(r.Parts, model.ScalePart{What: p.what, UDB: seven(p.u), DOF: model.Of(p.dof), Basis: p.basis})
	}
	return r
}

// Between is the step from quiet's scale to near's: how many dB more voltage
// near's full scale is, and how far that is known. What both scales have in
// common cancels. It returns an error where one of them has volts alone.
func Between(quiet, near Scale) (model.Step, error) {
	if (quiet.volts > 0) != (near.volts > 0) {
		return model.Step{DB: model.None, U95DB: model.None}, fault.New("give the other capture's scale too, or one for both",
			"one of the two captures has a voltage scale and the other has none")
	}
	step := quiet.gain - near.gain
	if near.volts > 0 {
		step = 20 * math.Log10(near.volts/quiet.volts)
	}
	half, complete := combined(append(unshared(quiet, near), unshared(near, quiet)...))
	return model.Step{DB: seven(step), U95DB: seven(half), Complete: complete}, nil
}

// unshared are the parts of s that t hasn't.
func unshared(s, t Scale) []part {
	return slices.DeleteFunc(slices.Clone(s.parts), func(p part) bool {
		return slices.ContainsFunc(t.parts, func(o part) bool { return o.origin == p.origin })
	})
}

// part is one contribution to a scale's uncertainty. Those of one origin are wrong by the
// same amount in every scale.
type part struct {
	what   string
	u      float64 // standard uncertainty, dB; NaN where the user didn't state it
	dof    float64
	basis  string
	origin string
}

// limits is the part of something stated to lie within limits: any value in
// them is as likely as any other, so its standard uncertainty is their
// half-width over √3 (JCGM 100:2008, 4.3.7).
func limits(what string, s stated) part {
	p := part{what, s.within / math.Sqrt(3), math.Inf(1), "limits", what + " " + s.said}
	if math.IsNaN(s.within) {
		p.basis = "not_stated"
	}
	return p
}

// combined is a sum of parts in squares: the half-width of its 95 % interval by
// the effective degrees of freedom of Welch and Satterthwaite, and whether every
// part was stated (JCGM 100:2008, 5.1.2 and G.4).
func combined(parts []part) (half float64, complete bool) {
	square, fourth, dof := 0.0, 0.0, math.Inf(1)
	complete = true
	for _, p := range parts {
		if math.IsNaN(p.u) {
			complete = false
			continue
		}
		square += p.u * p.u
		fourth += p.u * p.u * p.u * p.u / p.dof
	}
	if fourth > 0 {
		dof = square * square / fourth
	}
	return coverage(dof) * math.Sqrt(square), complete
}

// coverage is Student's factor for 95 %; degrees of freedom are rounded down
// (G.4.1).
func coverage(dof float64) float64 {
	const upTo = 0.975
	if dof > 1e6 {
		return distuv.UnitNormal.Quantile(upTo)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(1, math.Floor(dof))}.Quantile(upTo)
}
