package measure

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"humdiff/fft"
	"humdiff/fft/mains"
	"humdiff/fixtures/kit"
	"humdiff/report/weighting"
)

// measured is a measurement whose spectrum is the given density at 48 kHz, in
// bins of 48000/n Hz.
func measured(n int, rate float64, density func(hz float64) float64) mains.Measurement {
	s := fft.Spectrum{Rate: rate, N: n, ENBW: 2.02, Averages: 100, Density: make([]float64, n/2+1)}
	for j := range s.Density {
		s.Density[j] = density(float64(j) * s.BinHz())
	}
	return mains.Measurement{Rate: rate, Spectrum: s}
}

// total is over the widest band.
func total(m mains.Measurement) noiseTotals { return noiseIn(m.Spectrum, m.Occupied, highHz) }

func white(density float64) func(float64) float64 {
	return func(float64) float64 { return density }
}

// closeDB fails unless got is want to within dB decibels.
func closeDB(t *testing.T, what string, got, want, dB float64) {
	t.Helper()
	kit.Near(t, fmt.Sprintf("%s, %g beside %g, dB", what, got, want), 10*math.Log10(got/want), 0, dB)
}

// integrated is the integral of density times weight from lo to hi by
// gonum's Gauss-Legendre rule, octave by octave.
func integrated(density, weight func(float64) float64, lo, hi float64) float64 {
	sum := 0.0
	for a := lo; a < hi; a *= 2 {
		sum += quad.Fixed(func(hz float64) float64 { return density(hz) * weight(hz) },
			a, math.Min(2*a, hi), 64, quad.Legendre{}, 0)
	}
	return sum
}

func TestWhiteNoiseIsDensityTimesBand(t *testing.T) {
	// 20 Hz and 20 kHz fall within bins at each of these widths.
	for _, n := range []int{1 << 11, 1 << 14, 1 << 16} {
		got := total(measured(n, 48000, white(3e-15)))
		closeDB(t, "flat", got.flat, 3e-15*(20000-20), 1e-9)
		if got.lo != 20 || got.hi != 20000 || got.filled != 0 {
			t.Errorf("n = %d: band %g to %g Hz, %g filled; want 20 to 20000 and 0", n, got.lo, got.hi, got.filled)
		}
	}
}

func TestBandEndsBelowHalfTheRate(t *testing.T) {
	got := total(measured(1<<15, 32000, white(1e-15)))
	kit.Same(t, got.hi, 0.49*32000, "where the band ends at 32 kHz")
	closeDB(t, "flat", got.flat, 1e-15*(15680-20), 1e-9)
	common := noiseIn(measured(1<<15, 48000, white(1e-15)).Spectrum, nil, noiseTop(32000))
	closeDB(t, "flat over the common band", common.flat, got.flat, 1e-9)
}

// withLines adds strong lines to a measurement, each with its occupied band.
func withLines(m mains.Measurement, power float64, hz ...float64) mains.Measurement {
	for _, f := range hz {
		m.Occupied = append(m.Occupied, mains.Band{Lo: f - 4, Hi: f + 4})
		for j := range m.Spectrum.Density {
			if math.Abs(float64(j)*m.Spectrum.BinHz()-f) <= 4 {
				m.Spectrum.Density[j] += power
			}
		}
	}
	return m
}

func TestLinesInOccupiedBandsChangeNothing(t *testing.T) {
	plain := measured(1<<16, 48000, white(1e-15))
	want := total(plain)
	// The first line stands on the band's lower end, two lie so close that
	// the bins between them say nothing, one stands on the upper end.
	got := total(withLines(measured(1<<16, 48000, white(1e-15)), 1e-6, 20, 50, 100, 150, 159.5, 1000, 20000))
	closeDB(t, "flat", got.flat, want.flat, 1e-9)
	closeDB(t, "A", got.a, want.a, 1e-9)
	if !(got.filled > 0.001 && got.filled < 0.01) {
		t.Errorf("filled share %g, want about 0.0026", got.filled)
	}
}

// A floor of flicker and white noise with a low-cut below 30 Hz: where a line
// stands on the slope, the interpolation has to follow it.
func slope(hz float64) float64 {
	if hz == 0 {
		return 0
	}
	return 1e-15 * (1 + 100/hz) * (hz * hz / (hz*hz + 900))
}

