package mains

import "math"

const (
	// How far from their place lines are sought: from the capture's own f0 where
	// it was found but too weak to follow, from another capture's, and from the
	// nominal frequency where nothing is known.
	ownShare     = 0.0008
	aroundShare  = 0.002
	nominalShare = 0.005
	// looksPerBandwidth is how many independent looks the largest of noise
	// powers over a range takes per noise bandwidth of the taper; by simulation
	// of noise (TestSeekFalseAlarms).
	looksPerBandwidth = 1.7
)

// seeker measures lines without a track: the largest mean block power over a
// range around each multiple.
type seeker struct {
	l     layout
	o     *observation
	f0    float64
	share float64
}

// reading is the largest power near harmonic h, and where.
func (s seeker) reading(h int, floor floorEstimate) (r reading, hz float64) {
	centre := float64(h) * s.f0
	reach := int(math.Ceil(2 * s.share * centre / s.l.binHz()))
	i := peakNear(&s.o.scan, centre, reach)
	k := s.o.scan.blocks
	return reading{
		mean: interpolatedHeight(&s.o.scan, i), noise: floor.density * s.l.lineENBW, floorDOF: floor.dof,
		central: s.l.powerAverages(k), coherent: s.l.phasorAverages(k),
		looks: 1 + looksPerBandwidth*2*s.share*centre/s.l.lineENBW,
	}, s.o.scan.hz(i)
}

// interpolatedHeight is the top of the parabola through a peak.
func interpolatedHeight(s *scan, i int) float64 {
	if i < 1 || i+1 >= len(s.mean) || s.mean[i-1] <= 0 || s.mean[i+1] <= 0 {
		return s.mean[min(max(i, 0), len(s.mean)-1)]
	}
	a, b, c := math.Log(s.mean[i-1]), math.Log(s.mean[i]), math.Log(s.mean[i+1])
	d := a - 2*b + c
	if d >= 0 || b < a || b < c {
		return s.mean[i]
	}
	return math.Exp(b - (a-c)*(a-c)/(8*d))
}

// measure judges harmonic h.
func (s seeker) measure(h int, floor floorEstimate, falseAlarm float64) (Line, reading) {
	r, hz := s.reading(h, floor)
	line := Line{
		Harmonic: h, Hz: float64(h) * s.f0, Floor: floor.density, FloorDOF: floor.dof, Level: r.level(falseAlarm),
		Steadiness: math.NaN(), Rho: math.NaN(), Method: MethodSearch,
	}
	if line.Detected {
		line.Hz = hz
		line.Rho = line.Power / floor.density * s.l.seconds
	}
	return line, r
}

// hum bounds the sum of all lines over every f0 in the range: lines keep to
// multiples of one f0, so the largest sum over f0 bounds it far closer than
// the sum of the largest.
func (s seeker) hum(lines []Line) Level {
	step := s.l.binHz() / 2 / float64(len(lines))
	best := total{excess: math.Inf(-1)}
	for f0 := s.f0 * (1 - s.share); f0 <= s.f0*(1+s.share); f0 += step {
		var t total
		for i, line := range lines {
			k := s.o.scan.blocks
			t.add(reading{
				mean: s.o.scan.near(float64(i+1) * f0), noise: line.Floor * s.l.lineENBW,
				central: s.l.powerAverages(k), coherent: s.l.phasorAverages(k), floorDOF: math.Inf(1), looks: 1,
			})
		}
		if t.excess > best.excess {
			best = t
		}
	}
	return best.level(anyDetected(lines))
}
