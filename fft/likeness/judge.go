package likeness

import "math"

const (
	// loud is a noise density, per hertz, that no input makes by itself: somebody may
	// have played it.
	loud = 1e-12 // −120 dBFS/Hz
	// Programme in both shows by how it runs, but hardly within briefSeconds: up to briefFrom
	// such recordings are asked about.
	briefSeconds, briefFrom = 10, 0.5
	// restless is by how much noise in a band may run within a capture, between one tenth
	// of its blocks and nine, as a natural logarithm. Noise alone runs by 0.2 to 0.4.
	restless = 0.55
	// offGrid is how far from a whole sample a copy's lag may lie. Separate recordings
	// have any.
	offGrid = 0.12
	// offGridFrom is the correlation from which copies are told off the grid too: no
	// played noise below loud stands so far above an input's own.
	offGridFrom = 0.998
	// twoRatesFrom is the same where rates differ and there is no grid.
	twoRatesFrom = 0.97
	// gainFrom is the correlation from which on noise of another origin, which dilutes the gain of
	// what is common, makes at most 0.3 dB of it.
	gainFrom = 0.966
	// fineStep is a step that no input's noise lets two recordings agree to.
	fineStep = 0x1p-21
	// ditherBits is the most bits whose dither can stand near an input's noise.
	ditherBits = 16
)

// judge weighs what explains a likeness over so many seconds. Copies whose samples don't
// settle it are asked about where something played into two recordings would be as alike.
func judge(p, q *stretch, k alike, overlapS float64, a, b Side) Answer {
	rho := math.Abs(k.correlation)
	answer := Answer{Same, k.lagS, k.gainDB, k.correlation < 0, k.ppm, rho, overlapS}
	if rho < gainFrom {
		answer.GainDB = 0
	}
	lag := k.lagS * q.rawRate
	switch {
	case rho < max(askFrom, k.chance):
		answer.Verdict = different
	case sameSamples(p, q, k.lagS):
	case byDither(p, q, rho, k.lagS+a.StartS-b.StartS):
		answer.Verdict = different
	case k.uneven || p.programme() || q.programme(),
		rho < sameFrom || rho < briefFrom && overlapS < briefSeconds,
		p.rawRate != q.rawRate && rho < twoRatesFrom,
		p.rawRate == q.rawRate && math.Abs(lag-math.Round(lag)) > offGrid && rho < offGridFrom:
		answer.Verdict = Ask
	}
	return answer
}

// sameSamples says that the samples held are the same at a whole lag: exactly, or
// but for a gain and the rounding of fine steps, or of one of the two.
func sameSamples(p, q *stretch, lagS float64) bool {
	if p.rawRate != q.rawRate || q.step == 0 {
		return false
	}
	lag := int64(math.Round(lagS*q.rawRate)) + q.rawAt - p.rawAt // of q.raw[0] in p.raw
	from, to := max(0, -lag), min(int64(len(q.raw)), int64(len(p.raw))-lag)
	if to-from < int64(len(q.raw))/2 {
		return false
	}
	x, y := p.raw[from+lag:to+lag], q.raw[from:to]
	xx, xy := 0.0, 0.0
	for i, v := range x {
		xx += v * v
		xy += v * y[i]
	}
	if xx == 0 {
		return false
	}
	gain, rest, equal, opposite := xy/xx, 0.0, true, true
	for i, v := range x {
		d := y[i] - gain*v
		rest += d * d
		equal, opposite = equal && y[i] == v, opposite && y[i] == -v
	}
	step := max(p.step, q.step)
	rest /= float64(len(x))
	return equal || opposite || step <= fineStep && math.Sqrt(rest) <= max(step, 0x1p-24) ||
		scaledFrom(p.step, q.step, gain, rest, gain*xy/float64(len(x))) || scaledFrom(q.step, p.step, 1/gain, rest/(gain*gain), xx/float64(len(x)))
}

const (
	// ownRounding is the share of the first's rounding that a copy may seem to lack, and
	// leastRounding how much of it, in steps of the copy, has to be in it to be seen.
	ownRounding, leastRounding = 0.3, 0.5
	// mostRest is the share of a copy's power that may be rounding.
	mostRest = 0.01
)

// scaledFrom says that a second recording has the first's very rounding in it, times a gain:
// what a separate recording would add of its own is missing in the mean square that is left.
// all is what the first explains.
func scaledFrom(first, second, gain, rest, all float64) bool {
	carried := math.Abs(gain) * first
	return carried >= leastRounding*second && rest <= (second*second+ownRounding*carried*carried)/12 && rest <= mostRest*all
}

// byDither says that one and the same dither in both would make such a correlation:
// few bits, counted from the files' starts, and noise near the dither's.
func byDither(p, q *stretch, rho, lagS float64) bool {
	fewest := math.Ldexp(1, 1-ditherBits)
	if p.rawRate != q.rawRate || math.Abs(lagS*q.rawRate) > 0.5 || min(p.step, q.step) < fewest {
		return false
	}
	// Rounded with a triangular dither: step²/4 in all (Lipshitz, Wannamaker & Vanderkooy
	// 1992), spread to half the rate.
	dither := p.step * q.step / q.rawRate
	return rho <= 2*dither/math.Sqrt(p.typical()*q.typical())
}

// typical is the noise density, the median of the bands.
func (s *stretch) typical() float64 {
	m := medians(s.density)
	return medianOf(m[:])
}

// programme says that the noise is loud or runs, as no input's own does.
func (s *stretch) programme() bool { return s.typical() > loud || s.runs() > restless }

// runs is by how much the noise runs from block to block, the median of the bands.
func (s *stretch) runs() float64 {
	var runs []float64
	for i := range bands {
		var column []float64
		for _, row := range s.density {
			if row[i] > 0 {
				column = append(column, math.Log(row[i]))
			}
		}
		runs = append(runs, spread(column))
	}
	return medianOf(runs)
}

// spread is how far nine tenths lie above one.
func spread(x []float64) float64 {
	if len(x) == 0 {
		return math.Inf(1)
	}
	s := sorted(x)
	return s[len(s)*9/10] - s[len(s)/10]
}
