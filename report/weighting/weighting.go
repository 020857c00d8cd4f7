// Package weighting takes in a frequency and gives out the A-weighting of IEC 61672-1
// there, as a factor on power, or takes in samples and gives out what the quasi-peak
// meter of ITU-R BS.468-4 reads; it may not choose between them.
package weighting

import "math"

// The poles of the A-weighting, in hertz. IEC 61672-1 defines them by four
// design frequencies (annex E): fr = 1000, fL = 10^1.5, fH = 10^3.9 and
// fA = 10^2.45, with D² = 1/2 (form from memory of the standard).
var aPoles = poles(1000, math.Pow(10, 1.5), math.Pow(10, 3.9), math.Pow(10, 2.45))

// aGain makes the A-weighting 0 dB at 1 kHz.
var aGain = 1 / aShape(1000)

// poles solves the design frequencies for the four poles.
func poles(fr, fL, fH, fA float64) [4]float64 {
	d := math.Sqrt(0.5)
	b := (fr*fr + fL*fL*fH*fH/(fr*fr) - d*(fL*fL+fH*fH)) / (1 - d)
	c := fL * fL * fH * fH
	root := math.Sqrt(b*b - 4*c)
	return [4]float64{
		math.Sqrt((-b - root) / 2),
		(3 - math.Sqrt(5)) / 2 * fA,
		(3 + math.Sqrt(5)) / 2 * fA,
		math.Sqrt((-b + root) / 2),
	}
}

// aShape is the squared magnitude of the A-weighting, not yet normalised.
func aShape(hz float64) float64 {
	f2 := hz * hz
	p1, p2, p3, p4 := aPoles[0]*aPoles[0], aPoles[1]*aPoles[1], aPoles[2]*aPoles[2], aPoles[3]*aPoles[3]
	amplitude := p4 * f2 * f2 / ((f2 + p1) * (f2 + p4))
	return amplitude * amplitude / ((f2 + p2) * (f2 + p3))
}

// APower is the A-weighting of IEC 61672-1 at hz as a factor on power: 1 at
// 1 kHz, 0 at 0 Hz.
func APower(hz float64) float64 { return aGain * aShape(hz) }
