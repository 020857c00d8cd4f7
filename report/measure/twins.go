package measure

import (
	"context"
	"math"
	"math/bits"

	"humdiff/fft/capture"
)

// twinsOf reads a capture and says of each channel which is the first, counted
// from 1, with the same samples; 0: none. It goes by checksums, so it holds no
// more of channels however many there are.
func twinsOf(ctx context.Context, src capture.Source) ([]int, error) {
	sums := make([]uint64, src.Channels())
	err := capture.Each(ctx, src, nil, func(frames [][]float64) {
		for c, x := range frames {
			sums[c] = checksum(sums[c], x)
		}
	})
	return alike(sums), err
}

// checksum goes on with a sum. It tells accidents, not forgeries.
func checksum(sum uint64, x []float64) uint64 {
	const odd = 0x9e3779b97f4a7c15 // 2^64 over the golden ratio
	for _, v := range x {
		sum = (bits.RotateLeft64(sum, 29) ^ math.Float64bits(v)) * odd
	}
	return sum
}

// alike is the first other of each that is the same.
func alike(sums []uint64) []int {
	of, first := make([]int, len(sums)), map[uint64]int{}
	for c, sum := range sums {
		if at, seen := first[sum]; seen {
			of[c] = at
		} else {
			first[sum] = c + 1
		}
	}
	return of
}
