package vector

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Nth against sorting, of values with and without many equal ones.
func TestNth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.OneOf(rapid.Float64Range(-1, 1), rapid.Map(rapid.IntRange(0, 3), func(i int) float64 { return float64(i) }))
		x := rapid.SliceOfN(value, 1, 300).Draw(t, "x")
		n := rapid.IntRange(0, len(x)-1).Draw(t, "n")
		sorted, got := slices.Sorted(slices.Values(x)), Nth(x, n)
		if got != sorted[n] || x[n] != got || slices.Max(x[:n+1]) != got || slices.Min(x[n:]) != got {
			t.Fatalf("place %d: %g, want %g; %g", n, got, sorted[n], x)
		}
		if slices.Sort(x); !slices.Equal(x, sorted) {
			t.Fatal("values were lost")
		}
	})
}
