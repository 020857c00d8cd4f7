package live

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/fixtures/situation"
	"humdiff/fixtures/wavfile"
)

// odd makes a capture of a situation, or one with next to nothing in it; some are damaged.
func odd(t *testing.T, r *rand.Rand, path string) {
	t.Helper()
	singles := situation.Singles()
	c := singles[r.IntN(len(singles))].Draw(r.Uint64() % 1e6)
	samples := c.Samples[:min(len(c.Samples), 3*c.Rate)]
	kind := r.IntN(8)
	for i := range samples {
		switch kind {
		case 0:
			samples[i] = 0
		case 1:
			samples[i] = 1
		case 2:
			samples[i] = math.Sin(2 * math.Pi * float64(i) / 160)
		case 3:
			samples[i] = r.NormFloat64() * 1e-300
		}
	}
	if kind == 4 {
		samples[r.IntN(len(samples))] = math.NaN()
	}
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: c.Rate, Bits: 32, Float: kind > 2}, samples))
	if kind != 5 {
		return
	}
	data := kit.Must(os.ReadFile(path))(t)
	for range 10 {
		data[60+r.IntN(len(data)-60)] = byte(r.IntN(256))
	}
	kit.OK(t, os.WriteFile(path, data, 0o666))
}

// Whatever captures hold, the page doesn't say NaN or infinity, nor puts a sign before
// zero.
func TestNoNumberIsOdd(t *testing.T) {
	kit.Unraced(t)
	noNumber := regexp.MustCompile(`(?i:\bnan\b|\binf(?:inity)?\b)|∞|(?:^|[^\w.])[-−]0(?:\.0*)?(?:$|[^\d.\w])`)
	excused := regexp.MustCompile(`\(NaN, infinite or beyond any signal\)`) // as samples may be
	for seed := range uint64(6) {
		r := rand.New(rand.NewPCG(seed, 3))
		dir := t.TempDir()
		b, s := open(t, Options{Version: "1"})
		for _, name := range []string{"quiet.wav", "near.wav"} {
			odd(t, r, filepath.Join(dir, name))
			dropFile(t, s, name, filepath.Join(dir, name))
		}
		if seed%2 == 0 {
			post(s, "state/bench", "full_scale", "2.0V", "gain", "40dB", "mains_hz", "50")
		}
		until(t, b, "an answer", func() bool { return len(b.takes) == 2 && b.stop == nil && b.outcome.wanted != "" })
		for _, path := range []string{"", "report/report.html", "run?id=1", "run?id=2"} {
			page := excused.ReplaceAllString(ask(s, "GET", path, "", nil).Body.String(), "")
			if at := noNumber.FindStringIndex(page); at != nil {
				t.Errorf("seed %d: %q", seed, page[max(0, at[0]-80):min(len(page), at[1]+40)])
			}
		}
	}
}
