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
	said  string
	base  float64 // volts rms of a full-scale sine without the gains below; 0: unknown
	gains []stated
	// own are the parts of base, others the gains'. Scales with the same origin
	// are wrong by the same amount, as far as that origin goes.
	origin string
	own    []part
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
func StatedScale(fullScale, gain string) (Scale, error) {
	s := Scale{}
	if fullScale != "" {
		v, err := statedAs(unit.Volts, fullScale, voltsWithin)
		if err != nil {
			return Scale{}, err
		}
		s.base, s.said, s.origin = v.value, v.said, "full scale "+v.said
		s.own = []part{limits("full scale", v)}
	}
	if gain == "" {
		return s, nil
	}
	g, err := statedAs(unit.Gain, gain, gainWithin)
	if err != nil {
		return Scale{}, err
	}
	return s.less(g), nil
}

// Known reports whether the scale says anything, if only a gain.
func (s Scale) Known() bool { return s.base > 0 || len(s.gains) > 0 }

// Same says that two scales were given in the same words.
func (s Scale) Same(t Scale) bool { return s.said == t.said && s.origin == t.origin }

// fullScale is the rms voltage of a full-scale sine at the input; NaN where it is
// unknown.
func (s Scale) fullScale() float64 {
	if !(s.base > 0) {
		return math.NaN()
	}
	return s.base * math.Pow(10, -s.gain()/20)
}

func (s Scale) gain() (db float64) {
	for _, g := range s.gains {
		db += g.value
	}
	return db
}

// less is the scale with a further gain ahead of it.
func (s Scale) less(g stated) Scale {
	s.gains = append(slices.Clone(s.gains), g)
	gain := unit.Decimal(g.value) + " dB"
	if !math.IsNaN(g.within) {
		gain = g.said
	}
	if s.said == "" {
		s.said = gain + " of gain"
	} else {
		s.said += " less " + gain + " of gain"
	}
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
	if err != nil {
		return Scale{}, err
	}
	if g.value == a.value {
		return s, nil
	}
	// What a step is off by is stated with either gain; as independent, both count.
	step := stated{value: g.value - a.value, within: math.Hypot(g.within, a.within), said: a.said + " to " + g.said}
	s.gains = append(slices.Clone(s.gains), step)
	s.said = fmt.Sprintf("%s, at %s of gain; here %s", s.said, a.said, g.said)
	return s, nil
}

// State is the scale as it stands in a result.
func (s Scale) State(who string) model.Scale {
	r := model.Scale{
		For: who, FullScaleVolts: seven(s.fullScale()), Said: s.said, GainDB: model.None,
		U95DB: model.None, DriftDB: model.None, Parts: []model.ScalePart{}, Calibrations: append([]model.Calibration{}, s.tones...),
	}
	if n := len(s.tones); n > 1 {
		r.DriftDB = places(20*math.Log10(float64(s.tones[n-1].FullScaleVolts/s.tones[0].FullScaleVolts)), 4)
	}
	if len(s.gains) > 0 {
		r.GainDB = places(s.gain(), 4)
	}
	half, complete := combined(s.parts())
	if r.Complete = complete; s.base > 0 {
		r.U95DB = seven(half)
	}
	for _, p := range s.parts() {
		r.Parts = append(r.Parts, model.ScalePart{What: p.what, UDB: seven(p.u), DOF: model.Of(p.dof), Basis: p.basis})
	}
	return r
}

// Between is the step from quiet's scale to near's: how many dB more voltage
// near's full scale is, and how far that is known. What both scales have in
// common cancels. It returns an error where one of them has volts alone.
func Between(quiet, near Scale) (model.Step, error) {
	if (quiet.base > 0) != (near.base > 0) {
		return model.Step{DB: model.None, U95DB: model.None}, fault.New("give the other capture's scale too, or one for both",
			"one of the two captures has a voltage scale and the other has none")
	}
	step := near.gainless() - quiet.gainless() + quiet.gain() - near.gain()
	half, complete := combined(append(unshared(quiet, near), unshared(near, quiet)...))
	return model.Step{DB: seven(step), U95DB: seven(half), Complete: complete}, nil
}

// gainless is the base in dBV, 0 where none is known.
func (s Scale) gainless() float64 {
	if !(s.base > 0) {
		return 0
	}
	return 20 * math.Log10(s.base)
}

// unshared are the parts of s that t hasn't.
func unshared(s, t Scale) (parts []part) {
	if s.origin != t.origin {
		parts = append(parts, s.own...)
	}
	for _, g := range s.gains {
		if !slices.ContainsFunc(t.gains, func(o stated) bool { return o.said == g.said }) {
			parts = append(parts, limits("gain", g))
		}
	}
	return parts
}

// part is one contribution to a scale's uncertainty.
type part struct {
	what  string
	u     float64 // standard uncertainty, dB; NaN where the user didn't state it
	dof   float64
	basis string
}

// parts are what the scale may be off by.
func (s Scale) parts() []part {
	parts := slices.Clone(s.own)
	for _, g := range s.gains {
		parts = append(parts, limits("gain", g))
	}
	return parts
}

// limits is the part of something stated to lie within limits: any value in
// them is as likely as any other, so its standard uncertainty is their
// half-width over √3 (JCGM 100:2008, 4.3.7).
func limits(what string, s stated) part {
	p := part{what: what, u: s.within / math.Sqrt(3), dof: math.Inf(1), basis: "not_stated"}
	if !math.IsNaN(s.within) {
		p.basis = "limits"
	}
	return p
}

// combined is a sum of parts in squares: the half-width of its 95 % interval by
// the effective degrees of freedom of Welch and Satterthwaite, and whether every
// part was stated (JCGM 100:2008, 5.1.2 and G.4).
func combined(parts []part) (half float64, complete bool) {
	square, fourth := 0.0, 0.0
	complete = true
	for _, p := range parts {
		if math.IsNaN(p.u) {
			complete = false
			continue
		}
		square += p.u * p.u
		fourth += p.u * p.u * p.u * p.u / p.dof
	}
	dof := math.Inf(1)
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
