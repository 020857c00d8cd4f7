package fft

import (
	"fmt"
	"math"
	"strings"

	"humdiff/fft/lend"
)

// Window is a periodic cosine-sum window,
// w[n] = Σ_k (−1)^k a_k cos(2πkn/N), n = 0 … N−1.
// Periodic, not symmetric: its transform at a whole bin is then exactly one of
// the coefficients or zero.
type Window struct {
	Name  string
	Coeff []float64 // a_0, a_1 …
}

// The windows, by their published coefficients.
var (
	// Nuttall is the 4-term window with continuous first derivative
	// (A. H. Nuttall 1981): sidelobes −93 dB falling 18 dB an octave.
	Nuttall = Window{"nuttall", []float64{0.355768, 0.487396, 0.144232, 0.012604}}
	// Hann falls fast but starts at −31 dB.
	Hann = Window{"hann", []float64{0.5, 0.5}}
	// BlackmanHarris is the minimum 4-term window (F. J. Harris 1978).
	BlackmanHarris = Window{"blackman-harris", []float64{0.35875, 0.48829, 0.14128, 0.01168}}
	// FlatTop is HFT95 (G. Heinzel, A. Rüdiger, R. Schilling 2002): a line
	// between bins reads within 0.005 dB.
	FlatTop = Window{"flat-top", []float64{1, 1.9383379, 1.3045202, 0.4028270, 0.0350665}}
)

// Windows lists them, the default first.
var Windows = []Window{Nuttall, Hann, BlackmanHarris, FlatTop}

// WindowByName finds a window, or says which there are.
func WindowByName(name string) (Window, error) {
	var names []string
	for _, w := range Windows {
		if w.Name == name {
			return w, nil
		}
		names = append(names, w.Name)
	}
	return Window{}, fmt.Errorf("no window %q: there are %s", name, strings.Join(names, ", "))
}

// Samples returns the window's n samples.
func (w Window) Samples(n int) []float64 {
	// Each cosine is one of cos(2πi/n), and they are symmetric.
	cosines := make([]float64, n/2+1)
	for i := range cosines {
		cosines[i] = math.Cos(2 * math.Pi * float64(i) / float64(n))
	}
	s := make([]float64, n)
	for i := range cosines {
		sum, sign := 0.0, 1.0
		at := 0 // of the k-th cosine, k·i modulo n
		for _, a := range w.Coeff {
			sum += sign * a * cosines[min(at, n-at)]
			sign = -sign
			if at += i; at >= n {
				at -= n
			}
		}
		s[i], s[(n-i)%n] = sum, sum
	}
	return s
}

// Key tells windows apart by their coefficients, for what is kept of each.
func (w Window) Key() string { return fmt.Sprint(w.Coeff) }

// Response is the window's transform at an offset of d bins, relative to its
// value at d = 0, for blocks long against |d| and phases counted from the
// block's centre:
// sinc(d)·[1 + Σ_k (−1)^k (a_k/a_0) d²/(d²−k²)].
func (w Window) Response(d float64) float64 {
	d = math.Abs(d)
	near := math.Round(d)
	switch {
	case d == 0:
		return 1
	case d == near && near < float64(len(w.Coeff)):
		// The formula's limit: sinc vanishes as the k-th term diverges.
		return w.Coeff[int(near)] / (2 * w.Coeff[0])
	case d == near:
		return 0
	}
	// The sine counted from the nearest bin, where it keeps all its digits.
	sine := math.Sin(math.Pi * (d - near))
	if math.Mod(near, 2) == 1 {
		sine = -sine
	}
	return sine * w.sidelobeShape(d)
}

// SidelobeBound bounds |Response| at d bins outside the main lobe: the
// response with its oscillation taken out. Within, it is 1.
func (w Window) SidelobeBound(d float64) float64 {
	d = math.Abs(d)
	if d < float64(len(w.Coeff)) {
		return 1
	}
	return math.Abs(w.sidelobeShape(d))
}

// sidelobesEnd is the share of a line's power below which its sidelobes are not
// added up any more: less than the last digit of a 32-bit sample.
const sidelobesEnd = 1e-20

// AddSidelobes adds to sum[j], for every bin j farther than one from a line at
// `line` bins, the line's power times the square of SidelobeBound, as far as that
// is 200 dB below the line.
func (w Window) AddSidelobes(sum []float64, line, power float64) {
	run := func(from, step int) {
		before := 1.0 // of two bins next to each other no more than one lies where the bound is zero
		for j := from; j >= 0 && j < len(sum); j += step {
			d := math.Abs(float64(j) - line)
			bound := w.SidelobeBound(d)
			share := bound * bound
			if d > 1 {
				sum[j] += power * share
			}
			if max(share, before) < sidelobesEnd {
				return
			}
			before = share
		}
	}
	middle := Whole(line, -1, len(sum)-1)
	run(middle, -1)
	run(middle+1, 1)
}

