package mains

import (
	"math"
	"math/cmplx"
)

// cycleSamples is enough for 100 harmonics.
const cycleSamples = 512

// cycle adds up the lines' mean phasors to the waveform of one mains cycle.
func (m *meter) cycle() *Cycle {
	if !m.mains().Tracked {
		return nil
	}
	c := &Cycle{Hz: m.mains().Hz, Samples: make([]float64, cycleSamples)}
	var turn [cycleSamples]complex128 // e^{i2πk/cycleSamples}
	for k := range turn {
		turn[k] = cmplx.Rect(1, 2*math.Pi*float64(k)/cycleSamples)
	}
	means := make([]complex128, len(m.lines))
	for h := range means {
		means[h] = m.lines[h].cycle / complex(float64(m.tracked), 0)
	}
	peak, square := 0.0, 0.0
	for i := range c.Samples {
		for h, z := range means {
			// Half a complex turn per harmonic: 2·Re(z·e^{i2πht}).
			w := turn[(h+1)*i%cycleSamples]
			c.Samples[i] += 2 * (real(z)*real(w) - imag(z)*imag(w))
		}
		peak = max(peak, math.Abs(c.Samples[i]))
		square += c.Samples[i] * c.Samples[i] / cycleSamples
	}
	c.Crest = peak / math.Sqrt(square)
	return c
}
