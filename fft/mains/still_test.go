package mains_test

import (
	"context"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
)

// A capture that stands still at one value has no spectrum to divide by: what is
// no number there must not be taken for a place in a table, whatever the processor
// makes of it.
func TestStandingStill(t *testing.T) {
	for _, value := range []float64{0, 0.25, -1, 1e-9} {
		x := make([]float64, 8000*12)
		for i := range x {
			x[i] = value
		}
		m := measureSamples(t, 8000, x, mains.Options{})
		if m.Mains.Detected || !m.Health.Silent || len(m.Warnings) != 1 || m.Warnings[0].Code != "silent" {
			t.Errorf("%g: mains %+v, %v", value, m.Mains, m.Warnings)
		}
		steps, err := mains.MeasureSteps(context.Background(), capture.Samples(8000, x), mains.Options{}, nil)
		if err != nil || len(steps[0].Hum) != 0 || steps[0].Mains.Detected {
			t.Errorf("%g, in steps: %v, %d, mains %+v", value, err, len(steps[0].Hum), steps[0].Mains)
		}
	}
}
