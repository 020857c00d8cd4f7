package transfer

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// A ratio that changes slowly differs from one capture to another by more than its spans do
// within one, a fast one by less. Its change is taken for the simplest that comes back to its
// mean, of one time constant (Uhlenbeck and Ornstein 1930), each of these being as likely
// beforehand, and the spans say how likely afterwards.
var constants = []float64{1, 2.5, 5, 10, 20, 40, 80, 160} // seconds

const (
	wellSeen  = 4  // scatter's power over noise's, from where on a line shows how it changes
	mostSpans = 60 // that are looked at: they outlast the constants
)

// course is such a change over a number of spans, its variance being 1.
type course struct {
	precision mat.Cholesky
	ones      mat.VecDense // the precision times ones
	logDet    float64
	share     float64 // variance of the spans' mean over what spans scatter by
}

// courseOf has averages over each of n spans, which last x time constants: their covariance
// k spans apart is e^(−kx) integrated over both.
func courseOf(n int, x float64) (c course) {
	covariance := func(k int) float64 {
		if k == 0 {
			return 2 * (x - 1 + math.Exp(-x)) / (x * x)
		}
		return math.Exp(-float64(k-1)*x) * math.Pow((1-math.Exp(-x))/x, 2)
	}
	mean := covariance(0) / float64(n)
	for k := 1; k < n; k++ {
		mean += 2 * float64(n-k) * covariance(k) / float64(n*n)
	}
	c.share = mean * float64(n-1) / (float64(n) * (covariance(0) - mean))
	n = min(n, mostSpans)
	all, ones := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		ones.SetVec(i, 1)
		for j := i; j < n; j++ {
			all.SetSym(i, j, covariance(j-i))
		}
	}
	if c.precision.Factorize(all) {
		_ = c.precision.SolveVecTo(&c.ones, ones)
	}
	c.logDet = c.precision.LogDet() + math.Log(mat.Sum(&c.ones))
	return c
}

// logLikelihood is that of spans whose mean and variance are not known.
func (c *course) logLikelihood(spans []complex128) float64 {
	n, squares := min(len(spans), mostSpans), 0.0
	for _, part := range []func(complex128) float64{func(z complex128) float64 { return real(z) }, func(z complex128) float64 { return imag(z) }} {
		y := mat.NewVecDense(n, nil)
		for i := range n {
			y.SetVec(i, part(spans[i]))
		}
		var weighted mat.VecDense
		_ = c.precision.SolveVecTo(&weighted, y)
		along := mat.Dot(y, &c.ones)
		squares += mat.Dot(y, &weighted) - along*along/mat.Sum(&c.ones)
	}
	return -c.logDet - float64(n-1)*math.Log(squares)
}

// abroad is by how much another capture's ratio may be off from this one's, rms, over how
// spans scatter. Lines may all change alike, so they count as one.
func abroad(all []*Ratio) float64 {
	logs, shares, lines := make([]float64, len(constants)), make([]float64, len(constants)), 0.0
	var courses []course
	for _, r := range all {
		if r.Steady || r.Spans < LeastSpans || r.Scatter*r.Scatter < wellSeen*r.noise {
			continue
		}
		s, spans := r.line.Seconds, make([]complex128, r.Spans)
		for i, x := range r.line.Reference {
			spans[i] = r.line.Cable[i]/x - r.Value
		}
		for i, τ := range constants {
			if lines == 0 {
				courses = append(courses, courseOf(r.Spans, (s[r.Spans-1]-s[0])/float64(r.Spans-1)/τ))
			}
			logs[i], shares[i] = logs[i]+courses[i].logLikelihood(spans), math.Log(courses[i].share)
		}
		lines++
	}
	if lines == 0 {
		return 1
	}
	for i := range logs {
		logs[i] /= lines
	}
	top := slices.Max(logs)
	for i := range logs {
		logs[i] = math.Exp(logs[i] - top)
	}
	return math.Exp(stat.Mean(shares, logs) / 2)
}
