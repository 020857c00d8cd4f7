package plan

import (
	"math"
	"slices"

	"humdiff/report/model"
)

// gridHz is what all tones are multiples of: only what repeats that often can have a low
// crest factor.
const gridHz = 25

// headroom is a signal's peak, of full scale.
const headroom = 0.9

// Tone is one of a signal's.
type Tone struct {
	Hz    float64
	Peak  float64 // full scale is 1
	Phase float64 // rad, of a cosine
}

// tones are what a known source plays in place of the mains. Each lies 15 Hz and more from
// every line of 50 and of 60 Hz, so that hum doesn't reach it, and none lies where two others
// make a sum, a difference, or 2f±g in an output that distorts. A coupling rises with
// frequency, so levels fall by 3 dB an octave: half way to where all would be seen alike.
// Phases are those of a low crest factor, the best of 600 drawn at random, each improved by
// clipping over and over (Van der Ouderaa 1988, from memory).
var tones = []Tone{{75, 0, 5.056}, {375, 0, 0.956}, {625, 0, 1.210}, {925, 0, 0.283}, {975, 0, 2.237},
	{1275, 0, 0.925}, {2425, 0, 3.179}, {3375, 0, 0.491}, {4725, 0, 2.034}, {7825, 0, 2.785}}

// Tones are what to play: as many as a sample rate takes.
func Tones(rate float64) []Tone {
	var all []Tone
	for _, t := range tones {
		if t.Peak = math.Sqrt(tones[0].Hz / t.Hz); t.Hz < 0.45*rate {
			all = append(all, t)
		}
	}
	top := peakOf(period(all, periodN))
	for k := range all {
		all[k].Peak *= headroom / top
	}
	return all
}

// clearance is how far a frequency is from the nearest line of 50 or 60 Hz.
func clearance(hz float64) float64 {
	least := math.Inf(1)
	for _, mains := range []float64{50, 60} {
		least = min(least, math.Abs(hz-mains*math.Round(hz/mains)))
	}
	return least
}

// periodN is samples enough to see a period's peak.
const periodN = 2000

// period is one period of tones, in n samples.
func period(tones []Tone, n int) []float64 {
	out := make([]float64, n)
	for _, t := range tones {
		for i := range out {
			out[i] += t.Peak * math.Cos(2*math.Pi*math.Mod(t.Hz/gridHz*float64(i), float64(n))/float64(n)+t.Phase)
		}
	}
	return out
}

func peakOf(x []float64) (top float64) {
	for _, v := range x {
		top = max(top, math.Abs(v))
	}
	return top
}

// Crest is a signal's peak over its rms.
func Crest(tones []Tone) float64 {
	sum := 0.0
	for _, t := range tones {
		sum += t.Peak * t.Peak / 2
	}
	return peakOf(period(tones, periodN)) / math.Sqrt(sum)
}

// Signal is what to play: the tones at a rate, rising and falling over a tenth of a second.
func Signal(tones []Tone, rate int, seconds float64) []float64 {
	once := period(tones, rate/gridHz)
	out := make([]float64, int(seconds*float64(rate)))
	ramp := float64(rate) / 10
	for i := range out {
		end := float64(min(i, len(out)-1-i))
		out[i] = once[i%len(once)] * min(1, end/ramp)
	}
	return out
}

// Driving is what a known source is to show.
type Driving struct {
	Volts   float64 // rms at the wire, of a full-scale sine at the output
	Ohms    float64 // that the cable is terminated in
	Floor   float64 // noise at the input, V/√Hz; NaN: not known
	Farads  float64 // to be seen; NaN: none
	Seconds float64 // of a capture; where Farads is known, at least what that takes
}

// Drive says what to play, and what it shows: of each tone, what voltage at 50 Hz would
// couple as it does (a coupling rises with frequency), and the least capacitance that
// nine captures in ten show.
func Drive(d Driving, rate float64) model.PlanTones {
	tones := Tones(rate)
	out := model.PlanTones{FullScaleVolts: model.Of(d.Volts), SourceOhms: model.Of(d.Ohms), FloorVolts: model.Of(d.Floor), SeeFarads: model.Of(d.Farads),
		RateHz: rate, Crest: model.Digits(Crest(tones), 3), Tones: []model.PlanTone{}, SeesFarads: model.None}
	out.Seconds = d.seconds(tones)
	for _, t := range tones {
		volts := t.Peak * d.Volts
		p := model.PlanTone{Hz: t.Hz, DBFS: model.Num(model.Places(20*math.Log10(t.Peak), 2)), Volts: model.Of(model.Digits(volts, 4)),
			ClearHz: clearance(t.Hz), LikeVolts: model.Of(model.Digits(volts*t.Hz/50, 4)), SeesFarads: model.Of(model.Digits(d.sees(t, len(tones), out.Seconds), 4))}
		out.Tones = append(out.Tones, p)
		if p.SeesFarads.Ok() && !(out.SeesFarads <= p.SeesFarads) {
			out.SeesFarads = p.SeesFarads
		}
	}
	return out
}

// sees is the least capacitance that a tone shows: V = ωRCU.
func (d Driving) sees(t Tone, tones int, seconds float64) float64 {
	sought := Sought{Lines: tones, Share: 0.9, Alarms: falseAlarms}
	volts := d.Floor * math.Pow(10, Level(sought, seconds)/20)
	return volts / (2 * math.Pi * t.Hz * d.Ohms * t.Peak * d.Volts)
}

// seconds is how long to record, in whole tens of seconds.
func (d Driving) seconds(tones []Tone) float64 {
	least := d.Seconds
	for t := least; !math.IsNaN(d.Farads+d.Floor+d.Volts) && t <= Longest; t += 10 {
		least = t
		if slices.ContainsFunc(tones, func(one Tone) bool { return d.sees(one, len(tones), t) <= d.Farads }) {
			break
		}
	}
	return least
}
