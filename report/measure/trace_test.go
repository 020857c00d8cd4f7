package measure

import (
	"math"
	"testing"

	"humdiff/fft"

	"pgregory.net/rapid"
)

// A line one bin wide keeps its level and its frequency in any number of
// columns, and no entry invents a level.
func TestReduceKeepsEveryPeak(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spacing := rapid.Float64Range(0.1, 5).Draw(t, "spacing")
		columns := rapid.IntRange(1, 2000).Draw(t, "columns")
		levels := make([]float64, 8192)
		for j := range levels {
			levels[j] = -150 + math.Sin(float64(j*j))
		}
		lo, hi := 20.0, math.Min(20000, spacing*float64(len(levels)-1))
		first, end := int(math.Ceil(lo/spacing)), int(hi/spacing)
		line := rapid.IntRange(first, end).Draw(t, "line")
		levels[line] = -100

		hz, low, _, high := reduce(spacing, levels, columns, lo, hi)

		if len(hz) == 0 || len(hz) > columns || len(low) != len(hz) || len(high) != len(hz) {
			t.Fatalf("%d entries in %d columns, lows %d, highs %d", len(hz), columns, len(low), len(high))
		}
		found := false
		for i := range hz {
			if i > 0 && hz[i] <= hz[i-1] {
				t.Fatalf("frequencies do not rise: %g after %g", hz[i], hz[i-1])
			}
			if low[i] > high[i] {
				t.Fatalf("lowest %g above highest %g", low[i], high[i])
			}
			bin := int(math.Round(hz[i] / spacing))
			if high[i] != levels[bin] {
				t.Fatalf("level %g at %g Hz, where the bin has %g", high[i], hz[i], levels[bin])
			}
			found = found || bin == line && high[i] == -100
		}
		if !found {
			t.Fatalf("the line in bin %d (%g Hz) vanished", line, float64(line)*spacing)
		}
	})
}

func TestReduceOneEntryABinWhereBinsAreSparse(t *testing.T) {
	levels := []float64{0, 1, 2, 3, 4, 5}
	hz, low, _, high := reduce(10, levels, 1000, 20, 50)
	want := []float64{20, 30, 40, 50}
	if len(hz) != len(want) {
		t.Fatalf("got %v, want %v", hz, want)
	}
	for i := range want {
		if hz[i] != want[i] || low[i] != want[i]/10 || high[i] != want[i]/10 {
			t.Errorf("entry %d: %g Hz %g..%g, want %g Hz %g", i, hz[i], low[i], high[i], want[i], want[i]/10)
		}
	}
}

// One column takes the whole range: its lowest and highest are the range's.
func TestReduceToOneColumn(t *testing.T) {
	hz, low, mean, high := reduce(1, []float64{9, 9, -3, 7, -8, 2, 99}, 1, 2, 5)
	if len(hz) != 1 || hz[0] != 3 || low[0] != -8 || mean[0] != -0.5 || high[0] != 7 {
		t.Errorf("got %v %v %v %v, want [3] [-8] [-0.5] [7]", hz, low, mean, high)
	}
}

// A silent bin has no level: it is passed over, and never turns into a number.
func TestReduceWithoutLevels(t *testing.T) {
	nan := math.NaN()
	hz, low, _, high := reduce(1, []float64{nan, nan, nan, -7, nan, nan}, 1, 1, 5)
	if len(hz) != 1 || hz[0] != 3 || low[0] != -7 || high[0] != -7 {
		t.Errorf("got %v %v %v, want [3] [-7] [-7]", hz, low, high)
	}
	hz, low, _, high = reduce(1, []float64{nan, nan, nan}, 4, 1, 2)
	for i := range hz {
		if !math.IsNaN(low[i]) || !math.IsNaN(high[i]) {
			t.Errorf("silence got levels %g..%g", low[i], high[i])
		}
	}
}

func TestReduceEmptyRanges(t *testing.T) {
	levels := []float64{1, 2, 3}
	for _, c := range []struct {
		spacing float64
		columns int
		lo, hi  float64
	}{{0, 1, 1, 2}, {1, 0, 1, 2}, {1, 1, 0, 2}, {1, 1, 2, 2}, {1, 1, 5, 9}, {math.NaN(), 1, 1, 2}} {
		if hz, _, _, _ := reduce(c.spacing, levels, c.columns, c.lo, c.hi); len(hz) != 0 {
			t.Errorf("%+v: got %v", c, hz)
		}
	}
}

// The expected levels: density 1e-15 /Hz in a bin of 2.0212 × 0.5 Hz is
// −150 + 10·log10(1.0106) = −149.954 dBFS; a density of 1e-10 there −99.954.
// The ENBW of 2.0212 is the published one of the window (Heinzel et al. 2002).
func TestTraceOf(t *testing.T) {
	s := fft.Spectrum{Rate: 8192, N: 16384, Window: "nuttall", ENBW: 2.0212, Density: make([]float64, 8193)}
	for j := range s.Density {
		s.Density[j] = 1e-15
	}
	s.Density[2000] = 1e-10 // 1000 Hz
	s.Density[200] = 0      // 100 Hz, a bin without a level
	got := Trace(s, 60)

	if got.BinHz != 0.5 || got.ENBWHz != 1.0106 || got.Window != "nuttall" || got.Seconds != 60 {
		t.Errorf("conditions: %+v", got)
	}
	if f := float64(got.Hz[0]); f != 20 {
		t.Errorf("starts at %g Hz, want 20", f)
	}
	if f := float64(got.Hz[len(got.Hz)-1]); f > 4096 {
		t.Errorf("ends at %g Hz, beyond half the rate", f)
	}
	seen := false
	for i := range got.Hz {
		want := -149.954
		if got.Hz[i] == 1000 {
			want, seen = -99.954, true
		}
		if got.Hz[i] == 100 {
			if got.HiDBFS[i].Ok() || got.LoDBFS[i].Ok() {
				t.Errorf("the bin without a level has %v", got.HiDBFS[i])
			}
			continue
		}
		if float64(got.HiDBFS[i]) != want {
			t.Errorf("%v Hz: %v dBFS, want %v", got.Hz[i], got.HiDBFS[i], want)
		}
		if lo := got.LoDBFS[i]; lo.Ok() && float64(lo) != -149.954 {
			t.Errorf("%v Hz: lowest %v dBFS", got.Hz[i], lo)
		}
	}
	if !seen {
		t.Error("the line at 1000 Hz vanished")
	}
}
