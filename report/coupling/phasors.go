package coupling

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"humdiff/fft/chisq"
	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// Where a reference tells each pickup's phase, what each way adds is linear in what was
// measured: unknown phasors, one for each way, the lead's plug either way round, the
// far device's ties to earth. They are solved for by least squares, and a set of ways
// is known where the runs leave it no freedom.

const (
	within95 = 1.959964 // half a 95 % interval, in standard deviations
	tail     = 0.025
	freely   = 1e-6 // share of a sum that runs may leave undetermined by rounding
	torn     = 1e-3 // chance of noise alone contradicting itself so
)

// unknownOf is one of the phasors sought.
type unknownOf struct {
	way  set
	what string // that it belongs to
}

// phasor is a run's pickup and the standard deviation of either of its components; the
// bench's tolerances count as noise, since they keep runs from being set off. A pickup
// that was not found lies around zero.
func (r Run) phasor() (p complex128, sd float64, ok bool) {
	phase, _, ok := r.Pickup.Phase()
	v, lo, hi := r.Pickup.Numbers()
	if !ok {
		return 0, hi / within95, r.Pickup.State() == estimate.AtMost
	}
	noise := math.Hypot((hi-lo)/2, v*(r.Bench.tolerance()+r.Bench.shareTolerance()))
	return cmplx.Rect(v, phase), noise / within95, true
}

// strengths is how strongly each of the phasors sought acts in a run. The lead's current
// turns round with the plug, so the magnetic field does; its voltage reaches the cable
// from the other conductor then, which is another coupling.
func (r Run) strengths() map[unknownOf]complex128 {
	plug, share := string(rune('0'+r.Plug)), r.Bench.share()
	if r.Bench.FarEndOpen {
		return map[unknownOf]complex128{{electric, plug + "open"}: r.Bench.z()}
	}
	s := map[unknownOf]complex128{{electric, plug}: r.Bench.z(), {shield, plug}: share}
	way := map[int]complex128{0: 1, 1: 1, 2: -1}[r.Plug]
	switch load, stated := r.load(), map[bool]string{true: "stated"}[r.Plug > 0]; {
	case load > 0 && r.amps().known():
		s[unknownOf{magnetic, stated}] = way * share * complex(load, 0)
	case load != 0:
		s[unknownOf{magnetic, stated + "vague" + r.Loaded}] = way * share
	}
	if r.Bonded != model.No {
		s[unknownOf{loop, r.Bonded}] = share
	}
	return s
}

// linear is the phasors' equations, in real numbers: a row for each run's real part and
// one for its imaginary part, over their standard deviations, and two columns for each
// unknown. Columns are scaled alike, so that what the runs determine isn't told by units.
type linear struct {
	columns map[unknownOf]int
	scale   []float64
	a, b    *mat.Dense
	inverse mat.Dense // the pseudo-inverse of a
	found   []bool    // of each run: a pickup, not a limit
	wider   float64   // by how much runs scatter more than their standard deviations say; at least 1
	torn    bool      // they contradict each other
}

// linearOf are the equations of runs of one bench; not ok where the phases aren't known.
func linearOf(runs []Run) (l linear, ok bool) {
	l.columns = map[unknownOf]int{}
	for _, r := range runs {
		_, sd, known := r.phasor()
		if !known || !(sd > 0) || !r.Bench.closed() {
			return l, false
		}
		l.found = append(l.found, r.Pickup.Measured())
		for u := range r.strengths() {
			if _, has := l.columns[u]; !has {
				l.columns[u] = len(l.columns)
			}
		}
	}
	if !slices.Contains(l.found, true) {
		return l, false
	}
	l.fill(runs)
	return l, l.invert()
}

func (l *linear) fill(runs []Run) {
	l.scale = make([]float64, 2*len(l.columns))
	for j := range l.scale {
		l.scale[j] = 1
	}
	l.a, l.b = mat.NewDense(2*len(runs), len(l.scale), nil), mat.NewDense(2*len(runs), 1, nil)
	for i, r := range runs {
		p, sd, _ := r.phasor()
		l.b.Set(2*i, 0, real(p)/sd)
		l.b.Set(2*i+1, 0, imag(p)/sd)
		rows := l.rows(r, all)
		rows.Scale(1/sd, rows)
		l.a.Slice(2*i, 2*i+2, 0, len(l.scale)).(*mat.Dense).Copy(rows)
	}
	for j := range l.scale {
		if size := mat.Norm(l.a.ColView(j), 2); size > 0 {
			l.scale[j] = 1 / size
		}
	}
	l.a.Apply(func(_, j int, v float64) float64 { return v * l.scale[j] }, l.a)
}

