package delta

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"pgregory.net/rapid"

	"humdiff/fft/chisq"
	"humdiff/fft/mains"
	"humdiff/report/result"
)

func power(dB float64) float64 { return math.Pow(10, dB/10) }

func detected(dB, lo, hi float64) mains.Level {
	return mains.Level{Detected: true, Power: power(dB), Lo: power(lo), Hi: power(hi), Limit: math.NaN()}
}

func undetected(limit float64) mains.Level {
	return mains.Level{Power: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), Limit: power(limit)}
}

func near(a, b result.Num) bool {
	return a.Ok() == b.Ok() && (!a.Ok() || math.Abs(float64(a-b)) < 1e-9)
}

func TestLevels(t *testing.T) {
	none := result.None
	for _, c := range []struct {
		name        string
		quiet, near mains.Level
		want        result.Delta
	}{
		// lo = 20 - √(3² + 4²), hi = 20 + √(5² + 12²)
		{"both detected", detected(-120, -132, -116), detected(-100, -103, -95),
			result.Delta{State: result.Measured, DB: 20, LoDB: 15, HiDB: 33}},
		{"near below quiet", detected(-100, -100, -100), detected(-107, -107, -107),
			result.Delta{State: result.Measured, DB: -7, LoDB: -7, HiDB: -7}},
		{"near alone", undetected(-140), detected(-110, -112, -109),
			result.Delta{State: result.AtLeast, DB: none, LoDB: 28, HiDB: none}},
		{"quiet alone", detected(-110, -112, -109), undetected(-140),
			result.Delta{State: result.AtMost, DB: none, LoDB: none, HiDB: -28}},
		{"neither", undetected(-140), undetected(-140),
			result.Delta{State: result.NotMeasurable, DB: none, LoDB: none, HiDB: none}},
		{"no limit known", mains.Level{Limit: math.NaN()}, detected(-110, -112, -109),
			result.Delta{State: result.NotMeasurable, DB: none, LoDB: none, HiDB: none}},
		{"lower end is no power", detected(-120, -121, -119), detected(-100, math.Inf(-1), -99),
			result.Delta{State: result.Measured, DB: 20, LoDB: none, HiDB: 20 + result.Num(math.Sqrt2)}},
	} {
		got := Levels(c.quiet, c.near)
		if got.State != c.want.State || !near(got.DB, c.want.DB) || !near(got.LoDB, c.want.LoDB) || !near(got.HiDB, c.want.HiDB) {
			t.Errorf("%s: got %+v, want %+v", c.name, got, c.want)
		}
	}
}

func TestPickup(t *testing.T) {
	for _, c := range []struct {
		name        string
		quiet, near mains.Level
		lo, hi      float64
	}{
		{"near far above", detected(-120, -120, -120), detected(-100, -100, -100), 1e-5 - 1e-6, 1e-5 + 1e-6},
		{"near below quiet", detected(-100, -100, -100), detected(-120, -120, -120), 1e-5 - 1e-6, 1e-5 + 1e-6},
		{"intervals meet", detected(-100, -101, -98), detected(-99, -100, -97), 0, math.Sqrt(power(-98)) + math.Sqrt(power(-97))},
		{"quiet undetected", undetected(-120), detected(-100, -100, -100), 1e-5 - 1e-6, 1e-5 + 1e-6},
		{"neither", undetected(-120), undetected(-100), 0, 1e-5 + 1e-6},
	} {
		lo, hi := Pickup(c.quiet, c.near)
		if !(math.Abs(lo-c.lo) < 1e-15 && math.Abs(hi-c.hi) < 1e-15) {
			t.Errorf("%s: got %g to %g, want %g to %g", c.name, lo, hi, c.lo, c.hi)
		}
	}
	for _, limit := range []float64{math.NaN(), 0} {
		if lo, hi := Pickup(mains.Level{Limit: limit}, undetected(-100)); !math.IsNaN(lo) || !math.IsNaN(hi) {
			t.Errorf("limit %g: got %g to %g, want NaN", limit, lo, hi)
		}
	}
}

