package assemble

import (
	"context"
	"math"
	"path/filepath"
	"slices"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/wavfile"
	"humdiff/report/result"
)

// take writes a capture of two channels at 48 kHz with these floors and mains.
func take(t *testing.T, name string, hz float64, bits int, seed int64, floors ...float64) capture.Address {
	t.Helper()
	var channels [][]float64
	for c, floor := range floors {
		made, err := bench.Comb{Rate: 48000, Seconds: 6, Track: bench.Steady(hz), FloorDBFSHz: floor, RandomPhase: true, Seed: seed + int64(10*c), Bits: bits,
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -70}, {Harmonic: 3, PowerDBFS: -80}}}.Make()
		if err != nil {
			t.Fatal(err)
		}
		channels = append(channels, made.Samples)
	}
	path := filepath.Join(t.TempDir(), name)
	if err := wavfile.Write(path, wavfile.Format{Rate: 48000, Bits: 24}, channels...); err != nil {
		t.Fatal(err)
	}
	return capture.Address{Path: path, End: math.Inf(1)}
}

// What two captures say of each other: gain, mains, channels; and nothing where
// they are alike.
func TestPairHealth(t *testing.T) {
	t.Parallel()
	said := []string{"gain_changed", "mains_moved", "channels_swapped", "fewer_bits", "noise_differs"}
	quiet := take(t, "q.wav", 50.01, 24, 1, -130, -125)
	for name, c := range map[string]struct {
		near capture.Address
		want []string
	}{
		"alike":         {take(t, "n.wav", 50.05, 24, 2, -130, -125), nil},
		"another gain":  {take(t, "n.wav", 50.01, 24, 3, -129, -124), []string{"gain_changed"}},
		"another mains": {take(t, "n.wav", 50.16, 24, 4, -130, -125), []string{"mains_moved"}},
		"swapped":       {take(t, "n.wav", 50.01, 24, 5, -125, -130), []string{"gain_changed", "channels_swapped"}},
		"fewer bits":    {take(t, "n.wav", 50.01, 18, 6, -130, -125), []string{"fewer_bits"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			pairs, err := ReadPair(context.Background(), quiet, c.near, mains.Options{})
			if err != nil {
				t.Fatal(err)
			}
			got := codes(Compare("", result.Settings{}, pairs).Warnings)
			for _, code := range said {
				if slices.Contains(got, code) != slices.Contains(c.want, code) {
					t.Errorf("%s: %v, want %v", code, got, c.want)
				}
			}
		})
	}
}
