package mains

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"humdiff/fixtures/kit"
)

// A smoother that some phases are kept from says what the walk's own covariance
// says of the rest: the mean and the variance, given what was observed, of a
// Gaussian vector, by Cholesky's decomposition.
func TestSmoothOverGaps(t *testing.T) {
	const n, dt, v, q = 14, 0.5, 0.01, 0.3
	r := rand.New(rand.NewPCG(5, 5))
	for _, missing := range [][]int{nil, {4}, {4, 5, 6, 7}, {0, 1}, {12, 13}, {0, 6, 13}} {
		p := phases{missing: make([]bool, n)}
		for b := range n {
			p.at = append(p.at, 0.8*float64(b)+0.4*r.NormFloat64())
		}
		for _, b := range missing {
			p.missing[b], p.at[b] = true, 1e6 // must not be looked at
		}
		first, last := p.known()
		slope := (p.at[last] - p.at[first]) / (dt * float64(last-first))
		// The prior, as filterWalk has it: of the phase and of the rate at the first
		// block, and of the walk's rate from there.
		rr := ratePrior(n, dt, v, q)
		start, pp := p.at[first]-dt*float64(first)*slope, v
		if first > 0 {
			pp += dt * dt * float64(first*first) * rr
		}
		covariance := func(i, j int) float64 {
			s, u := dt*float64(min(i, j)), dt*float64(max(i, j))
			return pp + s*u*rr + q*s*s*(3*u-s)/6
		}
		mean := func(i int) float64 { return start + slope*dt*float64(i) }
		// The first phase observed is where the prior starts; it counts again only
		// where it isn't the first block.
		var seen []int
		for b := range n {
			if !p.missing[b] && b > 0 {
				seen = append(seen, b)
			}
		}
		k := mat.NewSymDense(len(seen), nil)
		y := mat.NewVecDense(len(seen), nil)
		for i, a := range seen {
			y.SetVec(i, p.at[a]-mean(a))
			for j := i; j < len(seen); j++ {
				c := covariance(a, seen[j])
				if i == j {
					c += v
				}
				k.SetSym(i, j, c)
			}
		}
		var chol mat.Cholesky
		if !chol.Factorize(k) {
			t.Fatal("no covariance")
		}
		for b, got := range smoothWalk(p, dt, v, q) {
			cross, x := mat.NewVecDense(len(seen), nil), mat.NewVecDense(len(seen), nil)
			for i, a := range seen {
				cross.SetVec(i, covariance(b, a))
			}
			kit.OK(t, chol.SolveVecTo(x, cross))
			phase, variance := mean(b)+mat.Dot(x, y), covariance(b, b)-mat.Dot(x, cross)
			if math.Abs(got.phase-phase) > 1e-6 || math.Abs(got.pp/variance-1) > 1e-6 {
				t.Errorf("without %v: block %d is %.9f with %.9g, want %.9f with %.9g", missing, b, got.phase, got.pp, phase, variance)
			}
		}
	}
}
