package assemble

import (
	"math"
	"slices"

	"humdiff/fft/mains"
	"humdiff/report/delta"
	"humdiff/report/noise"
	"humdiff/report/result"
)

// Pair is one channel, quiet and near.
type Pair struct{ Quiet, Near Channel }

// Compare is the result of comparing pairs of one exposure.
func Compare(version string, settings result.Settings, pairs []Pair) result.Compare {
	r := result.Compare{
		Schema:   result.CompareSchema,
		Tool:     result.Tool{Version: version},
		Settings: settings,
		Pairs:    make([]result.Pair, 0, len(pairs)),
	}
	var w warnings
	w.settings(settings)
	w.add(everything, "one_placement", "The intervals cover recording noise alone, from one placement of the lead. "+
		"Placing it again changes pickup by decibels: only repeats with the lead taken away and put back carry a claim.")
	for _, p := range pairs {
		stated := scale{settings.FullScaleVolts}.pair(p)
		r.Pairs = append(r.Pairs, stated)
		w.channel(p.Quiet)
		w.channel(p.Near)
		w.pair(p, stated)
	}
	r.Warnings = w.list()
	return r
}

func (s scale) pair(p Pair) result.Pair {
	return result.Pair{
		Quiet: p.Quiet.Side,
		Near:  p.Near.Side,
		Mains: pairMains(p.Quiet.Mains, p.Near.Mains),
		Lines: s.pairLines(p),
		Hum:   s.pairHum(p),
		Noise: pairNoise(p.Quiet.Measurement, p.Near.Measurement),
		Tones: result.PairTones{Quiet: tones(p.Quiet.Measurement), Near: tones(p.Near.Measurement)},
		Trace: result.PairTrace{Quiet: spectrum(p.Quiet.Measurement), Near: spectrum(p.Near.Measurement)},
		Cycle: result.PairCycle{Quiet: cycle(p.Quiet.Measurement), Near: cycle(p.Near.Measurement)},

		Health: result.PairHealth{Quiet: health(p.Quiet.Health), Near: health(p.Near.Health)},
	}
}

func pairMains(quiet, near mains.Mains) result.PairMains {
	return result.PairMains{
		NominalHz:     commonNominal(quiet, near),
		QuietHz:       found(quiet, quiet.Hz),
		NearHz:        found(near, near.Hz),
		QuietDetected: quiet.Detected,
		NearDetected:  near.Detected,
		QuietU95Hz:    found(quiet, quiet.U95),
		NearU95Hz:     found(near, near.U95),

		QuietNominalHz: nominal(quiet.Nominal),
		NearNominalHz:  nominal(near.Nominal),
	}
}

// commonNominal is the nominal frequency both sides share or one side knows;
// None where they differ or neither knows one.
func commonNominal(quiet, near mains.Mains) result.Num {
	switch {
	case quiet.Nominal == near.Nominal, near.Nominal == 0:
		return nominal(quiet.Nominal)
	case quiet.Nominal == 0:
		return nominal(near.Nominal)
	default:
		return result.None
	}
}

// nominalsDiffer says that the two sides' lines have nothing to do with each
// other: harmonic 3 of 50 Hz isn't harmonic 3 of 60 Hz.
func (p Pair) nominalsDiffer() bool {
	q, n := p.Quiet.Mains.Nominal, p.Near.Mains.Nominal
	return q != 0 && n != 0 && q != n
}

// sameLines says that both hum totals are over one set of lines.
func (p Pair) sameLines() bool {
	return len(p.Quiet.Lines) == len(p.Near.Lines) && slices.Equal(p.Quiet.LeftOut, p.Near.LeftOut) && !p.nominalsDiffer()
}

func (s scale) pairLines(p Pair) []result.PairLine {
	lines := []result.PairLine{}
	if p.nominalsDiffer() {
		return lines
	}
	for h := 1; h <= max(len(p.Quiet.Lines), len(p.Near.Lines)); h++ {
		q, n := lineOf(p.Quiet.Measurement, h), lineOf(p.Near.Measurement, h)
		lines = append(lines, result.PairLine{
			Harmonic: h,
			Hz:       between(q.Hz, n.Hz),
			Quiet:    s.line(q),
			Near:     s.line(n),
			Delta:    delta.Levels(q.Level, n.Level),
			Pickup:   s.pickup(q.Level, n.Level),
		})
	}
	return lines
}

// between is the mean of two frequencies, or the one there is.
func between(a, b float64) result.Num {
	switch {
	case math.IsNaN(a):
		return result.Of(b)
	case math.IsNaN(b):
		return result.Of(a)
	default:
		return result.Of((a + b) / 2)
	}
}

func (s scale) pickup(quiet, near mains.Level) result.Pickup {
	lo, hi := delta.Pickup(quiet, near)
	return result.Pickup{LoVolts: s.amplitude(lo), HiVolts: s.amplitude(hi), LoFS: result.Of(lo), HiFS: result.Of(hi)}
}

// pairHum compares the totals; sums over different sets of lines are stated
// but not compared.
func (s scale) pairHum(p Pair) result.PairHum {
	q, n := humOf(p.Quiet.Measurement), humOf(p.Near.Measurement)
	h := result.PairHum{
		Quiet:   s.level(q),
		Near:    s.level(n),
		Delta:   delta.Levels(unknown, unknown),
		Pickup:  s.pickup(unknown, unknown),
		UpToHz:  math.Min(p.Quiet.UpTo, p.Near.UpTo),
		LeftOut: []int{},
	}
	h.QuietDBFS, h.NearDBFS = h.Quiet.DBFS, h.Near.DBFS
	if p.sameLines() {
		h.Delta, h.Pickup, h.Lines = delta.Levels(q, n), s.pickup(q, n), len(p.Near.Lines)-len(p.Near.LeftOut)
		h.LeftOut = append(h.LeftOut, p.Near.LeftOut...)
	}
	return h
}

func pairNoise(quiet, near mains.Measurement) result.PairNoise {
	top := math.Min(noise.Top(quiet.Spectrum.Rate), noise.Top(near.Spectrum.Rate))
	q, band := totals(quiet, top)
	n, _ := totals(near, top)
	return result.PairNoise{
		BandHz:       band,
		QuietDBFS:    result.DB(q.Flat),
		NearDBFS:     result.DB(n.Flat),
		QuietADBFS:   result.DB(q.A),
		NearADBFS:    result.DB(n.A),
		Quiet468DBFS: result.DB(q.W468),
		Near468DBFS:  result.DB(n.W468),
		Detector468:  noise.Detector,
	}
}
