package mains

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// nth against sorting, of values with and without many equal ones.
func TestNth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.OneOf(rapid.Float64Range(-1, 1), rapid.Map(rapid.IntRange(0, 3), func(i int) float64 { return float64(i) }))
		x := rapid.SliceOfN(value, 1, 300).Draw(t, "x")
		n := rapid.IntRange(0, len(x)-1).Draw(t, "n")
		sorted, got := slices.Sorted(slices.Values(x)), nth(x, n)
		if got != sorted[n] || x[n] != got || slices.Max(x[:n+1]) != got || slices.Min(x[n:]) != got {
			t.Fatalf("place %d: %g, want %g; %g", n, got, sorted[n], x)
		}
		if slices.Sort(x); !slices.Equal(x, sorted) {
			t.Fatal("values were lost")
		}
	})
}

func TestMedian(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		want float64
	}{{nil, 0}, {[]float64{3}, 3}, {[]float64{3, 1}, 2}, {[]float64{9, 1, 4}, 4}, {[]float64{9, 1, 4, 6}, 5}, {[]float64{2, 2, 2, 2}, 2}} {
		if got := median(c.x); got != c.want {
			t.Errorf("median is %g, want %g", got, c.want)
		}
	}
}
