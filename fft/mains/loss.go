package mains

import (
	"math"

	"humdiff/fft"
)

// walkExcess is by how much more a walk takes off a line than an ideal fit in
// each block would: the track's rate comes from neighbouring blocks, and says the
// more of this one the more noise they share. By simulation without noise
// (TestWanderLoss, all windows).
func walkExcess(shared float64) float64 { return 1.33 - 0.8*shared }

// walkLoss is what the walk of the mains within a block takes off a line whose
// phase and rate are known at the block, in dB per h²·q·T³ (q the walk's
// strength, rad²/s³; T the block's length, s): 10/ln 10 times the variance,
// weighted by the taper, of a phase whose rate walks at random, about the line
// fitted to it. shared is the share of noise in adjacent blocks. The covariance of such a phase at s ≤ t is q·s²(3t−s)/6.
func walkLoss(taper fft.Window, shared float64) float64 {
	const n = 48
	v := taper.Samples(n)
	sum, spread := 0.0, 0.0
	time := func(i int) float64 { return float64(i)/n - 0.5 }
	for _, w := range v {
		sum += w
	}
	for i := range v {
		v[i] /= sum
		spread += v[i] * time(i) * time(i)
	}
	covariance := func(i, j int) float64 {
		s, t := float64(min(i, j))/n, float64(max(i, j))/n
		return s * s * (3*t - s) / 6
	}
	// With the mean and with the slope that are fitted: of each moment, and of theirs.
	var level, slope [n]float64
	levels, both, slopes := 0.0, 0.0, 0.0
	for i := range n {
		for j := range n {
			c := covariance(i, j) * v[j]
			level[i], slope[i] = level[i]+c, slope[i]+c*time(j)
		}
		levels, both, slopes = levels+v[i]*level[i], both+v[i]*slope[i], slopes+v[i]*time(i)*slope[i]
	}
	loss := 0.0
	for i := range n {
		u := time(i) / spread
		loss += v[i] * (covariance(i, i) - 2*(level[i]+u*slope[i]) + levels + 2*u*both + u*u*slopes)
	}
	return walkExcess(shared) * 10 / math.Ln10 * loss
}
