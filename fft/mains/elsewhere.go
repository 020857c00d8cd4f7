package mains

import (
	"math"
	"math/cmplx"
	"slices"
)

// A tone beside a line can lead the track away: then most lines run off it, all at one
// rate of the fundamental, and it is followed anew from there.

const (
	// keepsTo is what share of a line's power keeps its phase to a track that is right.
	keepsTo = 0.5
	// sameRate is how near to each other lines' rates are, in cycles of the fundamental
	// a segment.
	sameRate = 0.15
	// ledShare is the least power of those that agree beside that of the strongest that is
	// followed: what rounding leaves of hum 70 dB out of it agrees on anything.
	ledShare = 1e-4
)

// elsewhere is the track from where more lines agree than keep to t, which began at f0
// and follows lines. ok is false where there is none.
func (f follower) elsewhere(t track, f0 float64, lines []followed) (other track, ok bool) {
	if keep := f.keeping(t, lines); f.again || 3*keep > 2*len(lines) {
		return t, false
	}
	// On multiples of 300 Hz the other nominal frequency's comb has lines too.
	all := slices.DeleteFunc(f.strong(t, f.candidates(f0), math.MaxInt), func(line followed) bool {
		return math.Remainder(line.h*nearestNominal(f0), 300) == 0
	})
	keep := f.keeping(t, all)
	near := sameRate / (f.l.hopSeconds() * float64(len(f.blocks)))
	best, agree, agreed := 0.0, 0, 0.0
	for _, line := range all {
		rate, n, sum := f.runsOff(t, line), 0, 0.0
		for _, o := range all {
			if math.Abs(f.runsOff(t, o)-rate) < near {
				n, sum = n+1, sum+f.power(o, f0)
			}
		}
		if n > agree {
			best, agree, agreed = rate, n, sum
		}
	}
	if agree <= max(keep, 1) || agreed < ledShare*f.most(lines, f0) {
		return t, false
	}
	f.again = true
	for _, line := range all {
		if off := f.runsOff(t, line); math.Abs(off-best) >= near {
			f.aside = append(f.aside[:len(f.aside):len(f.aside)], line.h*(f0+off))
		}
	}
	if other, ok = f.follow(f0 + best); !ok {
		return t, false
	}
	return other, f.keeping(other, f.strong(other, f.candidates(f0+best), math.MaxInt)) > keep
}

// power is a line's in a block, and most that of the strongest.
func (f follower) power(line followed, f0 float64) float64 { return line.snr * f.noise(line.h*f0) }

func (f follower) most(lines []followed, f0 float64) (power float64) {
	for _, line := range lines {
		power = max(power, f.power(line, f0))
	}
	return power
}

// keeping is how many of the lines keep their phase to the track.
func (f follower) keeping(t track, lines []followed) (n int) {
	for _, line := range lines {
		mean, sum, blocks := complex(0, 0), 0.0, 0.0
		for b, a := range line.phasors {
			if !f.skips(b) {
				mean += a * cmplx.Rect(1, -line.h*t.phase[b])
				sum, blocks = sum+power(a), blocks+1
			}
		}
		if power(mean) > keepsTo*sum*blocks {
			n++
		}
	}
	return n
}

// runsOff is how fast a line's phase runs away from the track, Hz of the fundamental.
func (f follower) runsOff(t track, line followed) float64 {
	turn := complex(0, 0)
	for b := 1; b < len(line.phasors); b++ {
		if !f.skips(b) && !f.skips(b-1) {
			turn += line.phasors[b] * cmplx.Conj(line.phasors[b-1]) * cmplx.Rect(1, -line.h*(t.phase[b]-t.phase[b-1]))
		}
	}
	return cmplx.Phase(turn) / (2 * math.Pi * f.l.hopSeconds() * line.h)
}
