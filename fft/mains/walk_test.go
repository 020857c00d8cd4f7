package mains

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"humdiff/fft"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"

	"gonum.org/v1/gonum/mat"
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

// What wander within blocks takes off high harmonics is what walkLoss says, at
// two block lengths, two strengths of walk, and for every window.
func TestWanderLoss(t *testing.T) {
	kit.Unraced(t)
	t.Parallel()
	for _, c := range []struct {
		rate, walk float64
		window     fft.Window
	}{
		{11025, 0.005, fft.Nuttall}, // blocks of 1.49 s
		{11025, 0.015, fft.Nuttall},
		{12000, 0.01, fft.Nuttall}, // blocks of 1.37 s
		{12000, 0.01, fft.Hann},
		{12000, 0.01, fft.BlackmanHarris},
		{12000, 0.01, fft.FlatTop},
	} {
		const level, trials = 1e-6, 10
		loss, want := make(map[int]float64), make(map[int]float64)
		for seed := range int64(trials) {
			m := walkingComb(t, c.rate, c.walk, level, seed, c.window)
			for _, h := range []int{40, 90} {
				loss[h] -= 10 * math.Log10(m.lines[h-1].blockPower.mean/level) / trials
				want[h] = m.l.wanderLoss * float64(h*h) * math.Pow(2*math.Pi*c.walk, 2)
			}
		}
		for h, got := range loss {
			if want[h] < 0.2 && math.Abs(got/want[h]-1) > 0.15 { // scatter of 10 walks: 5 %
				t.Errorf("rate %g, walk %g Hz/√s, %s, h %d: lost %.4f dB, want %.4f", c.rate, c.walk, c.window.Name, h, got, want[h])
			}
		}
	}
}

func walkingComb(t *testing.T, rate, walk, level float64, seed int64, w fft.Window) *meter {
	t.Helper()
	c := bench.Comb{Rate: rate, Seconds: 15, Track: bench.Track{Hz: 50, Walk: walk}, FloorDBFSHz: -160, RandomPhase: true, Seed: seed}
	for h := 1; h <= 92; h++ {
		c.Lines = append(c.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: 10 * math.Log10(level)})
	}
	made := kit.Must(c.Make())(t)
	opt := Options{Window: w}.filled()
	l := kit.Must(newLayout(int(rate), int64(len(made.Samples)), opt))(t)
	obs := kit.Must(observe(context.Background(), made.Source(), l, nil, opt))(t)
	f, ok := search(&obs[0], l, opt)
	if !ok {
		t.Fatal("mains not found")
	}
	m := newMeter(&obs[0], f)
	m.add(obs[0].blocks)
	return m
}

func TestMedian(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		want float64
	}{{nil, 0}, {[]float64{3}, 3}, {[]float64{3, 1}, 2}, {[]float64{9, 1, 4}, 4}, {[]float64{9, 1, 4, 6}, 5}, {[]float64{2, 2, 2, 2}, 2}} {
		kit.Same(t, median(c.x), c.want, "median")
	}
}