// level draws a level whose interval holds it.
func level(t *rapid.T, name string) mains.Level {
	dB := rapid.Float64Range(-160, 0).Draw(t, name+" dB")
	if rapid.Bool().Draw(t, name+" undetected") {
		return undetected(dB)
	}
	return detected(dB, dB-rapid.Float64Range(0, 10).Draw(t, name+" down"), dB+rapid.Float64Range(0, 6).Draw(t, name+" up"))
}

func TestSwappingTheSidesTurnsTheDelta(t *testing.T) {
	turned := map[string]string{result.AtLeast: result.AtMost, result.AtMost: result.AtLeast,
		result.Measured: result.Measured, result.NotMeasurable: result.NotMeasurable}
	rapid.Check(t, func(t *rapid.T) {
		a, b := level(t, "a"), level(t, "b")
		ab, ba := Levels(a, b), Levels(b, a)
		if ab.State != turned[ba.State] || !near(ab.DB, -ba.DB) || !near(ab.LoDB, -ba.HiDB) || !near(ab.HiDB, -ba.LoDB) {
			t.Fatalf("%+v turned is %+v", ab, ba)
		}
	})
}

func TestTheIntervalHoldsTheDelta(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Levels(level(t, "quiet"), level(t, "near"))
		if d.State == result.Measured && !(d.LoDB <= d.DB && d.DB <= d.HiDB) {
			t.Fatalf("%+v", d)
		}
	})
}

// More near moves every number of the delta up by as much.
func TestTheDeltaFollowsNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q, n := level(t, "quiet"), level(t, "near")
		more := rapid.Float64Range(0, 40).Draw(t, "more")
		g := power(more)
		up := mains.Level{Detected: n.Detected, Power: g * n.Power, Lo: g * n.Lo, Hi: g * n.Hi, Limit: g * n.Limit}
		a, b, m := Levels(q, n), Levels(q, up), result.Num(more)
		if a.State != b.State || !near(a.DB+m, b.DB) || !near(a.LoDB+m, b.LoDB) || !near(a.HiDB+m, b.HiDB) {
			t.Fatalf("%g dB more turn %+v into %+v", more, a, b)
		}
	})
}

// within draws an amplitude that a level's interval holds.
func within(t *rapid.T, name string, l mains.Level) float64 {
	a := amplitudes(l)
	return a.lo + (a.hi-a.lo)*rapid.Float64Range(0, 1).Draw(t, name)
}

func TestPickupHoldsThePhasorDifferenceForEveryPhase(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q, n := level(t, "quiet"), level(t, "near")
		phase := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "phase")
		trueQ, trueN := within(t, "true quiet", q), within(t, "true near", n)
		added := cmplx.Abs(cmplx.Rect(trueN, phase) - complex(trueQ, 0))
		lo, hi := Pickup(q, n)
		if slack := 1e-12 * hi; !(lo <= added+slack && added <= hi+slack) {
			t.Fatalf("pickup %g to %g leaves out %g", lo, hi, added)
		}
	})
}

// Totals: many lines, each with its phase, whose amplitudes' squares add up.
func TestPickupHoldsForTotals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		var q, n, added float64
		for range rapid.IntRange(1, 100).Draw(t, "lines") {
			a := cmplx.Rect(math.Exp(3*r.NormFloat64()), 2*math.Pi*r.Float64())
			b := cmplx.Rect(math.Exp(3*r.NormFloat64()), 2*math.Pi*r.Float64())
			q, n, added = q+sq(a), n+sq(b), added+sq(b-a)
		}
		exact := func(p float64) mains.Level { return mains.Level{Detected: true, Power: p, Lo: p, Hi: p} }
		lo, hi := Pickup(exact(q), exact(n))
		if got := math.Sqrt(added); !(lo <= got*(1+1e-12) && got <= hi*(1+1e-12)) {
			t.Fatalf("pickup %g to %g leaves out %g", lo, hi, got)
		}
	})
}

func sq(a complex128) float64 { return real(a)*real(a) + imag(a)*imag(a) }

// spans is how many spans the simulated captures below have: a minute.
const spans = 6

