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

// shared is Samples, calculated once and used by all; nobody may change it.
func (w Window) shared(n int) []float64 {
	return sampled.Of(fmt.Sprint(n, w.Coeff), func() []float64 { return w.Samples(n) })
}

// sampled is by length and coefficients; a capture has four.
var sampled = lend.Memo[string, []float64]{Most: 16}

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
	shape := w.squaredSidelobes()
	lobe := float64(len(w.Coeff))
	run := func(from, step int) {
		before := 1.0 // of two bins next to each other no more than one lies where the bound is zero
		for j := from; j >= 0 && j < len(sum); j += step {
			d, share := math.Abs(float64(j)-line), 1.0
			if d >= lobe {
				share = shape(d * d)
			}
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

// squaredSidelobes is the square of SidelobeBound by the square of the distance in
// bins, which lies beyond the main lobe: as in sidelobeShape, but so far from the
// whole bins no digits are lost.
func (w Window) squaredSidelobes() func(d2 float64) float64 {
	scale := 1 / (math.Pi * math.Pi * w.Coeff[0] * w.Coeff[0])
	squares := make([]float64, len(w.Coeff))
	for k := range squares {
		squares[k] = float64(k * k)
	}
	return func(d2 float64) float64 {
		over, under, sign := w.Coeff[0], 1.0, -1.0
		for k := 1; k < len(w.Coeff); k++ {
			apart := d2 - squares[k]
			over = over*apart + sign*w.Coeff[k]*d2*under
			under *= apart
			sign = -sign
		}
		return scale * over * over / (d2 * under * under)
	}
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

// Overlaps returns a taper's normalised autocorrelations
// c_j = Σ w[n]w[n+j·hop] / Σ w², j = 0, 1 … while blocks overlap: how much of
// the noise in two blocks j hops apart is the same.
func Overlaps(taper []float64, hop int) []float64 {
	var c []float64
	for lag := 0; lag < len(taper); lag += hop {
		sum := 0.0
		for n := 0; n+lag < len(taper); n++ {
			sum += taper[n] * taper[n+lag]
		}
		c = append(c, sum)
	}
	for j := len(c) - 1; j >= 0; j-- {
		c[j] /= c[0]
	}
	return c
}

// PowerAverages is the number of independent blocks whose mean power scatters
// like that of k overlapping ones, k / [1 + 2 Σ_j (1−j/k) c_j²] (Welch 1967).
func PowerAverages(c []float64, k int) float64 { return effective(c, k, 2) }

// PhasorAverages is the number of independent blocks whose mean phasor
// scatters like that of k overlapping ones, k / [1 + 2 Σ_j (1−j/k) c_j].
func PhasorAverages(c []float64, k int) float64 { return effective(c, k, 1) }

func effective(c []float64, k int, exponent float64) float64 {
	sum := 1.0
	for j := 1; j < len(c) && j < k; j++ {
		sum += 2 * (1 - float64(j)/float64(k)) * math.Pow(c[j], exponent)
	}
	return float64(k) / sum
}

// PowerAveragesWithout and PhasorAveragesWithout are the same of a row of blocks
// of which some, where out is true, are left out; 0 where all are.
func PowerAveragesWithout(c []float64, out []bool) float64 { return effectiveWithout(c, out, 2) }

// PhasorAveragesWithout: see PowerAveragesWithout.
func PhasorAveragesWithout(c []float64, out []bool) float64 { return effectiveWithout(c, out, 1) }

func effectiveWithout(c []float64, out []bool, exponent float64) float64 {
	kept, sum := 0.0, 0.0
	for i := range out {
		if out[i] {
			continue
		}
		kept++
		for j := 1; j < len(c) && i+j < len(out); j++ {
			if !out[i+j] {
				sum += 2 * math.Pow(c[j], exponent)
			}
		}
	}
	if kept == 0 {
		return 0
	}
	return kept * kept / (kept + sum)
}
