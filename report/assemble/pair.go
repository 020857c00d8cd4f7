package assemble

import (
	"math"

	"humdiff/fft/mains"
	"humdiff/report/delta"
	"humdiff/report/level"
	"humdiff/report/noise"
	"humdiff/report/result"
	"humdiff/report/volts"
)

// PairOf holds a near capture against a quiet one, both measured with these
// settings, be it elsewhere and long ago: it is a pure function of their results.
// The totals are over the lines that both have and no tone hides in either.
// Noise is left out where the two were measured over different bands.
func PairOf(settings result.Settings, quiet, near result.Capture) result.Pair {
	return statePair(quiet, near, scalesOf(settings))
}

// scales are those of quiet and near, and the step between them.
type scales struct {
	quiet, near scale
	step        result.Step
}

func scalesOf(set result.Settings) scales {
	return scales{scaleOf(set, result.ForQuiet), scaleOf(set, result.ForNear), set.Step}
}

func statePair(quiet, near result.Capture, s scales) result.Pair {
	return result.Pair{
		Quiet: quiet.Side,
		Near:  near.Side,
		Mains: pairMains(quiet.Mains, near.Mains),
		Lines: s.pairLines(quiet, near),
		Hum:   s.pairHum(quiet, near, false),
		HumA:  s.pairHum(quiet, near, true),
		Noise: noiseOf(quiet.Noise, near.Noise),
		Tones: result.PairTones{Quiet: quiet.Tones, Near: near.Tones},
		Trace: result.PairTrace{Quiet: quiet.Trace, Near: near.Trace},
		Cycle: result.PairCycle{Quiet: quiet.Cycle, Near: near.Cycle},

		Health: result.PairHealth{Quiet: quiet.Health, Near: near.Health},
	}
}

func pairMains(quiet, near result.CaptureMains) result.PairMains {
	return result.PairMains{
		NominalHz:     commonNominal(quiet.NominalHz, near.NominalHz),
		QuietHz:       quiet.Hz,
		NearHz:        near.Hz,
		QuietDetected: quiet.Detected,
		NearDetected:  near.Detected,
		QuietU95Hz:    quiet.U95Hz,
		NearU95Hz:     near.U95Hz,

		QuietNominalHz: quiet.NominalHz,
		NearNominalHz:  near.NominalHz,
	}
}

// commonNominal is the nominal frequency both sides share or one side knows;
// None where they differ or neither knows one.
func commonNominal(quiet, near result.Num) result.Num {
	switch {
	case quiet == near, !near.Ok():
		return quiet
	case !quiet.Ok():
		return near
	default:
		return result.None
	}
}

// unlike says that the lines of two captures have nothing to do with each
// other: harmonic 3 of 50 Hz isn't harmonic 3 of 60 Hz.
func unlike(q, n result.Capture) bool {
	return q.Mains.NominalHz.Ok() && n.Mains.NominalHz.Ok() && q.Mains.NominalHz != n.Mains.NominalHz
}

// pairLines compares the lines that both have; where one side has none, all of
// the other are listed.
func (s scales) pairLines(q, n result.Capture) []result.PairLine {
	lines := []result.PairLine{}
	if unlike(q, n) {
		return lines
	}
	count := min(len(q.Lines), len(n.Lines))
	if count == 0 {
		count = max(len(q.Lines), len(n.Lines))
	}
	for h := 1; h <= count; h++ {
		quiet, near := s.quiet.lineOf(q, h), s.near.lineOf(n, h)
		l := result.PairLine{Harmonic: h, Hz: between(quiet.Hz, near.Hz), Quiet: quiet.Line, Near: near.Line}
		l.Delta, l.Pickup = s.compare(level.OfLine(quiet.Line), level.OfLine(near.Line))
		lines = append(lines, l)
	}
	return lines
}

// lineOf is a capture's line of a harmonic; one of which nothing is known where
// it wasn't measured.
func (s scale) lineOf(c result.Capture, harmonic int) result.CaptureLine {
	if harmonic <= len(c.Lines) {
		return c.Lines[harmonic-1]
	}
	nan := math.NaN()
	return result.CaptureLine{Harmonic: harmonic, Hz: result.None,
		Line: s.line(mains.Line{Level: unknown, Floor: nan, Steadiness: nan, Share: mains.Share{Excess: nan, Noise: nan, Variance: nan, Model: nan}})}
}

// between is the mean of two frequencies, or the one there is.
func between(a, b result.Num) result.Num {
	switch {
	case !a.Ok():
		return b
	case !b.Ok():
		return a
	default:
		return (a + b) / 2
	}
}

// compare is near minus quiet, and the pickup. Quiet's level is put on near's
// scale first; how far the step between them is known goes into its interval,
// and so into both.
func (s scales) compare(quiet, near mains.Level) (result.Delta, result.Pickup) {
	quiet = volts.Moved(quiet, -float64(s.step.DB), float64(s.step.U95DB))
	lo, hi := delta.Pickup(quiet, near)
	p := result.Pickup{LoFS: result.Of(lo), HiFS: result.Of(hi)}
	p.LoVolts, p.HiVolts = s.near.Range(lo, hi)
	return delta.Levels(quiet, near), p
}

// pairHum compares the totals over the lines that both have. Where there are
// none, each side's own is stated, and nothing compared.
func (s scales) pairHum(q, n result.Capture, aWeighted bool) result.PairHum {
	h := result.PairHum{Quiet: q.Hum, Near: n.Hum, UpToHz: math.Min(q.UpToHz, n.UpToHz), LeftOut: []int{}}
	if aWeighted {
		h.Quiet, h.Near = q.HumA, n.HumA
	}
	h.Delta, h.Pickup = s.compare(unknown, unknown)
	if set, ok := level.Common(q, n); ok && !unlike(q, n) {
		h.LeftOut = append(h.LeftOut, set.Without...)
		h.Lines = set.Lines - len(set.Without)
		if aWeighted {
			set = level.AWeighted(set)
		}
		quiet, near := level.Total(q, set), level.Total(n, set)
		h.Quiet, h.Near = s.quiet.level(quiet), s.near.level(near)
		h.Delta, h.Pickup = s.compare(quiet, near)
	}
	h.QuietDBFS, h.NearDBFS = h.Quiet.DBFS, h.Near.DBFS
	return h
}

// noiseOf sets noise totals side by side.
func noiseOf(q, n result.CaptureNoise) result.PairNoise {
	if q.BandHz != n.BandHz {
		none := result.None
		return result.PairNoise{QuietDBFS: none, NearDBFS: none, QuietADBFS: none, NearADBFS: none, Quiet468DBFS: none, Near468DBFS: none, Detector468: noise.Detector}
	}
	return result.PairNoise{
		BandHz:       q.BandHz,
		QuietDBFS:    q.DBFS,
		NearDBFS:     n.DBFS,
		QuietADBFS:   q.ADBFS,
		NearADBFS:    n.ADBFS,
		Quiet468DBFS: q.W468DBFS,
		Near468DBFS:  n.W468DBFS,
		Detector468:  noise.Detector,
		Quiet:        q.Voltage,
		Near:         n.Voltage,
	}
}
