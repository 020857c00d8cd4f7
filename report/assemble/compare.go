package assemble

import (
	"math"
	"sync"

	"humdiff/fft/mains"
	"humdiff/report/noise"
	"humdiff/report/result"
)

// Pair is one channel, quiet and near.
type Pair struct {
	Quiet, Near Channel
	Residual    *Channel // what the instrument adds by itself; nil: not recorded
}

// Compare is the result of comparing pairs of one exposure.
func Compare(version string, settings result.Settings, pairs []Pair) result.Compare {
	r := result.Compare{
		Schema:   result.CompareSchema,
		Tool:     result.Tool{Version: version},
		Settings: settings,
		Pairs:    make([]result.Pair, 0, len(pairs)),
	}
	var w warnings
	w.scales(settings)
	w.add(everything, "one_placement")
	for i, s := range scalesOf(settings).pairs(pairs) {
		p, quiet, near, stated := pairs[i], s.quiet, s.near, s.pair
		r.Pairs = append(r.Pairs, stated)
		w.channel(p.Quiet)
		w.channel(p.Near)
		w.calibrated(settings, result.ForQuiet, p.Quiet.Side)
		w.calibrated(settings, result.ForNear, p.Near.Side)
		w.pair(quiet, near, stated, settings.Step)
		if r := stated.Residual; r != nil {
			w.channel(*p.Residual)
			w.residual(near, *r)
		}
	}
	w.swapped(r.Pairs)
	r.Warnings = w.list()
	return r
}

// statedPair is what is said of a pair, and of each of its captures.
type statedPair struct {
	quiet, near result.Capture
	pair        result.Pair
}

// pairs states all pairs. Captures are stated side by side: each one's spectrum
// is gone through several times.
func (s scales) pairs(pairs []Pair) []statedPair {
	all := make([]statedPair, len(pairs))
	var work sync.WaitGroup
	for i, p := range pairs {
		work.Go(func() { all[i].quiet = s.quiet.capture(p.Quiet) })
		work.Go(func() { all[i].near = s.near.capture(p.Near) })
	}
	work.Wait()
	for i, p := range pairs {
		all[i].pair = s.pair(p, all[i].quiet, all[i].near)
	}
	return all
}

func (s scales) pair(p Pair, quiet, near result.Capture) result.Pair {
	stated := statePair(quiet, near, s)
	if quiet.RateHz != near.RateHz {
		stated.Noise = s.pairNoise(p.Quiet.Measurement, p.Near.Measurement)
	}
	if p.Residual != nil {
		r := s.near.capture(*p.Residual)
		stated.Residual = &r
	}
	return stated
}

// pairNoise reads both sides' noise over the band that both have.
func (s scales) pairNoise(quiet, near mains.Measurement) result.PairNoise {
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
		Quiet:        s.quiet.noise(q),
		Near:         s.near.noise(n),
	}
}
