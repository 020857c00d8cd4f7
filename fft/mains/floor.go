package mains

import (
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/mat"

	"humdiff/fft"
	"humdiff/fft/lend"
)

const (
	// floorReach is how far beside a line its floor is read.
	floorReach = 25.0 // Hz
	// leakShare is how much of the floor a line may leak into a bin that is
	// still read as floor.
	leakShare = 0.03
	// neighbours is over how many bins noise is correlated in a windowed
	// spectrum: independent values are so many times fewer than bins.
	neighbours = 2.8
)

// floorEstimate is the noise density at one frequency.
type floorEstimate struct {
	density float64 // per Hz
	dof     float64 // degrees of freedom of the estimate
	beside  []neighbour
}

// neighbour is a tone so near to a line that the taper lets some of it into the
// line's estimate.
type neighbour struct {
	offset float64 // Hz
	power  float64
}

// neighbours lists the tones that leak into a line's estimate anywhere within
// reach of hz.
func (l layout) neighbours(hz, reach float64, tones []peak) (near []neighbour) {
	for _, t := range tones {
		if d := math.Abs(t.hz - hz); d > reach && d < reach+float64(l.taper.MainLobe()+1)*l.binHz() {
			near = append(near, neighbour{t.hz - hz, t.power})
		}
	}
	return near
}

// intoBlock is the power that a block's estimate gets of a line's neighbours,
// at the most within reach of the line's place.
func (f floorEstimate) intoBlock(l layout, reach float64) (power float64) {
	for _, n := range f.beside {
		r := l.taper.Response(math.Max(math.Abs(n.offset)-reach, 0) / l.binHz())
		power += n.power * r * r
	}
	return power
}

// intoBlockAt is the same at one frequency, so many hertz from the line's place.
func (f floorEstimate) intoBlockAt(l layout, offset float64) (power float64) {
	for _, n := range f.beside {
		r := l.taper.Response((n.offset - offset) / l.binHz())
		power += n.power * r * r
	}
	return power
}

// intoSpan is what is left of it after a span of so many blocks: the neighbours
// turn against the line.
func (f floorEstimate) intoSpan(l layout, blocks float64) (power float64) {
	for _, n := range f.beside {
		r := l.taper.Response(n.offset / l.binHz())
		kept := 1 / math.Max(math.Abs(blocks*math.Sin(math.Pi*n.offset*l.hopSeconds())), 1)
		power += n.power * r * r * kept * kept
	}
	return power
}

// floorReader reads noise densities from the low band's spectrum beside
// whatever stands in it.
type floorReader struct {
	s     fft.Spectrum
	busy  []bool    // main lobes of lines and tones
	leak  []float64 // density that lines leak into a bin
	lines []skirt
	even  *evenness

	f, p, work []float64 // room for the bins of one floor

	// What many floors ask for again.
	bias     lend.Memo[float64, float64]
	outliers lend.Memo[crowd, float64]
}

// mostKinds is how many answers are kept: more than a capture's lines ask for.
const mostKinds = 256

// crowd is n noise bins, each a mean of so many powers.
type crowd struct {
	averages float64
	n        int
}

// skirt is a line whose phase's rate walks at random: beside it stands noise of
// density power·wander/(2πΔ)⁴ at Δ hertz.
type skirt struct{ hz, power, wander float64 }

func (s skirt) density(hz float64) float64 {
	offset := 2 * math.Pi * (hz - s.hz)
	return s.power * s.wander / (offset * offset * offset * offset)
}

func newFloorReader(s fft.Spectrum, even *evenness) *floorReader {
	return &floorReader{s: s, even: even, busy: make([]bool, len(s.Density)), leak: make([]float64, len(s.Density)),
		bias: lend.Memo[float64, float64]{Most: mostKinds}, outliers: lend.Memo[crowd, float64]{Most: mostKinds}}
}

