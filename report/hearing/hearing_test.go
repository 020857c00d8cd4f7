package hearing

import (
	"math"
	"testing"
)

// The equal-loudness contour of 40 phon, ISO 226:2003, stands on the threshold:
// with the standard's α and L_U, its formula gives the published contour only if
// the thresholds are right. α, L_U and the contour are from concordant public
// copies of the standard's tables.
func TestThresholdCarriesTheContour(t *testing.T) {
	for _, c := range []struct{ hz, alpha, lu, contour float64 }{
		{50, 0.432, -15.9, 77.78}, {63, 0.409, -13.0, 73.08}, {100, 0.367, -8.1, 64.37},
		{125, 0.349, -6.2, 60.59}, {200, 0.315, -3.1, 53.41}, {1000, 0.250, 0.0, 40.01},
	} {
		const phon = 40
		a := 4.47e-3*(math.Pow(10, 0.025*phon)-1.15) + math.Pow(0.4*math.Pow(10, (Threshold(c.hz)+c.lu)/10-9), c.alpha)
		if got := 10/c.alpha*math.Log10(a) - c.lu + 94; math.Abs(got-c.contour) > 0.01 {
			t.Errorf("40 phon at %g Hz: %.2f dB, want %.2f", c.hz, got, c.contour)
		}
	}
}

// Mains lines between the standard's frequencies, computed with NumPy from the
// table by interpolation in log f.
func TestBetween(t *testing.T) {
	for _, c := range []struct{ hz, want float64 }{{60, 38.87}, {120, 22.90}, {150, 19.00}, {180, 16.05}, {20, 78.1}, {12500, 12.3}} {
		if got := Threshold(c.hz); math.Abs(got-c.want) > 0.006 {
			t.Errorf("threshold at %g Hz: %.3f dB, want %.2f", c.hz, got, c.want)
		}
	}
	for _, f := range []float64{0, 19.9, 12600, math.NaN(), -50} {
		if !math.IsNaN(Threshold(f)) {
			t.Errorf("threshold at %g Hz: %g, want none", f, Threshold(f))
		}
	}
}
