package judge

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"humdiff/fixtures/kit"
)

// What repeats say, against values made with SciPy (fixtures/scipy/values.py):
// Student's bounds far out, means, differences.
func TestStudentAgainstSciPy(t *testing.T) {
	text := kit.Must(os.ReadFile("../../fixtures/scipy/values.json"))(t)
	var v struct {
		Repeats struct {
			T     [][3]float64 // tail, ν, t
			Welch []struct {
				A, B      []float64
				Statistic float64    // of b − a
				Interval  [2]float64 // of a's mean
				Cautious  float64    // one-sided p with the smaller sample's degrees of freedom
			}
		}
	}
	kit.OK(t, json.Unmarshal(text, &v))
	within := func(what string, got, want, tol float64) {
		t.Helper()
		if !(math.Abs(got-want) <= tol) {
			t.Errorf("%s: got %.12g, want %.12g ± %.3g", what, got, want, tol)
		}
	}
	if len(v.Repeats.T) == 0 || len(v.Repeats.Welch) == 0 {
		t.Fatal("no values")
	}
	for _, q := range v.Repeats.T {
		tail, nu, want := q[0], q[1], q[2]
		within("a bound", student{0, 1, nu}.upper(tail)/want, 1, 1e-7)
		within("its tail", student{want, 1, nu}.above(0)/tail, 1, 1e-7)
	}
	for _, w := range v.Repeats.Welch {
		a, b := meanOf(w.A), meanOf(w.B)
		e := b.less(a)
		within("statistic", e.value/e.u, w.Statistic, 1e-9*math.Abs(w.Statistic))
		within("cautious p", e.above(0), w.Cautious, 1e-9)
		within("lower end", a.truth().lower(0.025), w.Interval[0], 1e-7)
		within("upper end", a.truth().upper(0.025), w.Interval[1], 1e-7)
	}
}
