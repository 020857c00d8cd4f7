package mains_test

import (
	"context"
	"slices"
	"testing"

	"humdiff/fft/mains"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/situation"
	"humdiff/fixtures/trials"
)

// A diagnosis needs evidence that its rivals don't explain: of clicks, words and notes no
// gate, no moving gain and no buzz is told; of a gate or an automatic gain, that.
func TestRivals(t *testing.T) {
	kit.Unraced(t)
	processed := []string{"gated", "gain_moves"}
	for name, c := range map[string]struct{ never, some []string }{
		"sound":                 {append(processed, "buzz", "clicks", "phase_jumps", "sidebands"), nil},
		"clicks":                {append(processed, "buzz", "phase_jumps", "hum_fades"), nil},
		"hum and a generator":   {append(processed, "hum_fades"), nil},
		"music":                 {processed, nil},
		"speech":                {processed, nil},
		"hum keyed":             {processed, nil},
		"a frequency converter": {append(processed, "bus_tones"), nil},
		"bus tones, no hum":     {processed, []string{"bus_tones"}},
		"a lamp's driver":       {processed, []string{"buzz"}},
		"a gate":                {nil, processed},
		"automatic gain":        {nil, append(processed, "hum_comes_and_goes")},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			all := situation.Singles()
			draw := all[slices.IndexFunc(all, func(s situation.Single) bool { return s.Name == name })].Draw
			n, wrong := trials.Count(40), 0
			for seed := range n {
				capture := draw(uint64(500 + seed))
				measured := kit.Must(mains.Measure(context.Background(), capture.Source(), mains.Options{}))(t)
				var said []string
				for _, w := range measured[0].Warnings {
					said = append(said, w.Code)
				}
				has := func(of []string) bool {
					return slices.ContainsFunc(said, func(s string) bool { return slices.Contains(of, s) })
				}
				if has(c.never) || c.some != nil && !has(c.some) {
					t.Logf("seed %d: %v", seed, said)
					wrong++
				}
			}
			// Of 2000 draws each, fewer than one in 200 is to be wrong; a gate or lamp may
			// be missed in one of ten.
			odds := 0.005
			if c.some != nil {
				odds = 0.1
			}
			if wrong > trials.AtMost(n, odds, 0.01) {
				t.Errorf("wrong in %d of %d", wrong, n)
			}
		})
	}
}
