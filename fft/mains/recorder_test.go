package mains_test

import (
	"context"
	"slices"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
)

// What the recorder or the file did to a capture is found by a measurement too,
// and passes for nothing on the bench.
func TestRecorderFaults(t *testing.T) {
	t.Parallel()
	none := func(*bench.Capture) {}
	loud := func(c *bench.Comb) { // with nothing beside hum that a gain would make much of
		c.DC, c.Tones = 0, nil
		for i := range c.Lines {
			c.Lines[i].PowerDBFS += 50
		}
	}
	// Noise that is cut off with the hum's tops swings with the hum, and tops that
	// differ from bottoms leave a mean.
	cutNoise := []string{"buzz", "sidebands", "bus_tones", "dc_offset"}
	// A hole is a break at either end, loud where there is an offset: seconds of
	// noise that differ.
	hole := []string{"noise_unsteady", "clicks", "low_bursts", "gain_moves"}
	for name, c := range map[string]condition{
		"clipped":             {"clipped", loud, func(c *bench.Capture) { c.Gain("gain", to(1.5, c)).Clip(1) }, cutNoise},
		"cut off before":      {"flat_tops", loud, func(c *bench.Capture) { c.Gain("gain", to(0.6, c)).Clip(0.5) }, cutNoise},
		"nearly full":         {"near_full_scale", loud, func(c *bench.Capture) { c.Gain("gain", to(0.98, c)) }, nil},
		"beyond full":         {"over_full_scale", loud, func(c *bench.Capture) { c.Gain("gain", to(1.2, c)) }, nil},
		"offset":              {"dc_offset", func(c *bench.Comb) { c.DC = 0.02 }, none, nil},
		"offset, negative":    {"dc_offset", func(c *bench.Comb) { c.DC = -0.02 }, none, nil},
		"nothing for a while": {"digital_zero", nil, func(c *bench.Capture) { c.Zero(7, 300) }, hole},
		"nothing at first":    {"digital_zero", nil, func(c *bench.Capture) { c.Zero(0, 300) }, hole},
		"stuck for a while":   {"stuck", nil, func(c *bench.Capture) { c.Stick(7, 300) }, hole},
		"a block twice":       {"repeated_block", nil, func(c *bench.Capture) { c.Repeat(7, 512) }, append(hole, "fast_wander", "phase_jumps")},
		"a click":             {"clicks", nil, func(c *bench.Capture) { c.Click(7, 200*sd(c)) }, []string{"noise_unsteady"}},
		// (Codes are told apart where each comes often: a quiet signal, or a long one.)
		"turned down behind the converter": {"code_gaps", loud, func(c *bench.Capture) { c.Gain("gain", to(0.02, c)).Round(14, 0.7).Round(24, 1) },
			append(cutNoise, "few_codes", "floor_of_rounding", "undithered", "flat_tops")},
		"two seconds": {"short", func(c *bench.Comb) { c.Seconds = 2 }, none, nil},
	} {
		t.Run(name, c.find)
	}
}

// to is the gain that brings a capture's peak to a level.
func to(level float64, c *bench.Capture) func(float64) float64 {
	peak := max(slices.Max(c.Samples), -slices.Min(c.Samples))
	return func(float64) float64 { return level / peak }
}

// Of several channels each has its own faults: one that is another's copy is said
// to be, one that differs in the least isn't, and one that holds still is silent.
func TestFaultsOfChannels(t *testing.T) {
	t.Parallel()
	draw := func(seed uint64) []float64 {
		comb := benchComb(seed, 10)
		comb.Rate, comb.Bits = 8000, 24
		made := kit.Must(comb.Make())(t)
		return made.Samples
	}
	a, b := draw(1), draw(2)
	almost, still := slices.Clone(a), make([]float64, len(a))
	almost[40000] += 1.0 / (1 << 23)
	for i := range still {
		still[i] = 0.125
	}
	silence := make([]float64, len(a))
	ofSamples := conditions[:slices.Index(conditions, "noise_unsteady")]
	ms := kit.Must(mains.Measure(context.Background(), capture.Samples(8000, a, b, slices.Clone(a), almost, still, silence), mains.Options{}))(t)
	for i, want := range [][]string{nil, nil, {"channels_identical"}, nil, {"silent"}, {"silent"}} {
		var got []string
		for _, w := range ms[i].Warnings {
			if slices.Contains(ofSamples, w.Code) {
				got = append(got, w.Code)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("channel %d: %v, want %v", i+1, got, want)
		}
		if i >= 4 && (ms[i].Mains.Detected || ms[i].Hum.Detected) {
			t.Errorf("channel %d: hum where nothing was recorded", i+1)
		}
	}
	if same := ms[2].Health.SameAs; same != 1 {
		t.Errorf("channel 3 is the same as %d", same)
	}
}
