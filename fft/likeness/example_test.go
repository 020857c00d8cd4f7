package likeness_test

import (
	"context"
	"fmt"
	"math/rand/v2"

	"humdiff/fft/capture"
	"humdiff/fft/likeness"
)

// Two channels, read once for their marks, are one recording: the second begins a second
// later and is half as loud.
func Example() {
	const rate = 8000
	r := rand.New(rand.NewPCG(1, 2))
	first := make([]float64, 20*rate)
	for i := range first {
		first[i] = float64(r.IntN(1<<14)) * 0x1p-22
	}
	second := make([]float64, 15*rate)
	for i := range second {
		second[i] = first[rate+i] / 2
	}

	ctx := context.Background()
	var sides [2]likeness.Side
	for i, x := range [][]float64{first, second} {
		src := capture.Samples(rate, x)
		pass := likeness.NewPass(src.Rate(), src.Frames(), src.Channels())
		pass.Push([][]float64{x}) // in blocks, as they are decoded for the measurement
		sides[i] = likeness.Side{Source: src, Mark: pass.Marks()[0]}
	}
	answer, err := likeness.Compare(ctx, sides[0], sides[1])
	fmt.Println(answer.Verdict == likeness.Same, err)
	fmt.Printf("%.4f s later, %.1f dB, %.1f s in common\n", answer.LagS, answer.GainDB, answer.OverlapS)
	// Output:
	// true <nil>
	// 1.0000 s later, -6.0 dB, 15.0 s in common
}
