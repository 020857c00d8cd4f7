// Package repeats says what several measurements of the same thing come to: a
// mean with its interval, a difference between two such means, and how many
// degrees of freedom a combined uncertainty has. It assumes that repeats are
// independent and Gaussian in the unit they are given in (for hum: decibels).
package repeats

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Mean is a mean of repeats with the half-width of its interval.
type Mean struct {
	N     int
	Value float64
	SD    float64 // of one repeat
	Half  float64 // of the interval at the confidence asked for
}

// Of is the mean of two or more repeats, with Student's interval
// (JCGM 100:2008, 4.2 and G.3).
func Of(x []float64, confidence float64) (Mean, error) {
	if len(x) < 2 {
		return Mean{}, errors.New("one repeat alone says nothing of its spread: at least two are needed")
	}
	mean, sd := stat.MeanStdDev(x, nil)
	n := float64(len(x))
	return Mean{len(x), mean, sd, quantile(confidence, n-1) * sd / math.Sqrt(n)}, nil
}

// Difference is b − a, with the half-width of its interval by Welch's t test:
// the two may spread differently.
func Difference(a, b Mean, confidence float64) (value, half float64) {
	ua, ub := a.SD/math.Sqrt(float64(a.N)), b.SD/math.Sqrt(float64(b.N))
	u := math.Hypot(ua, ub)
	nu := EffectiveDOF([]Part{{ua, float64(a.N - 1)}, {ub, float64(b.N - 1)}})
	return b.Value - a.Value, quantile(confidence, nu) * u
}

// Part is a contribution to a combined standard uncertainty.
type Part struct {
	U   float64 // standard uncertainty
	DOF float64 // may be infinite
}

// EffectiveDOF is the Welch–Satterthwaite formula, u_c⁴ / Σ u_i⁴/ν_i
// (JCGM 100:2008, G.2b). Without any uncertainty it is infinite.
func EffectiveDOF(parts []Part) float64 {
	square, sum := 0.0, 0.0
	for _, p := range parts {
		square += p.U * p.U
		sum += p.U * p.U * p.U * p.U / p.DOF
	}
	if sum == 0 {
		return math.Inf(1)
	}
	return square * square / sum
}

// quantile is Student's two-sided factor at a confidence.
func quantile(confidence, nu float64) float64 {
	p := (1 + confidence) / 2
	if math.IsInf(nu, 1) {
		return distuv.UnitNormal.Quantile(p)
	}
	return distuv.StudentsT{Sigma: 1, Nu: nu}.Quantile(p)
}
