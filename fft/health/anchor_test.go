package health

import (
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"
)

// Anchors are the pairs whose hash, a product of 64 bits, begins as it must:
// one in 64 of them, and none that isn't one.
func TestNextAnchor(t *testing.T) {
	r, x := rand.New(rand.NewPCG(5, 5)), make([]float64, 100000)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	var want []int
	for i := 1; i < len(x); i++ {
		hash := new(big.Int).SetUint64(math.Float64bits(x[i-1]) ^ math.Float64bits(x[i])>>1)
		hash.Mul(hash, new(big.Int).SetUint64(0x9E3779B97F4A7C15))
		if hash.Rsh(hash, 58).Uint64()%64 == 1 {
			want = append(want, i)
		}
	}
	// 1562 on average; chance alone strays by 200, five standard deviations, once in a million.
	if n := len(want); n < 1362 || n > 1762 {
		t.Errorf("%d anchors", n)
	}
	var got []int
	for i := nextAnchor(x); i < len(x); i += nextAnchor(x[i:]) {
		got = append(got, i)
	}
	if !slices.Equal(got, want) {
		t.Errorf("%d anchors, want %d", len(got), len(want))
	}
}
