package mains

import (
	"math"

	"humdiff/fft"
)

// aboveModelDB is what a line above UpTo may be off by: it is read from the whole
// band's spectrum, without a track.
const aboveModelDB = 0.1

// above sorts tones into those that are hum above the last line measured, which it
// adds up, and the others. What a digital bus makes may lie there too: tones on a
// multiple of 1 kHz stay tones.
func above(s fft.Spectrum, floor []float64, w fft.Window, m Mains, all []Tone) (tones []Tone, hum Level) {
	hum = unknownLevel()
	power, variance := 0.0, 0.0
	seen := map[int]bool{}
	for _, t := range all {
		if t.Harmonic == 0 || onClock(t.Hz, s.BinHz()) {
			tones = append(tones, t)
			continue
		}
		if seen[t.Harmonic] {
			continue // wander split its line
		}
		seen[t.Harmonic] = true
		p, v := bandPower(s, floor, float64(t.Harmonic)*m.Hz, lobeHalf(s, w)+smear(m, t.Harmonic))
		power, variance = power+p, variance+v
	}
	if power > 0 {
		half := 1.96 * math.Sqrt(variance)
		hum = Level{Detected: true, Power: power, Limit: math.NaN(),
			Lo: widen(power, max(power-half, power/2), -aboveModelDB), Hi: widen(power, power+half, aboveModelDB)}
	}
	return tones, hum
}

// onClock says whether hz can't be told from a multiple of 1 kHz.
func onClock(hz, bin float64) bool {
	k := math.Round(hz / clockHz)
	return k >= 1 && math.Abs(hz-k*clockHz) < k*clockSlack+0.5*bin
}

func lobeHalf(s fft.Spectrum, w fft.Window) float64 { return (float64(w.MainLobe()) + 0.5) * s.BinHz() }

// bandPower is the power above the floor within halfWidth of hz, and its variance.
func bandPower(s fft.Spectrum, floor []float64, hz, halfWidth float64) (power, variance float64) {
	bin := s.BinHz()
	for j := fft.Whole(math.Ceil((hz-halfWidth)/bin), 0, len(floor)); j <= fft.Whole((hz+halfWidth)/bin, -1, len(floor)-1); j++ {
		power += (s.Density[j] - floor[j]) * bin
		// Neighbours share their noise.
		noise := floor[j] * bin
		variance += neighbours * noise * (2*max(s.Density[j]*bin-noise, 0) + noise) / s.Averages
	}
	return power, variance
}
