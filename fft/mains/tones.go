package mains

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"humdiff/fft"
)

const (
	toneFrom = 15.0 // Hz; below, drifts look like tones
	// toneWindow is how many bins a tone's floor is the median of.
	toneWindow = 128
	mostTones  = 200
)

// peak is a tone or a line in the whole band's spectrum.
type peak struct {
	hz, power, halfWidth float64
}

// findPeaks lists what stands above the floor of a spectrum, strongest first.
// A peak that the skirt or a sidelobe of a stronger one explains is not listed.
// wander is the strength of a line's phase wander at f0, rad²/s³, 0 if unknown.
func findPeaks(s fft.Spectrum, w fft.Window, f0, wander float64) []peak {
	return peaksAbove(s, localFloor(s, w.MainLobe()), w, f0, wander)
}

// peaksAbove is findPeaks with the floor known.
func peaksAbove(s fft.Spectrum, floor []float64, w fft.Window, f0, wander float64) []peak {
	threshold, lobe := rarelyOver(s), w.MainLobe()

	var candidates []int
	for j := fft.Whole(toneFrom/s.BinHz(), lobe, max(lobe, len(floor))); j < len(floor)-lobe; j++ {
		if s.Density[j] > threshold*floor[j] && isPeak(s.Density, j, 2) && s.Density[j] > lowThreshold(s, j, lobe, len(floor))*floor[j] {
			candidates = append(candidates, j)
		}
	}
	slices.SortFunc(candidates, func(a, b int) int { return cmp.Or(cmp.Compare(s.Density[b], s.Density[a]), a-b) })
	var peaks []peak
	for _, j := range candidates {
		if len(peaks) == 4*mostTones {
			break
		}
		if !explained(s, w, peaks, j, floor[j], f0, wander) {
			peaks = append(peaks, measurePeak(s, j, lobe, floor[j], crowded(s, peaks, j, lobe)))
		}
	}
	return peaks
}

// rarelyOver is by what factor noise rarely exceeds its local floor in any bin.
func rarelyOver(s fft.Spectrum) float64 {
	dof := 2 * s.Averages * toneWindow / neighbours / (math.Pi / 2)
	return rarelyExceeded(2*s.Averages, dof, tonesFalseAlarm/float64(len(s.Density)))
}

// standing are the bins, each with its neighbours, that hold what noise rarely does,
// whatever it is.
func standing(s fft.Spectrum, floor []float64) (bands []Band) {
	threshold, bin := rarelyOver(s), s.BinHz()
	for j, x := range s.Density {
		if hz := float64(j) * bin; hz > toneFrom && x > threshold*floor[j] {
			bands = append(bands, Band{hz - 1.5*bin, hz + 1.5*bin})
		}
	}
	return bands
}

// rarelyExceeded is what a ratio of powers, F of d1 and d2 degrees of freedom,
// exceeds with a small probability p: the inverse ratio's p-quantile, inverted,
// as the library's quantile at 1 − p fails for some d1 and d2.
func rarelyExceeded(d1, d2, p float64) float64 {
	return 1 / distuv.F{D1: d2, D2: d1}.Quantile(p)
}

func isPeak(p []float64, j, reach int) bool {
	for i := j - reach; i <= j+reach; i++ {
		if p[i] > p[j] {
			return false
		}
	}
	return true
}

// explained reports whether stronger peaks leak into bin j half of what it
// holds above the floor, or more.
func explained(s fft.Spectrum, w fft.Window, stronger []peak, j int, floor, f0, wander float64) bool {
	leak := 0.0
	hz := float64(j) * s.BinHz()
	for _, p := range stronger {
		d := (hz - p.hz) / s.BinHz()
		if math.Abs(d) < float64(w.MainLobe())+0.5 {
			return true
		}
		side := w.SidelobeBound(d)
		h := 1.0
		if f0 > 0 {
			h = p.hz / f0
		}
		offset := 2 * math.Pi * (hz - p.hz)
		leak += p.power * (side*side/s.ENBWHz() + h*h*wander/(offset*offset*offset*offset))
	}
	return leak > 0.5*(s.Density[j]-floor)
}

// crowded reports whether a stronger peak's main lobe reaches into that of bin j.
func crowded(s fft.Spectrum, stronger []peak, j, lobe int) bool {
	return slices.ContainsFunc(stronger, func(p peak) bool {
		return math.Abs(float64(j)-p.hz/s.BinHz()) < float64(2*lobe+1)
	})
}

