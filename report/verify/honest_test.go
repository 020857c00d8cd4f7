package verify_test

import (
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/situation"
	"humdiff/fixtures/trials"
	"humdiff/fixtures/wavfile"
	"humdiff/report"
	"humdiff/report/model"
	"humdiff/report/wire"
)

// formats are those that the captures here are written in.
var formats = []wavfile.Format{{Bits: 24}, {Bits: 16}, {Bits: 32, Float: true}, {Bits: 64, Float: true}}

// hardToTell are captures of which numbers hold what transforms round to: nothing but
// one loud tone, what repeats to the bit, what is fainter than any converter.
var hardToTell = map[string]func(t float64) float64{
	"a full-scale sine":        func(t float64) float64 { return math.Sin(2 * math.Pi * 50 * t) },
	"a square wave":            func(t float64) float64 { return 0.5 - math.Floor(math.Mod(100*t+0.001, 2)) },
	"hum on a full-scale step": func(t float64) float64 { return 0.9 + 1e-6*math.Sin(2*math.Pi*50.02*t) },
	"hum beside a loud tone":   func(t float64) float64 { return 0.98*math.Sin(2*math.Pi*1000.3*t) + 1e-7*math.Sin(2*math.Pi*50.02*t) },
	"hum far below full scale": func(t float64) float64 { return 1e-11 * math.Sin(2*math.Pi*50.02*t) },
	"a ramp":                   func(t float64) float64 { return math.Mod(t, 1) },
}

// Honest results of captures of every kind stand, in every format, however hard their
// numbers are to tell by other transforms.
func TestHonestCaptures(t *testing.T) {
	tried := 0
	try := func(name string, rate int, samples []float64, format wavfile.Format) {
		tried++
		format.Rate = rate
		dir := t.TempDir()
		path := filepath.Join(dir, "a.wav")
		kit.OK(t, wavfile.Write(path, format, samples))
		r := kit.Must(report.Measure(t.Context(), asked(), []capture.Address{whole(path)}))(t)
		at := filepath.Join(dir, "measure.json")
		kit.OK(t, os.WriteFile(at, kit.Must(wire.Write(&r))(t), 0o644))
		if v := verified(t, at); v.Verdict != model.Stands {
			t.Errorf("%s, %d bits: %s\n%s", name, format.Bits, v.Verdict, told(v))
		}
	}
	for i, name := range slices.Sorted(maps.Keys(hardToTell)) {
		for k, noise := range []float64{0, 1e-12, 1e-9, 1e-7} {
			format := formats[(i+k)%len(formats)]
			if format.Bits == 64 && noise < 1e-9 {
				continue // nothing stands there but what a transform rounds to
			}
			try(name, hardRate, hard(hardToTell[name], noise), format)
		}
	}
	singles := situation.Singles()
	for i := range trials.Count(10 * len(singles)) {
		k, seed := singles[i%len(singles)], i
		if !trials.Full() {
			seed += 7 * i
		}
		c := k.Draw(uint64(seed))
		if math.Max(slices.Max(c.Samples), -slices.Min(c.Samples)) < 2./(1<<15) {
			continue // in 16 bits of one step many blocks are alike, and rounding says which comes first
		}
		try(k.Name, c.Rate, c.Samples, formats[seed%len(formats)])
	}
	t.Logf("%d honest results tried", tried)
}

const hardRate = 8000

// hard is four seconds of a signal in noise.
func hard(signal func(t float64) float64, noise float64) []float64 {
	r := rand.New(rand.NewPCG(1, 2))
	samples := make([]float64, 4*hardRate)
	for i := range samples {
		samples[i] = signal(float64(i)/hardRate) + noise*r.NormFloat64()
	}
	return samples
}
