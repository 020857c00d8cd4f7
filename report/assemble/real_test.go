package assemble

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/report/result"
)

// The real mains recordings (ENF-WHU dataset, see fft/mains) as A/B pairs. The
// levels are those of the data's README, computed with NumPy and SciPy from
// 10.24 s Blackman–Harris blocks and rounded to 0.1 dB.
func TestRealPairs(t *testing.T) {
	const folder = "../../../shared/data/mains-recordings"
	if _, err := os.Stat(folder); err != nil {
		t.Skip("the real mains recordings are not here")
	}
	levels := map[string][3]float64{
		"001_ref.wav": {-5.8, -63.2, -37.3}, "010_ref.wav": {-5.7, -65.7, -35.3},
		"050_ref.wav": {-25.3, -99.1, -58.8}, "100_ref.wav": {-25.1, -96.9, -59.1},
	}
	at := func(file string, start, end float64) capture.Address {
		return capture.Address{Path: filepath.Join(folder, file), Start: start, End: end}
	}
	open := math.Inf(1)
	for _, pair := range [][2]string{{"001_ref.wav", "010_ref.wav"}, {"010_ref.wav", "050_ref.wav"}, {"050_ref.wav", "100_ref.wav"}, {"100_ref.wav", "001_ref.wav"}} {
		r := paired(t, at(pair[0], 0, open), at(pair[1], 0, open))
		for i, l := range r.Lines {
			want := levels[pair[1]][i] - levels[pair[0]][i]
			tolerance := 0.15 // both levels are rounded to 0.05, and means over blocks differ a little
			if i == 1 {
				tolerance = 0.4 // 16 bit, near the floor of its recorder
			}
			if l.Delta.State != result.Measured || math.Abs(float64(l.Delta.DB)-want) > tolerance {
				t.Errorf("%v line %d: %+v, want %.1f dB", pair, i+1, l.Delta, want)
			}
		}
	}
	// Two minutes of one recording against the next two: the same grid, so the
	// third harmonic over the first keeps within a decibel, and 50 Hz within a tenth.
	r := paired(t, at("050_ref.wav", 0, 120), at("050_ref.wav", 120, 240))
	if d := float64(r.Lines[0].Delta.DB); math.Abs(d) > 0.1 {
		t.Errorf("50 Hz two minutes later: %.3f dB", d)
	}
	if d := float64(r.Lines[2].Delta.DB - r.Lines[0].Delta.DB); math.Abs(d) > 1 {
		t.Errorf("150 Hz over 50 Hz two minutes later: %.2f dB", d)
	}
}

func paired(t *testing.T, quiet, near capture.Address) result.Pair {
	t.Helper()
	opt := mains.Options{}
	pairs, err := ReadPair(context.Background(), quiet, near, opt)
	if err != nil {
		t.Fatal(err)
	}
	r := Compare("test", Settings(opt), pairs)
	if len(r.Pairs) != 1 || len(r.Pairs[0].Lines) != 3 {
		t.Fatalf("%d pairs", len(r.Pairs))
	}
	return r.Pairs[0]
}
