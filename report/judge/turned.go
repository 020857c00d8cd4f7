package judge

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"humdiff/report/model"
)

const (
	// turnTail is the chance, at either side, of a turn that is none.
	turnTail = 0.0025
	// leastTurn is how far a reference has to turn, rad: the mains' own fundamental turns
	// against its harmonics by some thousandths, as loads change.
	leastTurn = 0.008
	// leastTurning is how many lines besides the fundamental show a turn.
	leastTurning = 3
	// turnShare is what share of a pickup a turn may make before it is doubted; up to there
	// its interval holds it.
	turnShare = 0.1
)

// turned is by what angle a reference's lines turned from quiet to near, rad; 0 where that
// isn't known to be more than the mains' doing. A phase that all lines have in common can't
// be told from time but by this: line h, held against h times the fundamental, turns by
// 1 − h of it. What lines differ by from that, between the captures or within either, is
// its uncertainty.
func turned(quiet, near model.Capture) float64 {
	var h, δ, w []float64
	sum, weight, first := 0.0, 0.0, 0.0
	for i := range min(len(quiet.Lines), len(near.Lines)) {
		q, n := quiet.Lines[i].Ratio, near.Lines[i].Ratio
		if q == nil || n == nil || !q.Turn.Ok() || !n.Turn.Ok() {
			continue
		}
		u := math.Hypot(q.TurnU.Float(), n.TurnU.Float()) * math.Pi / 180
		if i == 0 {
			first = u
		}
		if i == 0 || !(u > 0) {
			continue
		}
		// Lower lines say which of a higher one's turns, a whole one apart, it is.
		by, guess := -float64(i), 0.0
		if weight > 0 {
			guess = sum / weight * by
		}
		turn := guess + math.Remainder((n.Turn.Float()-q.Turn.Float())*math.Pi/180-guess, 2*math.Pi)
		h, δ, w = append(h, by), append(δ, turn), append(w, 1/(u*u))
		sum, weight = sum+float64(turn*by/(u*u)), weight+float64(by*by/(u*u))
	}
	if len(h) < leastTurning {
		return 0
	}
	φ, chi2, dof := sum/weight, 0.0, float64(len(h)-1)
	for k := range h {
		chi2 += w[k] * math.Pow(δ[k]-float64(φ*h[k]), 2)
	}
	u := math.Hypot(first, math.Sqrt(max(1, chi2/dof)/weight))
	if t := (distuv.StudentsT{Sigma: 1, Nu: dof}).Quantile(1 - turnTail); math.Abs(φ) < max(leastTurn, t*u) {
		return 0
	}
	return φ
}

// turnMakes says that what turned a reference may make more than its share of a pair's
// pickup.
func turnMakes(p model.Pair, φ float64) bool {
	pickup, ok := p.Hum.Pickup.Upper()
	hum, measured := p.Hum.Quiet.Value()
	return φ != 0 && ok && measured && math.Abs(φ)*amplitude(hum) > turnShare*pickup
}
