package capture_test

import (
	"testing"

	"humdiff/fft/capture"
)

// A part of a file's channels, of samples' or of a part's is those channels.
func TestPart(t *testing.T) {
	path, all := threeChannels(t)
	memory := capture.Samples(1000, all...)
	for name, src := range map[string]capture.Source{"a file": open(t, capture.Address{Path: path}), "samples": memory} {
		if whole := capture.Part(src, 0, 3); whole != src {
			t.Errorf("%s: the whole is something else", name)
		}
		for from := range 3 {
			for n := 1; from+n <= 3; n++ {
				same(t, readAll(t, capture.Part(src, from, n)), all[from:from+n])
			}
		}
		same(t, readAll(t, capture.Part(capture.Part(src, 1, 2), 1, 1)), all[2:])
	}
	defer func() {
		if recover() == nil {
			t.Error("a part beyond the channels")
		}
	}()
	capture.Part(memory, 2, 2)
}
