package mains

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"humdiff/fixtures/kit"
)

// Median over many bins of an average of K spectra, over their mean:
// median(χ² of 2K)/2K, SciPy 1.10. It is ln 2 at K = 1 and rises to 1. (The
// median over n segments at one bin, which falls from 1 to ln 2, is another
// thing and isn't used here.)
func TestMedianBias(t *testing.T) {
	for k, want := range map[float64]struct{ ratio, db float64 }{
		1: {0.693147180560, -1.5917}, 2: {0.839173495008, -0.7615}, 3: {0.891353437908, -0.4995},
		4: {0.918015187213, -0.3715}, 5: {0.934181776559, -0.2957}, 8: {0.958656180313, -0.1834},
		10: {0.966871461471, -0.1463}, 16: {0.979245596520, -0.0911}, 20: {0.983383621165, -0.0728},
		50: {0.993341292360, -0.0290}, 100: {0.996668649193, -0.0145},
	} {
		got := medianBias(k)
		kit.Near(t, fmt.Sprintf("median over mean of %g", k), got, want.ratio, 0.51e-12)
		kit.Near(t, fmt.Sprintf("median over mean of %g, dB", k), 10*math.Log10(got), want.db, 0.51e-4)
	}
	kit.Near(t, "of one, closed form", medianBias(1), math.Ln2, 1e-15)
}

// gammaSurprise is −ln of the probability that a mean of K exponential powers
// reaches r: for one power it is r itself, for K SciPy's chi2.isf(p, 2K)/2K has
// the surprise −ln p.
func TestGammaSurprise(t *testing.T) {
	for _, r := range []float64{2.995732273554, 4.605170185988, 6.907755278982, 9.210340371976, 13.815510557964, 100, 600} {
		kit.Near(t, fmt.Sprintf("of one power at %g", r), gammaSurprise(1, r), r, 1e-12*r)
	}
	for k, want := range map[float64][2]float64{
		1: {6.9077552790, 13.8155105580}, 2: {4.6167067382, 8.3442103954}, 4: {3.2655601948, 5.3376142408},
		10: {2.2657373309, 3.2710340518}, 50: {1.4944925278, 1.8212677712}, 100: {1.3377026391, 1.5491904600},
	} {
		for i, p := range []float64{1e-3, 1e-6} {
			// Thresholds have ten decimals; the surprise changes by up to K times as much.
			kit.Near(t, fmt.Sprintf("of %g powers at %g", k, want[i]), gammaSurprise(k, want[i]), -math.Log(p), 0.51e-10*k+1e-12)
		}
	}
}

// The table says what the function says.
func TestSurpriseTable(t *testing.T) {
	for _, shape := range []float64{0.8, 1, 3.7, 20, 85, 400} {
		table := newSurpriseTable(shape)
		for r := 0.0; r < 6; r += 0.0173 {
			want := gammaSurprise(shape, r)
			// A ten thousandth of what the least line has to stand out by.
			kit.Near(t, fmt.Sprintf("shape %g, %g times the mean", shape, r), table.at(r), want, 1e-4*max(1, want))
		}
	}
}

// A line against a noise estimate from n reference bins: power over noise
// follows F(2, 2n), with a closed form for the threshold, n(p^(−1/n) − 1).
func TestFalseAlarmOverEstimatedNoise(t *testing.T) {
	const p = 1e-3
	for n, want := range map[float64]float64{10: 9.9526231497, 20: 8.2507508925, 50: 7.4076810748} {
		kit.Near(t, fmt.Sprintf("threshold over %g bins, closed form", n), n*(math.Pow(p, -1/n)-1), want, 0.51e-10)
		r := reading{mean: want, noise: 1, central: 1, coherent: 1, floorDOF: 2 * n, looks: 1}
		kit.Near(t, fmt.Sprintf("false alarms over %g bins", n), r.falseAlarm(), p, 1e-12)
	}
}