// invert is the line power, in units of the noise power, at which the spans'
// summed power (a steady line plus complex noise of power 1 in each) is at
// most sum with probability p.
func invert(sum, p float64) float64 {
	return chisq.Noncentrality(2*sum, 2*spans, p) / (2 * spans)
}

// meter turns summed powers into levels, by tables over their roots: the
// interval is Lo at probability 0.975 and Hi at 0.025.
type meter struct{ step, lo, hi []float64 }

func newMeter(most float64) meter {
	var m meter
	for root := 0.0; root <= most; root += most / 60 {
		m.step = append(m.step, root)
		m.lo = append(m.lo, math.Sqrt(invert(root*root, 0.975)))
		m.hi = append(m.hi, math.Sqrt(invert(root*root, 0.025)))
	}
	return m
}

func (m meter) level(r *rand.Rand, rho float64) mains.Level {
	sum := 0.0
	for range spans {
		sum += sq(complex(math.Sqrt(rho)+r.NormFloat64()*math.Sqrt(0.5), r.NormFloat64()*math.Sqrt(0.5)))
	}
	at := math.Sqrt(sum) / m.step[1]
	i := int(at)
	read := func(table []float64) float64 {
		root := table[i] + (at-float64(i))*(table[i+1]-table[i])
		return root * root
	}
	// The family's threshold for a hundred lines at half a per cent.
	if mathext.GammaIncRegComp(spans, sum) > 0.005/100 {
		return mains.Level{Power: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), Limit: read(m.hi)}
	}
	return mains.Level{Detected: true, Power: sum/spans - 1, Lo: read(m.lo), Hi: read(m.hi), Limit: math.NaN()}
}

// holds says whether a delta tells no untruth about the true one.
func holds(d result.Delta, truth float64) bool {
	return (!d.LoDB.Ok() || float64(d.LoDB) <= truth) && (!d.HiDB.Ok() || truth <= float64(d.HiDB))
}

// Captures of steady lines in noise, from where quiet is rarely detected to
// where both always are. The interval is to hold the truth in 95 % of trials
// where both are detected, and every statement in at least 95 %; 20 000 trials
// leave a standard deviation of 0.15 %.
func TestCoverage(t *testing.T) {
	const trials = 20000
	m := newMeter(45)
	r := rand.New(rand.NewPCG(20, 8))
	for _, c := range []struct{ quiet, near float64 }{
		{-10, 6}, {-10, 12}, {0, 12}, {3, 12}, {6, 9}, {9, 12}, {12, 12}, {12, 15}, {15, 9},
	} {
		var measured, right, all, pickup int
		truth := c.near - c.quiet
		q, n := math.Sqrt(power(c.quiet)), math.Sqrt(power(c.near))
		for range trials {
			quiet, near := m.level(r, q*q), m.level(r, n*n)
			d := Levels(quiet, near)
			if holds(d, truth) {
				all++
			}
			if d.State == result.Measured {
				measured++
				if holds(d, truth) {
					right++
				}
			}
			// The phases closest to the range's ends: in phase and opposed.
			if lo, hi := Pickup(quiet, near); lo <= math.Abs(n-q) && n+q <= hi {
				pickup++
			}
		}
		share := float64(right) / float64(max(measured, 1))
		t.Logf("quiet %3g, near %3g dB re span noise: both detected %5d, of these right %.4f; all statements right %.4f; pickup %.4f",
			c.quiet, c.near, measured, share, float64(all)/trials, float64(pickup)/trials)
		if measured == trials && !(share > 0.943 && share < 0.957) {
			t.Errorf("quiet %g, near %g dB: intervals right in %.4f, want 0.95", c.quiet, c.near, share)
		}
		if !(float64(all)/trials > 0.943) {
			t.Errorf("quiet %g, near %g dB: statements right in %.4f, want at least 0.95", c.quiet, c.near, float64(all)/trials)
		}
		if !(float64(pickup)/trials > 0.943) {
			t.Errorf("quiet %g, near %g dB: pickups right in %.4f, want at least 0.95", c.quiet, c.near, float64(pickup)/trials)
		}
	}
}
