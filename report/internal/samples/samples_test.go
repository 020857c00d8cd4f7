package samples

import (
	"testing"

	"humdiff/fft/estimate"
)

// The sample is worth testing with only while it holds every state.
func TestSampleHasEveryState(t *testing.T) {
	n := map[estimate.State]int{}
	for _, l := range Compare().Pairs[0].Lines {
		n[l.Delta.State()]++
	}
	for state, want := range map[estimate.State]int{estimate.Measured: 17, estimate.AtLeast: 24, estimate.AtMost: 1, estimate.Unknown: 58} {
		if n[state] != want {
			t.Errorf("%d deltas of state %v, want %d", n[state], state, want)
		}
	}
}
