package mains

import (
	"math"
	"math/cmplx"

	"humdiff/fft"
	"humdiff/fft/note"
)

// A dimmer or a lamp's driver makes noise that swings twice a mains cycle.
// Between the lines it looks like any noise, but its spectrum at two frequencies
// 2·f0 apart is correlated, in step with the mains, and that of steady noise is
// not (cyclostationary noise).

const (
	buzzFrom = 2000.0 // Hz
	// buzzDepth is the least swing told, as a share of the noise's mean power.
	buzzDepth = 0.15
	// buzzSigmas is how far beyond chance the correlation has to be: its square
	// is exponential, and exceeds 16 times its mean once in ten million.
	buzzSigmas = 4.0
)

// buzz gathers the correlation.
type buzz struct {
	sum     float64 // of the segments' magnitudes, by their blocks
	looks   float64 // independent products
	n       float64 // blocks
	scatter float64 // variance of sum, by how blocks differ
}

// addBuzz correlates the bins midway between lines with those 2·f0 above, block
// by block, turned back by the mains' phase.
func (m *meter) addBuzz(blocks []block, phase []float64) {
	bin := m.l.binHz()
	shift := fft.Whole(math.Round(2*m.found.hz/bin), 0, m.l.lowN)
	if len(blocks) == 0 || m.found.hz/bin < 24 {
		return
	}
	var at []int
	for j := fft.Whole(buzzFrom/bin, 0, m.l.lowN); j+shift < min(len(blocks[0]), len(m.rough)); j++ {
		_, between := math.Modf(float64(j) * bin / m.found.hz)
		if math.Abs(between-0.5) < 0.2 && m.noiseOnly(j) && m.noiseOnly(j+shift) {
			at = append(at, j)
		}
	}
	if len(at) < 100 {
		return
	}
	products, norms := m.correlated(blocks, at, shift)
	// A click correlates all bins: loud blocks are passed by.
	limit := 1.5 * medianOf(norms)
	sum, norm, kept := complex(0, 0), 0.0, 0
	for b := range products {
		products[b] *= cmplx.Rect(1, -2*phase[b])
		if norms[b] <= limit {
			sum, norm, kept = sum+products[b], norm+norms[b], kept+1
		}
	}
	if norm == 0 { // half of the blocks are silent
		return
	}
	n, square := float64(len(blocks)), 0.0
	for b, s := range products {
		if norms[b] <= limit {
			square += power(s - sum/complex(norm, 0)*complex(norms[b], 0))
		}
	}
	m.buzz.sum += n * cmplx.Abs(sum) / norm
	m.buzz.scatter += n * n * square / (norm * norm) * float64(kept) / m.l.powerAverages(kept)
	m.buzz.looks += float64(len(at)) / neighbours * m.l.powerAverages(len(blocks))
	m.buzz.n += n
}

// correlated is, of each block, the sum of the products of bins so far apart, and what it
// would be of the same ones, both over the noise that is usual there.
func (m *meter) correlated(blocks []block, at []int, shift int) (products []complex128, norms []float64) {
	products, norms = make([]complex128, len(blocks)), make([]float64, len(blocks))
	over := make([]struct{ low, high, both float64 }, len(at))
	for i, j := range at {
		over[i].low, over[i].high, over[i].both = 0.5/m.rough[j], 0.5/m.rough[j+shift], 1/math.Sqrt(m.rough[j]*m.rough[j+shift])
	}
	for b, x := range blocks {
		re, im, norm := 0.0, 0.0, 0.0
		for i, j := range at {
			ur, ui, vr, vi := float64(real(x[j])), float64(imag(x[j])), float64(real(x[j+shift])), float64(imag(x[j+shift]))
			re += (vr*ur + vi*ui) * over[i].both
			im += (vi*ur - vr*ui) * over[i].both
			norm += (ur*ur+ui*ui)*over[i].low + (vr*vr+vi*vi)*over[i].high
		}
		products[b], norms[b] = complex(re, im), norm
	}
	return products, norms
}

// noiseOnly reports whether no tone stands at bin j.
func (m *meter) noiseOnly(j int) bool {
	return m.rough[j] > 0 && 2*j < len(m.scan.mean) && m.scan.mean[2*j] < 3*m.rough[j]*m.l.lineENBW
}

// depth is the swing of the noise's power about its mean, 0 where it is no more
// than chance makes.
func (b buzz) depth() float64 {
	if b.n == 0 {
		return 0
	}
	c := b.sum / b.n
	// A lamp swings the noise of all blocks alike; of clicks each block has its own.
	if 2*c < buzzDepth || c < buzzSigmas*max(1/math.Sqrt(b.looks), math.Sqrt(b.scatter)/b.n) {
		return 0
	}
	return min(2*c, 1)
}

// together is by how much more the noise in a sum of so many lines scatters because it is
// the same in them: that of harmonics 2k apart is correlated by the swing's k-th overtone.
// A sine has one, to which a half of the noise can be correlated; beyond that it is
// bursts, which have all.
func (b buzz) together(lines int) float64 {
	c := b.sum / max(b.n, 1)
	switch {
	case b.depth() == 0:
		return 1
	case c > 0.5:
		return max(1, float64(lines)/2)
	}
	return (1 + c*c) / (1 - c*c)
}

func buzzWarnings(depth float64) []note.Note {
	if depth == 0 {
		return nil
	}
	return []note.Note{note.New("buzz", "swing_share", depth)}
}
