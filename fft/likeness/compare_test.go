package likeness

import (
	"flag"
	"math"
	"slices"
	"testing"

	"humdiff/fixtures/bench"
	"humdiff/fixtures/trials"
)

// kind is a way to come by a second capture.
type kind struct {
	name string
	// want says which verdicts are right; a draw may make it easy or hopeless.
	want func(d drawn) []Verdict
	make func(t testing.TB, d drawn, a []float64) (x, y []float64)
}

func always(v ...Verdict) func(drawn) []Verdict { return func(drawn) []Verdict { return v } }

// byDitherOf16 is Same where the noise stands well above the dither of 16 bits, and
// anything where it lies so deep below that a tenth of it, or less, is left.
func byDitherOf16(gain float64) func(drawn) []Verdict {
	return func(d drawn) []Verdict {
		dither := math.Ldexp(1, -30) / d.comb.Rate // step²/4, spread to half the rate, over 1/2 · 1/2
		noise := gain * gain * math.Pow(10, d.comb.FloorDBFSHz/10)
		if rho := math.Sqrt(noise / (noise + dither)); rho < 0.15 {
			return []Verdict{Same, Ask, different}
		} else if rho < 0.6 && d.comb.Seconds < 12 {
			return []Verdict{Same, Ask}
		}
		return []Verdict{Same}
	}
}

var kinds = []kind{
	{"trimmed", always(Same), func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		a = rounded(a, 24, 1)
		return a, d.trimmed(a)
	}},
	{"trimmed, gain, inverted, 24 bit", always(Same), func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		a = rounded(a, 24, 1)
		return a, rounded(scaled(d.trimmed(a), -math.Pow(10, d.between(-12, 6)/20)), 24, 0)
	}},
	{"16 bit with dither", byDitherOf16(1), func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		return rounded(a, 24, 1), rounded(a, 16, 2)
	}},
	{"16 bit with dither, trimmed, −3 dB", byDitherOf16(0.7), func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		return rounded(a, 24, 1), rounded(scaled(d.trimmed(a), 0.7), 16, 2)
	}},
	{"resampled and back", always(Same), func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		ratio := d.between(0.9, 1.1)
		return rounded(a, 24, 1), rounded(resampled(resampled(a, ratio, 0), 1/ratio, 0), 24, 1)
	}},
	{"another speed", always(Same, Ask), func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		return rounded(a, 24, 1), rounded(resampled(a, 1+d.between(-100, 100)*1e-6, 0), 24, 1)
	}},
	{"a codec that keeps no noise below 1.5 kHz", always(Same, Ask), func(t testing.TB, d drawn, a []float64) (x, y []float64) {
		below := func(x []float64) []float64 {
			c := &bench.Capture{Samples: slices.Clone(x), Truth: bench.Truth{Rate: d.comb.Rate}}
			return c.BrickWall(1500).Samples
		}
		a = a[:len(a)/4000*4000] // a transform of that is quick
		kept, own := below(a), below(d.record(t)[:len(a)])
		y = slices.Clone(a)
		for i := range y {
			y[i] += own[i] - kept[i]
		}
		return rounded(a, 24, 1), rounded(y, 24, 2)
	}},
	{"loud, trimmed, softer, 16 bit with dither", always(Ask), func(t testing.TB, d drawn, _ []float64) (x, y []float64) {
		d.comb.FloorDBFSHz = d.between(-119, -95)
		a := d.record(t)
		return rounded(a, 24, 1), rounded(scaled(d.trimmed(a), math.Pow(10, d.between(-6, -1)/20)), 16, 2)
	}},
	{"programme, trimmed, 16 bit with dither", always(Same, Ask), func(_ testing.TB, d drawn, a []float64) (x, y []float64) {
		x, _ = d.played(d.music(), a, slices.Clone(a))
		return x, rounded(d.trimmed(x), 16, 2)
	}},
	{"separate, 24 bit", always(different), func(t testing.TB, d drawn, a []float64) (x, y []float64) {
		return rounded(a, 24, 1), rounded(d.record(t), 24, 2)
	}},
	{"separate, 60 harmonics that stand still", always(different), func(t testing.TB, d drawn, _ []float64) (x, y []float64) {
		d.steadyHum()
		return rounded(d.record(t), 24, 1), rounded(d.record(t), 24, 2)
	}},
	{"separate, 14 to 16 bit, one dither", always(different), func(t testing.TB, d drawn, a []float64) (x, y []float64) {
		bits := 14 + d.r.IntN(3)
		return rounded(a, bits, 1), rounded(d.record(t), bits, 1)
	}},
	{"separate, programme in both", always(different, Ask), func(t testing.TB, d drawn, a []float64) (x, y []float64) {
		return d.played(d.music(), a, d.record(t))
	}},
	{"separate, programme as soft as the noise in both", always(different, Ask), func(t testing.TB, d drawn, a []float64) (x, y []float64) {
		music := d.music()
		power := 0.0
		for _, v := range music {
			power += v * v / float64(len(music))
		}
		noise := math.Pow(10, d.comb.FloorDBFSHz/10) * d.comb.Rate / 4
		return d.played(scaled(music, math.Sqrt(noise/power)*math.Pow(10, d.between(-12, 12)/20)), a, d.record(t))
	}},
}

