package judge

import (
	"math"
	"slices"

	"humdiff/fft/estimate"
	"humdiff/fft/mains"
	"humdiff/report/model"
)

// Pair holds a near capture against a quiet one, both measured with these
// settings, be it elsewhere and long ago. The totals are over the lines that both
// have and no tone hides in either. Noise is left out where the two were measured
// over different bands.
func Pair(set model.Settings, quiet, near model.Capture) model.Pair {
	p := model.Pair{Quiet: quiet, Near: near, Noise: noiseOf(quiet.Noise, near.Noise)}
	p.Lines = pairLines(set.Step, p)
	p.Hum = change(set.Step, p, quiet.Hum.Level, near.Hum.Level, func(s mains.Set) mains.Set { return s })
	p.HumA = change(set.Step, p, quiet.HumA.Level, near.HumA.Level, aWeighted)
	if sameSamples(quiet, near) || quiet.Overlaps(near.Side) {
		return OneRecording(p)
	}
	return p
}

// OneRecording is a pair whose sides are one recording, or share a part of one: it shows
// no change, so none is stated.
func OneRecording(p model.Pair) model.Pair {
	none := estimate.None(whyOne)
	p.Lines = slices.Clone(p.Lines)
	for i := range p.Lines {
		p.Lines[i].Delta, p.Lines[i].Pickup = none, none
	}
	p.Hum.Delta, p.Hum.Pickup = none, none
	p.HumA.Delta, p.HumA.Pickup = none, none
	return p
}

// sameSamples says that two captures hold the same samples, and more than silence.
func sameSamples(a, b model.Capture) bool {
	return a.Decoded != "" && a.Decoded == b.Decoded && !a.Health.Silent
}

// pairLines compares the lines that both have; where one side has none, all of
// the other are listed.
func pairLines(step model.Step, p model.Pair) []model.LineChange {
	lines := []model.LineChange{}
	if p.Unlike() {
		return lines
	}
	count := min(len(p.Quiet.Lines), len(p.Near.Lines))
	if count == 0 {
		count = max(len(p.Quiet.Lines), len(p.Near.Lines))
	}
	phasors, turn := len(phasorsOf(step, p.Quiet, p.Near)), turned(p.Quiet, p.Near)
	for h := 1; h <= count; h++ {
		q, n := p.Quiet.Line(h), p.Near.Line(h)
		delta, pickup := compare(step, q.Level, n.Level)
		if known, ok := phasorOf(step, q, n, turn); ok {
			pickup = known.estimate(phasors)
		}
		lines = append(lines, model.LineChange{Harmonic: h, Hz: middle(q.Hz, n.Hz), Delta: delta, Pickup: pickup})
	}
	return lines
}

// middle is the mean of two frequencies, or the one there is.
func middle(a, b model.Num) model.Num {
	switch {
	case !a.Ok():
		return b
	case !b.Ok():
		return a
	}
	return model.Num(model.Digits(float64(a+b)/2, 7))
}

// compare is near minus quiet, and the pickup. Quiet's level is put on near's
// scale first; how far the step between them is known goes into its interval, and
// so into both.
func compare(step model.Step, quiet, near model.Estimate) (delta, pickup model.Estimate) {
	if !step.DB.Ok() {
		return estimate.None(WhyTwoScales), estimate.None(WhyTwoScales)
	}
	quiet = onNear(step, quiet)
	return Delta(quiet, near), Pickup(quiet, near)
}

// onNear is a level of quiet's as it stands on near's scale.
func onNear(step model.Step, quiet model.Estimate) model.Estimate {
	return model.Widened(quiet.Shift(-float64(step.DB)), step.U95DB.OrZero()) // what nothing was stated of counts as exact
}

// change compares the totals over the lines that both have. Where there are none,
// each side's own is stated, and nothing compared.
func change(step model.Step, p model.Pair, quiet, near model.Estimate, weighted func(mains.Set) mains.Set) model.Change {
	c := model.Change{Quiet: quiet, Near: near, UpToHz: math.Min(p.Quiet.UpToHz, p.Near.UpToHz), LeftOut: []int{}}
	set, ok := common(&p.Quiet, &p.Near)
	switch {
	case p.Unlike():
		c.Delta, c.Pickup = estimate.None(WhyUnlike), estimate.None(WhyUnlike)
	case !ok:
		c.Delta, c.Pickup = estimate.None(WhyNoLines), estimate.None(WhyNoLines)
	default:
		c.LeftOut = append(c.LeftOut, set.Without...)
		c.Lines = set.Lines - len(set.Without)
		c.Quiet, c.Near = total(p.Quiet, weighted(set)), total(p.Near, weighted(set))
		c.Delta, c.Pickup = compare(step, c.Quiet, c.Near)
		if sum, ok := sumByPhase(step, p.Quiet, p.Near, weighted(set)); ok {
			c.Pickup = sum
		}
	}
	return c
}

// noiseOf sets noise totals side by side.
func noiseOf(q, n model.Noise) model.PairNoise {
	if q.BandHz != n.BandHz {
		return model.PairNoise{QuietDBFS: model.None, NearDBFS: model.None, QuietADBFS: model.None, NearADBFS: model.None}
	}
	return model.PairNoise{BandHz: q.BandHz, QuietDBFS: q.DBFS, NearDBFS: n.DBFS, QuietADBFS: q.ADBFS, NearADBFS: n.ADBFS}
}
