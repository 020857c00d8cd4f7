package driven

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"humdiff/fft"
	"humdiff/fft/transfer"
)

// meter follows one tone through both channels.
type meter struct {
	l       layout
	hz      float64
	at      kernel
	places  []kernel        // beside it, where noise is read
	phasors [2][]complex128 // of each channel's blocks
	noise   [2][]float64    // sums of |a|² at each place
}

// kernel estimates a phasor at one frequency from a block's bins.
type kernel struct {
	first   int
	weights []float64
}

func kernelAt(l layout, hz float64) kernel {
	f := hz * float64(l.n) / l.rate
	reach := fft.Nuttall.MainLobe()
	k := kernel{first: fft.Whole(math.Floor(f), 0, l.n/2) - reach}
	energy := 0.0
	for i := range 2*reach + 2 {
		w := fft.Nuttall.Response(float64(k.first+i) - f)
		energy += w * w
		if (k.first+i)%2 != 0 { // phases count from the block's centre
			w = -w
		}
		k.weights = append(k.weights, w)
	}
	for i := range k.weights {
		k.weights[i] /= energy * float64(l.n) * fft.Nuttall.Coeff[0]
	}
	return k
}

// held says that all of a kernel's bins are there.
func (k kernel) held(l layout) bool { return k.first > 0 && k.first+len(k.weights) <= l.n/2 }

func (k kernel) phasor(bins []complex128) (a complex128) {
	for i, w := range k.weights {
		a += complex(w, 0) * bins[k.first+i]
	}
	return a
}

func newMeter(l layout, hz float64, tones []float64) meter {
	m := meter{l: l, hz: hz, at: kernelAt(l, hz)}
	width := l.rate / float64(l.n)
	for _, bins := range []float64{10, 13, 16, 19, 22, 25, 28, 31, 34, 37, 40} {
		for _, f := range []float64{hz - bins*width, hz + bins*width} {
			k := kernelAt(l, f)
			free := !slices.ContainsFunc(tones, func(t float64) bool { return math.Abs(t-f) < beside })
			if free && fromMains(f) >= beside && k.held(l) {
				m.places = append(m.places, k)
			}
		}
	}
	for c := range m.noise {
		m.noise[c] = make([]float64, len(m.places))
	}
	return m
}

func (m *meter) add(c int, bins []complex128) {
	m.phasors[c] = append(m.phasors[c], m.at.phasor(bins))
	for i, k := range m.places {
		a := k.phasor(bins)
		m.noise[c][i] += real(a)*real(a) + imag(a)*imag(a)
	}
}

// floor is the mean of |a|² by noise alone in one block: the median of the places, as the
// mean of so many blocks' has it.
func (m *meter) floor(c int) float64 {
	if len(m.places) == 0 {
		return math.NaN()
	}
	all := slices.Sorted(slices.Values(m.noise[c]))
	n := len(all)
	median := (all[(n-1)/2] + all[n/2]) / 2 / float64(len(m.phasors[c]))
	averages, _ := fft.Averages(m.l.overlaps, len(m.phasors[c]), nil)
	dof := 2 * averages
	return median * dof / distuv.ChiSquared{K: dof}.Quantile(0.5)
}

// tone is what the blocks say; not ok where the drive doesn't stand out, or where nothing
// tells the noise.
func (m *meter) tone() (t Tone, ok bool) {
	drive, cable := m.phasors[0], m.phasors[1]
	n := min(len(drive), len(cable))
	t.Hz = m.exact(drive)
	for _, x := range drive {
		t.Power += power(x) / float64(len(drive))
	}
	line := transfer.Line{CableNoise: m.floor(1), ReferenceNoise: m.floor(0)}
	if !(t.Power/4 >= leastSNR*line.ReferenceNoise) {
		return t, false
	}
	hopS := float64(m.l.hop) / m.l.rate
	spans := max(transfer.LeastSpans, int(math.Round(float64(n)*hopS/spanS)))
	_, weight := fft.Averages(m.l.overlaps, n, nil)
	weight /= float64(spans)
	for s := range spans {
		from, to := s*n/spans, (s+1)*n/spans
		var x, y complex128
		for b := from; b < to; b++ {
			u := cmplx.Conj(unit(drive[b])) / complex(float64(to-from), 0)
			x, y = x+drive[b]*u, y+cable[b]*u
		}
		line.Reference, line.Cable = append(line.Reference, x), append(line.Cable, y)
		line.Weight, line.Seconds = append(line.Weight, weight), append(line.Seconds, float64(from+to)/2*hopS)
	}
	if t.Ratio, ok = transfer.Of(line); !ok {
		return t, false
	}
	_, radius := t.Ratio.Disc()
	t.U = radius / math.Sqrt(2*transfer.HalfChi2)
	t.Steps = m.l.staircase(line.CableNoise) / math.Sqrt(t.Power)
	if !t.Ratio.Steady {
		t.U = math.Sqrt(t.U*t.U + t.Ratio.Scatter*t.Ratio.Scatter/2/float64(spans))
	}
	return t, true
}

// staircase is what steps add to a tone, its amplitude at most: noise is the mean of a
// block's |a|², of which rounding itself has made step²/12 a sample.
func (l layout) staircase(noise float64) float64 {
	σ2 := max(0, noise*float64(l.n)/fft.Nuttall.ENBW()-l.step*l.step/12)
	if l.step == 0 {
		return 0
	}
	return l.step / math.Pi * math.Exp(-2*math.Pi*math.Pi*σ2/(l.step*l.step))
}

// exact is the frequency by the phase's advance from block to block.
func (m *meter) exact(drive []complex128) float64 {
	hopS := float64(m.l.hop) / m.l.rate
	back := cmplx.Rect(1, -2*math.Pi*math.Mod(m.hz*hopS, 1))
	var sum complex128
	for b := 1; b < len(drive); b++ {
		sum += drive[b] * cmplx.Conj(drive[b-1]) * back
	}
	return m.hz + cmplx.Phase(sum)/(2*math.Pi*hopS)
}
