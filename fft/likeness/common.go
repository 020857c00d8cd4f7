package likeness

import (
	"math"
	"math/cmplx"
)

// common gives two sketches' samples at one rate and of one band; hz is its middle.
// Where they differ, both are brought to the band they share.
func common(a, b Sketch) (x, y []complex128, rate, hz float64) {
	if a.Rate == b.Rate && a.LowHz == b.LowHz {
		return a.unpack(), b.unpack(), a.Rate, a.LowHz + a.Rate/2
	}
	low, high := max(a.LowHz, b.LowHz), min(a.LowHz+a.Rate, b.LowHz+b.Rate)
	if high <= low {
		return nil, nil, 1, 0
	}
	x, y = part(a.unpack(), a.Rate, a.LowHz, low, high), part(b.unpack(), b.Rate, b.LowHz, low, high)
	return x, y, high - low, (low + high) / 2
}

// sincReach is how many samples of the slower rate a resampling kernel reaches to
// either side.
const sincReach = 8

// part is what complex samples, at a rate and with 0 Hz standing for base, hold between
// two frequencies: as samples at a rate of their difference, 0 Hz standing for the
// lower. It changes x.
func part(x []complex128, rate, base, low, high float64) []complex128 {
	ratio := rate / (high - low) // at least 1
	// Turned so that the band's middle lies at 0 Hz, for a real kernel.
	down := (low+high)/2 - base
	for i := range x {
		x[i] *= cmplx.Rect(1, -2*math.Pi*math.Mod(down*float64(i)/rate, 1))
	}
	out := make([]complex128, int(float64(len(x))/ratio))
	for k := range out {
		out[k] = at(x, float64(k)*ratio, ratio) * cmplx.Rect(1, math.Pi*math.Mod(float64(k), 2))
	}
	return out
}

// at is a sequence between its samples, by a sinc that cuts off at 1/ratio of half
// the rate, under a Hann window.
func at(x []complex128, where, ratio float64) complex128 {
	reach := sincReach * ratio
	sum := complex(0, 0)
	for i := max(int(where-reach)+1, 0); i <= min(int(where+reach), len(x)-1); i++ {
		d := (float64(i) - where) / ratio
		kernel := 0.5 + 0.5*math.Cos(math.Pi*d/sincReach)
		if d != 0 {
			kernel *= math.Sin(math.Pi*d) / (math.Pi * d)
		}
		sum += complex(kernel/ratio, 0) * x[i]
	}
	return sum
}
