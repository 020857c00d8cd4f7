// Package weighting takes in a frequency and gives out the factor on power by which
// noise is weighted there (the A-weighting of IEC 61672-1, the curve of ITU-R
// BS.468-4), or takes in samples and reads them by the quasi-peak meter of the latter;
// it may not choose between them. Whether noise weighted by a curve is read by its mean
// square or by that meter is the caller's to say.
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

// itu468Gain fits the model below to the table of BS.468-4 with the smallest
// largest deviation, 0.046 dB. It leaves +0.008 dB at 1 kHz, where the table
// says 0; +18.2387 dB would be exact there and 0.050 dB off elsewhere.
var itu468Gain = math.Pow(10, 18.2463/10)

// ITU468Power is the weighting of ITU-R BS.468-4 at hz as a factor on power,
// by the rational model of the standard's passive network; 0 at 0 Hz. The
// Recommendation specifies the curve from 31.5 Hz to 31.5 kHz.
func ITU468Power(hz float64) float64 {
	f2 := hz * hz
	h1 := ((-4.737338981378384e-24*f2+2.043828333606125e-15)*f2-1.363894795463638e-7)*f2 + 1
	h2 := ((1.306612257412824e-19*f2-2.118150887518656e-11)*f2 + 5.559488023498642e-4) * hz
	r := 1.246332637532143e-4 * hz
	return itu468Gain * r * r / (h1*h1 + h2*h2)
}
