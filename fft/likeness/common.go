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
		out[k] = at(x, float64(k)*ratio, ratio, sincReach) * cmplx.Rect(1, math.Pi*math.Mod(float64(k), 2))
	}
	return out
}

// warped is a sequence of complex samples, of noise around hz, as it would be had it
// run faster by a ratio.
func warped(x []complex128, rate, hz, ratio float64) []complex128 {
	down, out := make([]complex128, len(x)), make([]complex128, len(x))
	for i, z := range x {
		down[i] = z * cmplx.Rect(1, -2*math.Pi*math.Mod(hz*float64(i)/rate, 1))
	}
	for k := range out {
		where := float64(k) * ratio
		out[k] = at(down, where, 1, 3*sincReach) * cmplx.Rect(1, 2*math.Pi*math.Mod(hz*where/rate, 1))
	}
	return out
}

// at is a sequence between its samples, by a sinc that cuts off at 1/ratio of half
// the rate, under a Hann window.
func at(x []complex128, where, ratio, reach float64) complex128 {
	sum := complex(0, 0)
	for i := max(int(where-reach*ratio)+1, 0); i <= min(int(where+reach*ratio), len(x)-1); i++ {
		d := (float64(i) - where) / ratio
		kernel := 0.5 + 0.5*math.Cos(math.Pi*d/reach)
		if d != 0 {
			kernel *= math.Sin(math.Pi*d) / (math.Pi * d)
		}
		sum += complex(kernel/ratio, 0) * x[i]
	}
	return sum
}
