package fft

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"humdiff/fixtures/kit"
)

// chain is a decimator as a capture of some rate would use it.
type chain struct {
	rate, edge float64
	halvings   int
}

func (c chain) String() string { return fmt.Sprintf("%g Hz, clean to %g Hz", c.rate, c.edge) }

func (c chain) new() *Decimator  { return NewDecimator(c.rate, c.edge, c.halvings) }
func (c chain) lowRate() float64 { return c.rate / math.Exp2(float64(c.halvings)) }

// chains of the rates recorders have, for lines up to 0.9, 5 and 20 kHz.
func chains() (all []chain) {
	for _, rate := range []float64{44100, 48000, 88200, 96000, 176400, 192000} {
		for _, edge := range []float64{958, 5140, 20440} {
			if n := Halvings(rate, edge); n > 0 {
				all = append(all, chain{rate, edge, n})
			}
		}
	}
	return all
}

// gain is a stage's response at f cycles per input sample: real, as its taps
// are symmetric about the centre.
func (h *halfBand) gain(f float64) float64 {
	g := 0.5
	for i, tap := range h.taps {
		g += 2 * tap * math.Cos(2*math.Pi*f*float64(2*i+1))
	}
	return g
}

// Responses from the taps, for every edge that Halvings allows: whatever folds
// onto 0 … edge is down by 150 dB, and what δ lets through of it ripples there
// by as much, 20 lg(1 + 10^(−150/20)) = 2.75e-7 dB.
func TestHalfBandResponse(t *testing.T) {
	const steps = 500
	for edge := 0.002; edge < 1/4.4; edge += 0.0021 {
		stage := newHalfBand(edge)
		ripple, alias := 0.0, math.Inf(-1)
		for k := range steps + 1 {
			f := edge * float64(k) / steps
			ripple = max(ripple, math.Abs(db(stage.gain(f))))
			alias = max(alias, db(stage.gain(0.5-f)))
		}
		if ripple > 2.8e-7 || alias > -150 {
			t.Errorf("edge %.4f: ripple %.2g dB, aliases at %.1f dB", edge, ripple, alias)
		}
		kit.Near(t, fmt.Sprintf("edge %.4f: at 0 Hz", edge), stage.gain(0), 1, 1e-14)
	}
}

// fit is the complex amplitude of e^{iωm} in y by least squares against it and
// its conjugate.
func fit(y []float64, omega float64) complex128 {
	var e, cross complex128
	for m, v := range y {
		w := cmplx.Rect(1, -omega*float64(m))
		e += complex(v, 0) * w
		cross += w * w
	}
	n := complex(float64(len(y)), 0)
	// y = a·z + ā·z̄: ⟨y,z⟩ = n·a + ā·Σz̄².
	det := real(n)*real(n) - real(cross)*real(cross) - imag(cross)*imag(cross)
	return (n*e - cross*cmplx.Conj(e)) / complex(det, 0)
}

// tone is cos(2πft + φ) sampled at a rate.
func tone(hz, rate, phase float64, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = math.Cos(2*math.Pi*math.Mod(hz*float64(i)/rate, 1) + phase)
	}
	return x
}

// delay is the input sample on which the first output stands: the reaches of
// all stages, in input samples.
func (d *Decimator) delay() int {
	sum := 0
	for i, s := range d.stages {
		sum += s.reach << i
	}
	return sum
}

// Tones in the kept band come out at their own frequency with their amplitude
// and, counted from the input sample the output stands on, their phase: linear
// phase.
func TestDecimatorPassesTones(t *testing.T) {
	for _, c := range chains() {
		d := c.new()
		n := d.delay()*2 + 1500<<c.halvings
		for k := 1; k <= 8; k++ {
			hz := c.edge * (float64(k) - 0.31) / 8
			y := c.new().Push(tone(hz, c.rate, 1.1, n))
			a := fit(y, 2*math.Pi*hz/c.lowRate())
			phase := 1.1 + 2*math.Pi*math.Mod(hz*float64(d.delay())/c.rate, 1)
			want := cmplx.Rect(0.5, phase)
			// 2.8e-7 dB is 3.2e-8 of an amplitude, once a stage.
			if cmplx.Abs(a-want) > 0.5*3.2e-8*float64(c.halvings) {
				t.Errorf("%v: %g Hz comes out as %v, want %v", c, hz, a, want)
			}
		}
	}
}