func TestWeightedTotalsAgainstQuadrature(t *testing.T) {
	one := func(float64) float64 { return 1 }
	got := total(measured(1<<16, 48000, slope))
	closeDB(t, "flat", got.flat, integrated(slope, one, 20, 20000), 1e-4)
	closeDB(t, "A", got.a, integrated(slope, weighting.APower, 20, 20000), 1e-4)
}

func TestInterpolationFollowsTheSlope(t *testing.T) {
	one := func(float64) float64 { return 1 }
	got := total(withLines(measured(1<<16, 48000, slope), 1e-6, 50, 100, 150, 200, 250, 300))
	closeDB(t, "flat", got.flat, integrated(slope, one, 20, 20000), 1e-3)
	// The band below 350 Hz alone, where a third is filled in.
	m := withLines(measured(1<<16, 48000, slope), 1e-6, 50, 100, 150, 200, 250, 300)
	floor, ok := floorOf(m.Spectrum, m.Occupied)
	if !ok {
		t.Fatal("no free bin")
	}
	for j, density := range floor.density {
		if hz := float64(j) * floor.binHz; floor.occupied[j] && hz > 20 && hz < 23000 {
			closeDB(t, "filled bin", density, slope(hz), 0.05)
		}
	}
}

// iecA is the A-weighting as IEC 61672-1, annex E, prints it with rounded
// poles and gain: a second form beside the one under test.
func iecA(hz float64) float64 {
	f := hz * hz
	r := 12194 * 12194 * f * f / ((f + 20.60*20.60) * math.Sqrt((f+107.7*107.7)*(f+737.9*737.9)) * (f + 12194*12194))
	return r * r * math.Pow(10, 0.2)
}

// White noise from 20 Hz to 20 kHz reads 2.048 dB less A-weighted than flat,
// computed apart from this program, by Simpson's rule with 200 000 intervals in
// Python, from the printed A form above.
func TestWeightedWhiteNoise(t *testing.T) {
	got := total(measured(1<<16, 48000, white(1e-15)))
	closeDB(t, "A", got.a, integrated(white(1e-15), iecA, 20, 20000), 0.002)
	closeDB(t, "A re flat", got.a/got.flat, math.Pow(10, -0.20480), 0.002)
}

func TestWideBinsStayExactForWeightedWhiteNoise(t *testing.T) {
	// A tenth of a second at 48 kHz: bins of 11.7 Hz, twelve in the first octave
	// and a half, where the A-weighting rises by 20 dB.
	got := total(measured(1<<12, 48000, white(1e-15)))
	closeDB(t, "A", got.a, integrated(white(1e-15), weighting.APower, 20, 20000), 1e-4)
}

func TestNothingFreeGivesNoNumber(t *testing.T) {
	m := measured(1<<12, 48000, white(1e-15))
	m.Occupied = []mains.Band{{Lo: 0, Hi: 24000}}
	for what, got := range map[string]noiseTotals{
		"all occupied":  total(m),
		"no spectrum":   total(mains.Measurement{}),
		"rate below 40": total(measured(1<<6, 40, white(1))),
		"NaN in a bin":  total(measured(1<<12, 48000, white(math.NaN()))),
	} {
		if !math.IsNaN(got.flat) || !math.IsNaN(got.a) {
			t.Errorf("%s: totals %+v, want NaN", what, got)
		}
	}
}

func TestSilenceIsZero(t *testing.T) {
	m := withLines(measured(1<<14, 48000, white(0)), 1e-6, 50)
	if got := total(m); got.flat != 0 || got.a != 0 {
		t.Errorf("digital silence beside a line: totals %+v, want 0", got)
	}
}

// Wherever lines stand, over a floor that is a power of frequency the totals
// are those of the floor.
func TestTotalsDontDependOnWhereLinesStand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		exponent := rapid.Float64Range(-1, 1).Draw(t, "exponent")
		floor := func(hz float64) float64 { return 1e-15 * math.Pow(math.Max(hz, 1)/1000, exponent) }
		lines := rapid.SliceOfN(rapid.Float64Range(45, 23000), 1, 40).Draw(t, "lines")
		want := total(measured(1<<15, 48000, floor))
		got := total(withLines(measured(1<<15, 48000, floor), 1e-3, lines...))
		if off := 10 * math.Log10(got.flat/want.flat); !(math.Abs(off) < 0.01) {
			t.Fatalf("flat is off by %g dB", off)
		}
		if off := 10 * math.Log10(got.a/want.a); !(math.Abs(off) < 0.01) {
			t.Fatalf("A is off by %g dB", off)
		}
	})
}