// rows are the real and the imaginary part of what comes by a set of ways in a run, as
// sums over the columns.
func (l *linear) rows(r Run, ways set) *mat.Dense {
	rows := mat.NewDense(2, len(l.scale), nil)
	for u, c := range r.strengths() {
		if j, is := l.columns[u]; is && u.way&ways != 0 {
			for k, v := range []float64{real(c), -imag(c), imag(c), real(c)} {
				rows.Set(k/2, 2*j+k%2, v*l.scale[2*j+k%2])
			}
		}
	}
	return rows
}

// invert finds the pseudo-inverse; not ok where there is none.
func (l *linear) invert() (ok bool) {
	var svd mat.SVD
	rows, _ := l.a.Dims()
	if size := mat.Norm(l.a, 2) + mat.Norm(l.b, 2); !(size > 0 && size < math.MaxFloat64) || !svd.Factorize(l.a, mat.SVDThin) {
		return false
	}
	rank := svd.Rank(1e-9)
	if rank == 0 {
		return false
	}
	one := mat.NewDiagDense(rows, nil)
	for i := range rows {
		one.SetDiag(i, 1)
	}
	svd.SolveTo(&l.inverse, one, rank)
	l.check()
	return true
}

// check holds what the runs determine more than once against itself. Where it scatters more
// than it should, by the ratio of Birge (Physical Review 40, 1932; from memory) all is as much wider:
// what one run's interval misses by, others of the bench may miss by. Limits, whose values
// aren't known, tell nothing of it.
func (l *linear) check() {
	var hat, left mat.Dense
	hat.Mul(l.a, &l.inverse)
	left.Mul(&hat, l.b)
	left.Sub(l.b, &left)
	misfit, free := 0.0, 0.0
	for i, found := range l.found {
		for row := 2 * i; found && row < 2*i+2; row++ {
			misfit, free = misfit+math.Pow(left.At(row, 0), 2), free+1-hat.At(row, row)
		}
	}
	l.wider = 1
	if free > freely {
		l.wider = math.Max(1, math.Sqrt(misfit/free))
		l.torn = distuv.ChiSquared{K: free}.Survival(misfit) < torn
	}
}

// volts is the magnitude of what comes by a set of ways in a run; not ok where the runs
// leave it undetermined.
func (l *linear) volts(r Run, ways set) (s span, ok bool) {
	want := l.rows(r, ways)
	size := mat.Norm(want, 2)
	if size == 0 {
		return span{}, true
	}
	var weights, got, value mat.Dense
	weights.Mul(want, &l.inverse)
	got.Mul(&weights, l.a)
	got.Sub(&got, want)
	if mat.Norm(&got, 2) > freely*size {
		return s, false
	}
	value.Mul(&weights, l.b)
	s = rice(math.Hypot(value.At(0, 0), value.At(1, 0)), l.wider*mat.Norm(weights.RowView(0), 2))
	return s, s.known()
}

// rice is the 95 % interval of the magnitude of a phasor, each of whose components has
// a standard deviation: its square over the variance is noncentral chi-square (Rice's
// distribution), here inverted. Its upper end is never below what noise alone would give
// with median luck (power-constrained: Cowan et al. 2011).
func rice(magnitude, sd float64) span {
	x, median := math.Pow(magnitude/sd, 2), 2*math.Ln2
	if !(x < 1e6) { // as good as Gaussian, by a millionth
		return span{magnitude - within95*sd, magnitude + within95*sd}
	}
	at := func(x, p float64) float64 {
		return sd * math.Sqrt(chisq.Root(func(l float64) float64 { return chisq.CDF(x, 2, l) - p }, x+1))
	}
	return span{at(x, 1-tail), at(math.Max(x, median), tail)}
}

// phased is what runs with known phases say of each, by their places: of each bench by
// itself. What the runs leave undetermined is bounded by the rest.
func phased(runs []Run) map[int]sums {
	out := map[int]sums{}
	for i := range runs {
		var with []Run
		for _, r := range runs {
			turned := r
			turned.Plug = runs[i].Plug
			if comparable(runs[i], turned) {
				with = append(with, r)
			}
		}
		if l, ok := linearOf(with); ok {
			out[i] = l.sums(runs[i])
		}
	}
	return out
}

// sums are those of one run.
func (l *linear) sums(r Run) sums {
	s := begin(r)
	for m := electric; l.torn && m < all; m++ {
		if s[m] == anything {
			s[m] = nothing
		}
	}
	if l.torn {
		return s
	}
	fixed := map[set]span{}
	for m := electric; m <= all; m++ {
		if v, ok := l.volts(r, m); ok {
			s[m], fixed[m] = v, v
		}
	}
	s.tighten()
	for m, v := range fixed {
		s[m] = v
	}
	return s
}
