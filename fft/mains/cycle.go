package mains

import "math"

// cycleSamples is enough for 100 harmonics.
const cycleSamples = 512

// cycle adds up the lines' mean phasors to the waveform of one mains cycle.
func (m *meter) cycle() *Cycle {
	if !m.mains().Tracked {
		return nil
	}
	c := &Cycle{Hz: m.mains().Hz, Samples: make([]float64, cycleSamples)}
	peak, square := 0.0, 0.0
	for i := range c.Samples {
		for h := range m.lines {
			z := m.lines[h].cycle / complex(float64(m.tracked), 0)
			// Half a complex turn per harmonic: 2·Re(z·e^{i2πht}).
			angle := 2 * math.Pi * float64((h+1)*i%cycleSamples) / cycleSamples
			c.Samples[i] += 2 * (real(z)*math.Cos(angle) - imag(z)*math.Sin(angle))
		}
		peak = max(peak, math.Abs(c.Samples[i]))
		square += c.Samples[i] * c.Samples[i] / cycleSamples
	}
	c.Crest = peak / math.Sqrt(square)
	return c
}