// sidelobeShape is Response without its sine; d is positive and no whole bin
// of the main lobe.
func (w Window) sidelobeShape(d float64) float64 {
	// The sum over one denominator, as divisions take long.
	sum, under, sign := w.Coeff[0], 1.0, -1.0
	for k := 1; k < len(w.Coeff); k++ {
		bin := float64(k)
		// d² − k² would lose the digits of d beside bin k.
		apart := (d - bin) * (d + bin)
		sum = sum*apart + sign*w.Coeff[k]*d*d*under
		under *= apart
		sign = -sign
	}
	return sum / (math.Pi * d * w.Coeff[0] * under)
}

// Squared is the window whose samples are the squares of w's: a cosine sum with
// twice the terms.
func (w Window) Squared() Window {
	// Two-sided coefficients: c_0 = a_0, c_±k = (−1)^k a_k / 2.
	side := func(k int) float64 {
		k = max(k, -k)
		switch {
		case k >= len(w.Coeff):
			return 0
		case k == 0:
			return w.Coeff[0]
		case k%2 == 1:
			return -w.Coeff[k] / 2
		}
		return w.Coeff[k] / 2
	}
	reach := len(w.Coeff) - 1
	s := Window{Name: w.Name + " squared", Coeff: make([]float64, 2*reach+1)}
	for k := range s.Coeff {
		for j := -reach; j <= reach; j++ {
			s.Coeff[k] += side(j) * side(k-j)
		}
		if k > 0 {
			s.Coeff[k] *= 2
		}
		if k%2 == 1 {
			s.Coeff[k] = -s.Coeff[k]
		}
	}
	return s
}

// MainLobe is the half-width of the main lobe in bins.
func (w Window) MainLobe() int { return len(w.Coeff) }

// ENBW is the equivalent noise bandwidth in bins,
// 1 + Σ_k a_k² / (2 a_0²), exact for blocks longer than twice the terms.
func (w Window) ENBW() float64 {
	sum := 1.0
	for _, a := range w.Coeff[1:] {
		sum += a * a / (2 * w.Coeff[0] * w.Coeff[0])
	}
	return sum
}

// Taper is the window as a taper of n samples every hop of them: the sum of its squares,
// and how much of the noise in two blocks j hops apart is the same while they overlap,
// c_j = Σ w[i]w[i+j·hop] / Σ w², j = 0, 1 … It is worked out once; nobody may change it.
func (w Window) Taper(n, hop int) (energy float64, overlaps []float64) {
	t := tapers.Of(tapering{w.Key(), n, hop}, func() taper {
		samples := w.Samples(n)
		var c []float64
		for lag := 0; lag < n; lag += hop {
			sum := 0.0
			for i, v := range samples[lag:] {
				sum += samples[i] * v
			}
			c = append(c, sum)
		}
		t := taper{c[0], c}
		for j := range c {
			c[j] /= t.energy
		}
		return t
	})
	return t.energy, t.overlaps
}

type taper struct {
	energy   float64
	overlaps []float64
}

// tapering is a window of so many samples, and the hop.
type tapering struct {
	window string
	n, hop int
}

var tapers = lend.Memo[tapering, taper]{Most: 32}

// Averages are the numbers of independent blocks whose mean power, and whose mean phasor,
// scatter like those of k that overlap by Taper's c: k / [1 + 2 Σ_j (1−j/k) c_j²] (Welch
// 1967), and the same with c_j. Blocks of which out is true are left out; nil: none. 0
// where all are.
func Averages(c []float64, k int, out []bool) (power, phasor float64) {
	left := func(b int) bool { return b < len(out) && out[b] }
	kept, powers, phasors := float64(k), 0.0, 0.0
	for b := range min(k, len(out)) {
		if out[b] {
			kept--
		}
	}
	for j := 1; j < len(c) && j < k; j++ {
		pairs := float64(k - j)
		if out != nil {
			pairs = 0
			for b := range k - j {
				if !left(b) && !left(b+j) {
					pairs++
				}
			}
		}
		powers, phasors = powers+2*pairs*c[j]*c[j], phasors+2*pairs*c[j]
	}
	if kept == 0 {
		return 0, 0
	}
	return kept * kept / (kept + powers), kept * kept / (kept + phasors)
}
