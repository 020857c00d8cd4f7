package mains

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"humdiff/fft/chisq"
)

// modelDB is what the model of a line leaves out at the least. It adds to an
// interval's half-width as a square, being independent of the noise: linearly,
// intervals of lines 60 dB above the floor would cover far more than they say.
const modelDB = 0.005

// steadyDB is the scatter of a line's level that nobody would call a change: of lines
// 90 dB out of the noise, the method's own would be seen.
const steadyDB = 0.05

// reading is the mean power of a line's phasors over spans or blocks, with
// what is needed to judge it. Signal and noise add as phasors, so the mean of
// m of them, divided by its noise, is noncentral chi-square with 2m degrees of
// freedom. Overlapping blocks count as `central` independent ones where noise
// alone scatters and as `coherent` ones where it scatters against a strong
// line, which shifts them all alike.
type reading struct {
	mean     float64
	noise    float64 // expected in mean
	floor    float64 // of that, what the floor brings; the rest leaks from tones
	central  float64
	coherent float64
	floorDOF float64 // of noise
	model    float64 // dB by which mean may be off for other reasons than noise
	looks    float64 // independent frequencies of which mean is the largest; 1 where the frequency is known
}

// averages is the effective number of independent powers for a line of power a,
// the floor's own uncertainty counted as more scatter of the noise.
func (r reading) averages(a float64) float64 {
	return (2*a + r.noise) / (2*a/r.coherent + r.noise*(1/r.central+2/r.floorDOF))
}

// below is the probability of reading no more than mean from a line of power a.
func (r reading) below(mean, a float64) float64 {
	m := r.averages(a)
	p := chisq.CDF(2*m*mean/r.noise, 2*m, 2*m*a/r.noise)
	if r.looks > 1 {
		p *= math.Pow(chisq.CDF(2*r.central*mean/r.noise, 2*r.central, 0), r.looks-1)
	}
	return p
}

// falseAlarm is the probability of noise alone reading as much, the floor's
// own uncertainty counted.
func (r reading) falseAlarm() float64 {
	if !(r.noise > 0) {
		return 1
	}
	p := distuv.F{D1: 2 * r.central, D2: r.floorDOF}.Survival(r.mean / r.noise)
	if r.looks > 1 {
		p = -math.Expm1(r.looks * math.Log1p(-p))
	}
	return p
}

// excess is the line's power, noise taken off.
func (r reading) excess() float64 { return r.mean - r.noise }

// upper is the power that a line exceeds in 2.5 % of captures that read as
// little as this one.
func (r reading) upper(mean float64) float64 {
	return chisq.Root(func(a float64) float64 { return r.below(mean, a) - tail }, max(mean, r.noise))
}

// lower is the power that a line falls short of in 2.5 % of captures that read
// as much.
func (r reading) lower() float64 {
	return chisq.Root(func(a float64) float64 { return r.below(r.mean, a) - (1 - tail) }, r.mean)
}

// typical is what noise alone reads in the median.
func (r reading) typical() float64 {
	p := math.Pow(0.5, 1/r.looks)
	g := distuv.Gamma{Alpha: r.central, Beta: r.central}
	return r.noise * g.Quantile(p)
}

// level judges a reading: detected where noise reads as much with a
// probability below falseAlarm.
func (r reading) level(falseAlarm float64) Level {
	if r.noise > 0 && r.falseAlarm() < falseAlarm {
		return r.detected()
	}
	return r.undetected()
}

// glance is level without intervals and limits.
func (r reading) glance(falseAlarm float64) Level {
	if r.noise > 0 && r.falseAlarm() < falseAlarm {
		return Level{Detected: true, Power: r.excess()}
	}
	return Level{Power: math.NaN()}
}

func (r reading) detected() Level {
	a, model := r.excess(), modelDB+r.model
	return Level{
		Detected: true, Power: a, Limit: math.NaN(),
		Lo: widen(a, min(r.lower(), a), -model), Hi: widen(a, max(r.upper(r.mean), a), model),
	}
}

// widen moves one end of the interval around power a outwards by a further
// uncertainty of so many dB, below zero for the lower end, added to its distance as a square.
func widen(a, end, db float64) float64 {
	distance := 10 * math.Log10(end/a)
	return a * math.Pow(10, math.Copysign(math.Hypot(distance, db), db)/10)
}

// undetected gives the upper limit, never below what a noise-only capture
// of median luck would give (power-constrained limit, Cowan et al. 2011).
func (r reading) undetected() Level {
	if !(r.noise > 0) {
		return unknownLevel()
	}
	return limited(r.upper(max(r.mean, r.typical())))
}
