package health

import (
	"math"
	"slices"
)

// level gathers peak and mean.
type level struct {
	started      bool
	sum          float64
	lowest, most float64
	peak         float64
	peakAt       int64
}

func (l *level) add(x []float64, g glance, at int64) {
	if !l.started {
		l.started, l.lowest, l.most = true, g.lowest, g.most
	}
	l.sum += g.sum
	l.lowest, l.most = min(l.lowest, g.lowest), max(l.most, g.most)
	if peak := max(-g.lowest, g.most); peak > l.peak {
		l.peak = peak
		l.peakAt = at + int64(slices.IndexFunc(x, func(v float64) bool { return math.Abs(v) == peak }))
	}
}

func (l *level) facts(f *Facts, n int64) {
	f.Peak, f.PeakSeconds = l.peak, float64(l.peakAt)/f.Rate
	f.DC = l.sum / float64(max(n, 1))
	f.Silent = l.lowest == l.most
}