var (
	draws = flag.Int("draws", 0, "draws of each kind, of longer captures at higher rates too")
	first = flag.Int("first", 0, "number of the first draw")
)

// Copies are found, and separate recordings never called copies, long or brief.
func TestKinds(t *testing.T) {
	n := trials.Count(6)
	if *draws > 0 {
		n = *draws
	}
	for _, k := range kinds {
		t.Run(k.name, func(t *testing.T) {
			counts := map[Verdict]int{}
			for seed := range uint64(n) {
				for _, d := range []drawn{draw(seed+uint64(*first), *draws > 0), brief(seed + uint64(*first))} {
					x, y := k.make(t, d, d.record(t))
					rate := int(d.comb.Rate)
					answer := compared(t, rate, x, rate, y)
					counts[answer.Verdict]++
					if !slices.Contains(k.want(d), answer.Verdict) {
						t.Errorf("draw %d: %d Hz, %.0f s, floor %.0f dBFS/Hz: %+v", seed, rate, d.comb.Seconds, d.comb.FloorDBFSHz, answer)
					}
				}
			}
			t.Log(counts)
		})
	}
}

// Among many recordings of one bench, of which each is held against each, none is
// suspected.
func TestSeparateSuspects(t *testing.T) {
	n := 8
	if *draws > 0 {
		n = 2 * *draws
	}
	d := draw(uint64(*first), *draws > 0)
	d.steadyHum()
	var marks []Mark
	for range n {
		d.comb.Seconds = d.between(12, 20)
		marks = append(marks, side(int(d.comb.Rate), d.record(t)).Mark)
	}
	found := Suspects(marks)
	t.Logf("of %d pairs %d are suspected", n*(n-1)/2, len(found))
	if len(found) > 0 {
		t.Error(found)
	}
}

// What is said of a copy is right: its lag to a twentieth of a sample, gain, sign, and
// speed to half a ppm, which over 12 s is a twentieth of a sample at 8 kHz as well.
func TestFound(t *testing.T) {
	for seed := range uint64(6) {
		d := draw(seed, false)
		d.comb.FloorDBFSHz = -140
		a := rounded(d.record(t), 24, 1)
		from, gainDB, ppm := 1000+d.r.IntN(9000), d.between(-10, 5), 0.0
		b := scaled(a[from:], -math.Pow(10, gainDB/20))
		if seed%2 == 1 {
			ppm = d.between(20, 90)
			b = resampled(b, 1+ppm*1e-6, 0)
		}
		got := compared(t, int(d.comb.Rate), a, int(d.comb.Rate), rounded(b, 24, 2))
		lag := float64(from)/d.comb.Rate + ppm*1e-6*float64(len(b))/2/d.comb.Rate
		tolerance := 0.05/d.comb.Rate + ppm*1e-6 // the lag is that of the middle, to a second
		if math.Abs(got.LagS-lag) > tolerance || math.Abs(got.GainDB-gainDB) > 0.3 || !got.Inverted || math.Abs(got.PPM-ppm) > 0.5 {
			t.Errorf("draw %d: lag %.6f s, gain %.2f dB, %.2f ppm: %+v", seed, lag, gainDB, ppm, got)
		}
		if shared := float64(len(b)) / d.comb.Rate; math.Abs(got.OverlapS-shared) > 0.01 {
			t.Errorf("draw %d: they share %.2f s: %+v", seed, shared, got)
		}
	}
}

// Two files of one recording at 48 and 44.1 kHz are one recording.
func TestTwoRates(t *testing.T) {
	d := draw(1, false)
	d.comb.Rate, d.comb.FloorDBFSHz = 48000, -145
	a := d.record(t)
	got := compared(t, 48000, rounded(a, 24, 1), 44100, rounded(resampled(a[4800:], 48000.0/44100, 0), 24, 2))
	if got.Verdict != Same || math.Abs(got.LagS-0.1) > 1e-5 {
		t.Errorf("%+v", got)
	}
}