// The largest of m independent noise powers of known mean exceeds these
// thresholds with a probability of 1 %: −ln(1 − 0.99^(1/m)), SciPy 1.10. Over m
// looks Bonferroni's −ln(0.01/m) is a little more.
func TestFalseAlarmOfManyLooks(t *testing.T) {
	for m, want := range map[float64]struct{ exact, bonferroni float64 }{
		10: {6.9032367945, 6.9077552790}, 100: {9.2053696640, 9.2103403720}, 1000: {11.5079095309, 11.5129254650},
	} {
		// With 1e6 degrees of freedom the noise is as good as known: F exceeds the
		// exponential by x²/1e6 of itself, at most 1.4e-4.
		r := reading{mean: want.exact, noise: 1, central: 1, coherent: 1, floorDOF: 1e6, looks: m}
		kit.Near(t, fmt.Sprintf("%g looks", m), r.falseAlarm(), 0.01, 1.4e-6)
		r.mean, r.looks = want.bonferroni, 1
		kit.Near(t, fmt.Sprintf("one look at Bonferroni's threshold of %g", m), r.falseAlarm()*m, 0.01, 1.4e-6)
	}
}

// Noise of median luck: the median of one power is ln 2 of its mean, of K
// averages medianBias(K), of the largest of m single powers −ln(1 − 2^(−1/m)).
func TestTypicalReading(t *testing.T) {
	for _, k := range []float64{1, 2, 5, 20, 100} {
		r := reading{noise: 3, central: k, looks: 1}
		kit.Near(t, fmt.Sprintf("median of %g", k), r.typical(), 3*medianBias(k), 1e-9)
	}
	for _, m := range []float64{1, 10, 1000} {
		r := reading{noise: 1, central: 1, looks: m}
		kit.Near(t, fmt.Sprintf("median of the largest of %g", m), r.typical(), -math.Log(1-math.Pow(2, -1/m)), 1e-9)
	}
}

// Classical intervals of one reading: the line's power below which 2.5 %, and
// above which 2.5 %, of captures read so. SciPy 1.10: ncx2.cdf(2u, 2, 2λ) at
// 0.025 and 0.975, solved for λ by brentq.
func TestReadingIntervals(t *testing.T) {
	for _, c := range []struct{ u, lower, upper float64 }{
		{0.5, 0, 3.474559306},
		{1, 0, 4.904035314},
		{3, 0, 9.047259533},
		{6, 0.8022205655, 14.08318992},
		{10, 2.781312214, 20.08560972},
		{30, 16.30686131, 46.54268417},
		{100, 73.73859752, 129.1052464},
		{1000, 913.7795536, 1089.062142},
	} {
		r := reading{mean: c.u, noise: 1, central: 1, coherent: 1, floorDOF: math.Inf(1), looks: 1}
		kit.Near(t, fmt.Sprintf("lower end from %g", c.u), r.lower(), c.lower, 1e-8*(1+c.lower))
		kit.Near(t, fmt.Sprintf("upper end from %g", c.u), r.upper(r.mean), c.upper, 1e-8*(1+c.upper))
	}
}

// The same with one power over 2n and for tones, of which a spectrum has as
// many chances as bins: the threshold is where F says it is, down to
// probabilities at which the library's own quantile at 1 − p returns 1e8.
func TestRarelyExceeded(t *testing.T) {
	for n, want := range map[float64]float64{10: 9.9526231497, 20: 8.2507508925, 50: 7.4076810748} {
		kit.Near(t, fmt.Sprintf("over %g bins", n), rarelyExceeded(2, 2*n, 1e-3), want, 0.51e-10)
	}
	for _, n := range []float64{10, 29, 50, 500} {
		// A million bins at 0.5 % ask for 5e-9; there the library solves to 1e-6.
		for p, tol := range map[float64]float64{1e-3: 1e-9, 1e-7: 1e-9, 5e-9: 1e-5} {
			want := n * (math.Pow(p, -1/n) - 1)
			kit.Near(t, fmt.Sprintf("over %g bins at %g", n, p), rarelyExceeded(2, 2*n, p), want, tol*want)
		}
	}
	for _, averages := range []float64{1, 1.7, 5, 29, 300, 5000} {
		for _, p := range []float64{1e-3, 1e-6, 4e-8} {
			got := rarelyExceeded(2*averages, 58*averages, p)
			// The survival is 1 − CDF: 1e-15 of 4e-8 is 3e-8.
			kit.Near(t, fmt.Sprintf("%g averages at %g", averages, p), distuv.F{D1: 2 * averages, D2: 58 * averages}.Survival(got)/p, 1, 1e-6)
		}
	}
}