// Tones that fold onto the kept band come out below −150 dB.
func TestDecimatorStopsAliases(t *testing.T) {
	for _, c := range chains() {
		for fold := 1; fold < 1<<c.halvings; fold += 1 + fold/3 {
			for k := range 3 {
				at := c.edge * (float64(k) - 0.93) / 1.07 // −0.87 … +1 of the edge
				hz := float64(fold)*c.lowRate() + at
				if hz <= 0 || hz >= c.rate/2 {
					continue
				}
				n := c.new().delay()*2 + 400<<c.halvings
				y := c.new().Push(tone(hz, c.rate, 0.4, n))
				if a := 2 * cmplx.Abs(fit(y, 2*math.Pi*at/c.lowRate())); db(a) > -150 {
					t.Errorf("%v: %g Hz comes out at %g Hz, %.1f dB", c, hz, at, db(a))
				}
			}
		}
	}
}

// Frames says how many samples come out, whatever the length and the pieces.
func TestDecimatorFrames(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for _, c := range []chain{{48000, 5140, 2}, {44100, 958, 4}, {192000, 20440, 2}, {96000, 40000, 0}} {
		shortest := c.new().delay() * 2
		for n := max(0, shortest-70); n < shortest+70; n++ {
			checkFrames(t, c, n, func(left int) int { return 1 + r.IntN(left) })
		}
		for range 20 {
			checkFrames(t, c, r.IntN(20000), func(int) int { return 1 + r.IntN(900) })
		}
		checkFrames(t, c, 5000, func(int) int { return 1 })
	}
}

func checkFrames(t *testing.T, c chain, n int, size func(left int) int) {
	t.Helper()
	d := c.new()
	x, got := make([]float64, n), int64(0)
	for len(x) > 0 {
		k := min(len(x), size(len(x)))
		got += int64(len(d.Push(x[:k])))
		x = x[k:]
	}
	if want := d.Frames(int64(n)); got != want {
		t.Errorf("%v: %d samples give %d, Frames says %d", c, n, got, want)
	}
}

// Pieces change nothing, not even by rounding.
func TestDecimatorInPieces(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	x := whiteNoise(7, 30000)
	for _, c := range chains() {
		whole := append([]float64(nil), c.new().Push(x)...)
		d, at := c.new(), 0
		for left := x; len(left) > 0; {
			k := min(len(left), 1+r.IntN(4000))
			for _, y := range d.Push(left[:k]) {
				if y != whole[at] {
					t.Fatalf("%v: sample %d is %g, in one piece %g", c, at, y, whole[at])
				}
				at++
			}
			left = left[k:]
		}
		kit.Same(t, at, len(whole), "%v: samples in pieces", c)
	}
}

// A rate is halved as long as the band still fits with a tenth to spare.
func TestHalvings(t *testing.T) {
	for _, c := range []struct {
		rate, edge float64
		want       int
	}{
		{44100, 5140, 1}, {48000, 5140, 2}, {96000, 5140, 3}, {192000, 5140, 4},
		{48000, 20440, 0}, {44100, 958, 4}, {4.4, 1, 1}, {4.39, 1, 0},
	} {
		kit.Same(t, Halvings(c.rate, c.edge), c.want, "Halvings(%g, %g)", c.rate, c.edge)
	}
}

// A density stays what it is through a decimator: white noise of 4σ²/R.
func TestDecimatorKeepsDensity(t *testing.T) {
	c := chain{48000, 5140, 2}
	const n = 1024
	x := whiteNoise(11, 1<<20)
	low := welchOf(c.new().Push(x), c.lowRate(), n, n/4, Nuttall)
	last := int(c.edge / low.BinHz())
	mean := 0.0
	for j := 8; j <= last; j++ {
		mean += low.Density[j] / float64(last-7)
	}
	free := float64(last-7) / (2 * Nuttall.ENBW()) * low.Averages
	kit.Near(t, "density × R/4", mean*c.rate/4, 1, 4/math.Sqrt(free))
}

// Kaiser's window needs I₀; values from SciPy 1.10 (scipy.special.i0).
func TestBesselI0(t *testing.T) {
	for x, want := range map[float64]float64{0: 1, 1: 1.2660658777520084, 10: 2815.7166284662544, 15.57: 589301.8427462382} {
		kit.Near(t, fmt.Sprintf("I0(%g)", x), besselI0(x)/want, 1, 1e-14)
	}
}