// occupy marks what lies within halfWidth of hz as not floor.
func (r *floorReader) occupy(hz, halfWidth float64) {
	bin := r.s.BinHz()
	lo := fft.Whole(math.Ceil((hz-halfWidth)/bin), 0, len(r.busy))
	hi := fft.Whole(math.Floor((hz+halfWidth)/bin), -1, len(r.busy)-1)
	for j := lo; j <= hi; j++ {
		r.busy[j] = true
	}
}

// spill adds what a line leaks into the bins around it: the window's sidelobes
// and its skirt.
func (r *floorReader) spill(w fft.Window, line skirt) {
	r.lines = append(r.lines, line)
	bin := r.s.BinHz()
	w.AddSidelobes(r.leak, line.hz/bin, line.power/r.s.ENBWHz())
	if line.power*line.wander == 0 {
		return
	}
	for j := range r.leak {
		if hz := float64(j) * bin; math.Abs(hz-line.hz) > bin {
			r.leak[j] += line.density(hz)
		}
	}
}

// at is the floor at hz: read from the bins within floorReach that are free of
// lines and of what they leak, or further out where too few are, plus the
// skirts of other lines, which are noise to a line that stands in them.
func (r *floorReader) at(hz float64) floorEstimate {
	floor := r.clean(hz)
	for _, line := range r.lines {
		if math.Abs(line.hz-hz) > 10 {
			floor.density += line.density(hz)
		}
	}
	return floor
}

func (r *floorReader) clean(hz float64) floorEstimate {
	const enough = 14
	averages := max(1, r.s.Averages*r.even.share(hz))
	for _, reach := range []float64{floorReach, 2 * floorReach, 6 * floorReach, 20 * floorReach} {
		f, p := r.free(hz, reach, 0)
		if len(f) < enough {
			continue
		}
		// With a first floor known, leave out what lines leak into.
		first := r.fit(f, p, hz, averages)
		if f, p = r.free(hz, reach, leakShare*first.density); len(f) >= enough {
			return r.fit(f, p, hz, averages)
		}
	}
	f, p := r.free(hz, 20*floorReach, 0)
	if len(f) == 0 {
		return floorEstimate{density: math.NaN(), dof: 2} // no bin says
	}
	return r.fit(f, p, hz, averages)
}

// free lists frequency and density of the bins within reach of hz that hold
// noise. mostLeak 0 doesn't ask how much leaks in. They are there until it is asked
// again.
func (r *floorReader) free(hz, reach, mostLeak float64) (f, p []float64) {
	bin := r.s.BinHz()
	f, p = r.f[:0], r.p[:0]
	lo := fft.Whole(math.Ceil((hz-reach)/bin), 2, len(r.busy))
	hi := fft.Whole(math.Floor((hz+reach)/bin), 0, len(r.busy)-2)
	for j := lo; j <= hi; j++ {
		if !r.busy[j] && r.s.Density[j] > 0 && (mostLeak == 0 || r.leak[j] < mostLeak) {
			f, p = append(f, float64(j)*bin), append(p, r.s.Density[j])
		}
	}
	r.f, r.p = f, p
	return f, p
}

// fit is the density at hz from densities p at frequencies f, each a mean
// of `averages` exponential powers: a curve in log–log, then the median of the
// ratios to it, corrected to the mean. A quadratic follows 1/f noise and
// low-cut filters; above 300 Hz, where 25 Hz is a small step, a constant does.
// Bins that no noise would reach are left out, and the fit made again; f and p then
// hold what was kept.
func (r *floorReader) fit(f, p []float64, hz, averages float64) floorEstimate {
	degree := 2
	if hz > 300 || len(f) < 14 || !around(f, hz) {
		degree = 0
	}
	bias := r.bias.Of(averages, func() float64 { return medianBias(averages) })
	outlier := r.outliers.Of(crowd{averages, len(f)}, func() float64 { return outlierRatio(averages, len(f)) })
	r.work = slices.Grow(r.work[:0], 2*len(f))
	work := r.work[:2*len(f)]
	for try := 0; ; try++ {
		curve := fitLogLog(f, p, hz, degree)
		ratios := work[:len(f)]
		for i := range f {
			ratios[i] = p[i] / curve(f[i])
		}
		m := median(append(work[len(f):len(f)], ratios...)) / bias
		kept := 0
		for _, ratio := range ratios {
			if ratio < outlier*m {
				kept++
			}
		}
		if kept == len(f) || try == 3 || kept < 8 {
			return floorEstimate{density: m * within(curve(hz), f, curve), dof: floorDOF(averages, len(f), degree)}
		}
		keptF, keptP := f[:0], p[:0]
		for i, ratio := range ratios {
			if ratio < outlier*m {
				keptF, keptP = append(keptF, f[i]), append(keptP, p[i])
			}
		}
		f, p = keptF, keptP
	}
}