// measurePeak adds up the main lobe: its bins hold the tone's whole power. In a
// crowd, where they hold another's as well, the bin at the top says it within
// the window's scalloping.
func measurePeak(s fft.Spectrum, j, lobe int, floor float64, crowd bool) peak {
	p := peak{halfWidth: (float64(lobe) + 0.5) * s.BinHz()}
	if crowd {
		p.power = (s.Density[j] - floor) * s.ENBWHz()
	} else {
		for i := j - lobe; i <= j+lobe; i++ {
			p.power += (s.Density[i] - floor) * s.BinHz()
		}
		p.power = max(p.power, (s.Density[j]-floor)*s.BinHz())
	}
	p.hz = float64(j) * s.BinHz()
	if s.Density[j-1] <= 0 || s.Density[j+1] <= 0 {
		return p
	}
	a, b, c := math.Log(s.Density[j-1]), math.Log(s.Density[j]), math.Log(s.Density[j+1])
	if d := a - 2*b + c; d < 0 {
		p.hz += 0.5 * (a - c) / d * s.BinHz()
	}
	return p
}

// localFloor is the noise density by bin: medians of toneWindow bins, taken
// every quarter of that and joined by straight lines in the logarithm.
// At low frequencies, where noise rises within as few bins, see lowFloor.
func localFloor(s fft.Spectrum, lobe int) []float64 {
	bias := medianBias(s.Averages)
	const step = toneWindow / 4
	var knots []float64
	buffer := make([]float64, 0, toneWindow)
	for j := 0; j < len(s.Density)+step; j += step {
		lo, hi := max(0, j-toneWindow/2), min(len(s.Density), j+toneWindow/2)
		buffer = append(buffer[:0], s.Density[lo:max(hi, lo+1)]...)
		knots = append(knots, math.Log(max(median(buffer)/bias, 1e-40)))
	}
	floor := make([]float64, len(s.Density))
	for k := 0; k*step < len(floor); k++ {
		density, ratio := math.Exp(knots[k]), math.Exp((knots[k+1]-knots[k])/step)
		for j := k * step; j < min((k+1)*step, len(floor)); j++ {
			floor[j] = density
			density *= ratio
		}
	}
	for j := 2 * (lobe + 1); j < min(lowTones, len(floor)/2); j++ {
		floor[j] = math.Exp(lowFloor(s, j, lobe, bias))
	}
	return floor
}

// lowTones is the first bin whose floor localFloor reads as well as lowFloor.
const lowTones = toneWindow

// beside are the bins of half to all of a frequency, and of all to twice of it, without
// the main lobe of a tone at bin j.
func beside(j, lobe int) (below, above [2]int) {
	return [2]int{j / 2, j - lobe}, [2]int{j + lobe + 1, 2*j + 1}
}

// lowFloor is the logarithm of the density at bin j, on the straight line, in
// log–log, through the medians on either side: noise that rises as any power of 1/f.
func lowFloor(s fft.Spectrum, j, lobe int, bias float64) float64 {
	below, above := beside(j, lobe)
	middle := func(of [2]int) (place, value float64) {
		return math.Log(float64(of[0]+of[1]-1) / 2), math.Log(max(medianOf(s.Density[of[0]:of[1]])/bias, 1e-40))
	}
	x0, y0 := middle(below)
	x1, y1 := middle(above)
	return y0 + (math.Log(float64(j))-x0)/(x1-x0)*(y1-y0)
}

// lowThreshold is what noise at bin j rarely exceeds of its floor, 0 above lowTones: a
// floor of so few bins scatters more.
func lowThreshold(s fft.Spectrum, j, lobe, bins int) float64 {
	if j < 2*(lobe+1) || j >= min(lowTones, bins/2) {
		return 0
	}
	below, above := beside(j, lobe)
	n0, n1 := float64(below[1]-below[0]), float64(above[1]-above[0])
	// About half-way between, in the logarithm: variances of either side by a quarter.
	dof := 2 * s.Averages * 4 / (1/n0 + 1/n1) / neighbours / (math.Pi / 2)
	return rarelyExceeded(2*s.Averages, dof, tonesFalseAlarm/float64(bins))
}

// splitPeaks sorts peaks into those that measured lines explain and tones. A
// tone above the last measured line that lies on a multiple of f0 all the same
// says so.
func splitPeaks(peaks []peak, m Mains, harmonics int, bin float64) (tones []Tone, at []peak) {
	for _, p := range peaks {
		h := 0
		if m.Detected {
			h = harmonicAt(p.hz, m, bin)
		}
		if h >= 1 && h <= harmonics {
			continue
		}
		if len(tones) < mostTones {
			tones = append(tones, Tone{Hz: p.hz, Power: p.power, Harmonic: h})
		}
		if h > 0 {
			p.halfWidth += smear(m, h) // hum beyond the lines measured is no noise either
		}
		at = append(at, p)
	}
	return tones, at
}

// harmonicAt is the harmonic that hz cannot be told from, or 0.
func harmonicAt(hz float64, m Mains, bin float64) int {
	h := math.Round(hz / m.Hz)
	slack := 1.5 * bin
	if m.Tracked {
		slack += h * (m.Max - m.Min) / 2
	} else {
		slack += h * m.U95
	}
	if h >= 1 && math.Abs(hz-h*m.Hz) <= min(slack, m.Hz/4) {
		return int(h)
	}
	return 0
}
