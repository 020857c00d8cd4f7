package likeness

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
)

// drawn is a bench drawn at random: a second recording on it has the same hum, tones
// and converter, and other noise.
type drawn struct {
	comb  bench.Comb
	r     *rand.Rand
	least float64 // seconds that trimming leaves
}

// draw is a short bench at a low rate, unless it is wanted wide.
func draw(seed uint64, wide bool) drawn {
	rates, longest := []float64{8000, 11025, 16000}, 18.0
	if wide {
		rates, longest = []float64{8000, 16000, 22050, 44100, 48000, 96000}, 60
	}
	r := rand.New(rand.NewPCG(seed, 17))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	c := bench.Comb{
		Rate: rates[r.IntN(len(rates))], Seconds: between(14, longest),
		Track:       bench.Track{Hz: []float64{50, 60}[r.IntN(2)] + between(-0.02, 0.02), WanderHz: between(0, 0.02), WanderSeconds: 20},
		FloorDBFSHz: between(-158, -130), RandomPhase: true, Seed: int64(seed),
	}
	hum, slope := between(-100, -40), between(0.3, 2)
	for h := 1; h <= 12; h++ {
		c.Lines = append(c.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: hum - slope*float64(h)})
	}
	for _, hz := range []float64{1000, 2000, 3000} {
		c.Tones = append(c.Tones, bench.ToneSpec{Hz: hz, PowerDBFS: between(-120, -90)})
	}
	return drawn{c, r, 12}
}

// brief is a bench whose recordings are hardly as long as they have to be.
func brief(seed uint64) drawn {
	d := draw(seed, false)
	d.comb.Seconds, d.least = d.between(7.5, 11), 7
	return d
}

// record makes one more recording.
func (d drawn) record(t testing.TB) []float64 {
	d.comb.Seed = int64(d.r.Uint32())
	k := kit.Must(d.comb.Make())(t)
	return k.Samples
}

// steadyHum gives the bench harmonics that a crystal makes, the same in all recordings,
// some of them hardly above the noise.
func (d *drawn) steadyHum() {
	d.comb.Track = bench.Track{Hz: 50 + 0.02*d.r.Float64()}
	d.comb.RandomPhase, d.comb.Lines = false, nil
	for h := 1; h <= 60 && float64(h)*51 < d.comb.Rate/2; h++ {
		d.comb.Lines = append(d.comb.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: d.comb.FloorDBFSHz + d.between(-12, 50)})
	}
}

func (d drawn) between(lo, hi float64) float64 { return lo + (hi-lo)*d.r.Float64() }

// trimmed takes something off both ends.
func (d drawn) trimmed(x []float64) []float64 {
	spare := len(x) - int(d.least*d.comb.Rate)
	from := d.r.IntN(spare)
	return x[from : len(x)-d.r.IntN(spare-from)]
}

func scaled(x []float64, gain float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = gain * v
	}
	return y
}

// rounded to bits, with a triangular dither of a seed; without where seed is 0.
func rounded(x []float64, bits int, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 23))
	scale := math.Ldexp(1, bits-1)
	y := make([]float64, len(x))
	for i, v := range x {
		v *= scale
		if seed != 0 {
			v += r.Float64() - r.Float64()
		}
		y[i] = math.RoundToEven(v) / scale
	}
	return y
}

// resampled reads a sequence at other places, by a sinc of 40 samples under a Hann
// window.
func resampled(x []float64, ratio, offset float64) []float64 {
	const reach, fine = 20, 512
	cut := min(1, 1/ratio) * 0.97
	kernel := make([]float64, reach*fine+2)
	for i := range kernel {
		d := float64(i) / fine
		kernel[i] = cut
		if d > 0 {
			kernel[i] = math.Sin(math.Pi*cut*d) / (math.Pi * d)
		}
		kernel[i] *= 0.5 + 0.5*math.Cos(math.Pi*min(d/reach, 1))
	}
	y := make([]float64, int(float64(len(x))/ratio)-2)
	for k := range y {
		at := float64(k)*ratio + offset
		for i := max(int(at)-reach+1, 0); i <= min(int(at)+reach, len(x)-1); i++ {
			d := math.Abs(float64(i)-at) * fine
			at, part := int(d), d-math.Floor(d)
			y[k] += x[i] * (kernel[at]*(1-part) + kernel[at+1]*part)
		}
	}
	return y
}

func side(rate int, x []float64) Side {
	p := NewPass(rate, int64(len(x)), 1)
	for at := 0; at < len(x); at += 8192 {
		p.Push([][]float64{x[at:min(at+8192, len(x))]})
	}
	return Side{Source: capture.Samples(rate, x), Mark: p.Marks()[0]}
}

func compared(t testing.TB, rateA int, a []float64, rateB int, b []float64) Answer {
	return kit.Must(Compare(context.Background(), side(rateA, a), side(rateB, b)))(t)
}

// music is notes with overtones, struck and dying away, and the breath of noise between.
func (d drawn) music() []float64 {
	n := int(d.comb.Rate*d.comb.Seconds) + 10
	x := make([]float64, n)
	level := math.Pow(10, d.between(-90, -20)/20)
	for at := 0; at < n; at += int(d.between(0.1, 0.6) * d.comb.Rate) {
		hz, decay, breath := d.between(100, 900), d.between(0.1, 0.8), d.between(0, 0.5)
		loud := level * d.between(0.2, 1)
		for i := at; i < min(n, at+int(2*decay*d.comb.Rate)); i++ {
			s := float64(i-at) / d.comb.Rate
			v := breath * d.r.NormFloat64()
			for h := 1.0; h < 6; h++ {
				v += math.Sin(2*math.Pi*h*hz*s) / h
			}
			x[i] += loud * math.Exp(-s/decay) * v
		}
	}
	return x
}

// played is two recordings with one programme in both, which begins a little later in the
// second.
func (d drawn) played(programme, a, b []float64) (x, y []float64) {
	from := d.r.IntN(5000)
	for i := range b[from:] {
		a[i] += programme[i]
		b[from+i] += programme[i]
	}
	return rounded(a, 24, 1), rounded(b, 24, 2)
}