// within holds a curve's value to the range it has at the data: beyond, it is a
// guess.
func within(value float64, f []float64, curve func(float64) float64) float64 {
	lo, hi := math.Inf(1), 0.0
	for _, x := range f {
		y := curve(x)
		lo, hi = math.Min(lo, y), math.Max(hi, y)
	}
	return math.Min(math.Max(value, lo), hi)
}

// around reports whether frequencies lie on both sides of hz and near it, so
// that a curve through them can be trusted there.
func around(f []float64, hz float64) bool {
	below, above := 0, 0
	for _, x := range f {
		switch {
		case math.Abs(x-hz) > 2*floorReach:
			return false
		case x < hz:
			below++
		default:
			above++
		}
	}
	return below >= 5 && above >= 5
}

// floorDOF counts what a floor from n bins is worth: correlated neighbours, a
// median instead of a mean (π/2), and the variance of a quadratic at its
// middle (9/4 that of a mean).
func floorDOF(averages float64, n, degree int) float64 {
	dof := 2 * averages * float64(n) / neighbours / (math.Pi / 2)
	if degree == 2 {
		dof /= 9.0 / 4
	}
	return max(dof, 2)
}

// outlierRatio is what none of n noise bins exceeds in 999 of 1000 spectra.
func outlierRatio(averages float64, n int) float64 {
	want := math.Log(1000 * float64(n))
	return firstRatio(func(r float64) bool { return gammaSurprise(averages, r) >= want })
}

// firstRatio is the first power of 1.05 that is enough. What is enough stays so:
// steps double until one is, then are halved.
func firstRatio(enough func(r float64) bool) float64 {
	powers := []float64{1}
	at := func(i int) float64 {
		for len(powers) <= i {
			powers = append(powers, powers[len(powers)-1]*1.05)
		}
		return powers[i]
	}
	most := 1
	for !enough(at(most)) {
		most *= 2
	}
	return at(sort.Search(most, func(i int) bool { return enough(at(i)) }))
}

// fitLogLog fits a polynomial of degree 0 or 2 to ln p over ln(f/hz). Of degree 0 it
// gives any constant: which one makes no difference to the ratios' median times it.
func fitLogLog(f, p []float64, hz float64, degree int) func(f float64) float64 {
	if degree == 0 {
		return func(float64) float64 { return 1 }
	}
	x, y := make([]float64, len(f)), make([]float64, len(f))
	for i := range f {
		x[i], y[i] = math.Log(f[i]/hz), math.Log(p[i])
	}
	curve := fitPolynomial(x, y, degree)
	return func(f float64) float64 { return math.Exp(curve(math.Log(f / hz))) }
}

// fitPolynomial is the polynomial through y over x by least squares; nothing where they
// are too few or too much alike to fix one.
func fitPolynomial(x, y []float64, degree int) func(x float64) float64 {
	powers, c := mat.NewDense(len(x), degree+1, nil), mat.NewVecDense(degree+1, nil)
	for i, x := range x {
		for k := range degree + 1 {
			powers.Set(i, k, math.Pow(x, float64(k)))
		}
	}
	if err := c.SolveVec(powers, mat.NewVecDense(len(y), y)); err != nil {
		c.Zero()
	}
	return func(x float64) (value float64) {
		for k := degree; k >= 0; k-- {
			value = value*x + c.AtVec(k)
		}
		return value
	}
}
