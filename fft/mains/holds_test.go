package mains

import (
	"context"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fixtures/kit"
)

// Blocks read again are the same to the bit as those held from the first pass; and
// where each channel is read by itself, to the rounding of the transforms, which it
// then shares with nobody.
func TestReadAgain(t *testing.T) {
	const rate, frames = 8000, 8000*12 + 345
	r := rand.New(rand.NewPCG(4, 4))
	x, y := make([]float64, frames), make([]float64, frames)
	for i := range x {
		x[i], y[i] = 0.1*r.NormFloat64(), 0.001*r.NormFloat64()
	}
	src := capture.Samples(rate, x, y)
	l := kit.Must(newLayout(rate, frames, Options{Window: fft.Nuttall, UpTo: 1000}.filled()))(t)
	passes := func(mayHold, mayAgain int) (blocks [2][][]complex64, held int) {
		l := l
		l.mayHold, l.mayAgain = mayHold, mayAgain
		obs, err := observe(context.Background(), src, l, nil, Options{})
		kit.OK(t, err)
		held = len(obs[0].blocks)
		err = eachSegment(context.Background(), src, l, obs, func(c int, all []block) {
			for _, b := range all {
				blocks[c] = append(blocks[c], slices.Clone(b))
			}
		})
		kit.OK(t, err)
		return blocks, held
	}
	once, held := passes(heldBytes, againBytes)
	twice, none := passes(0, againBytes)
	alone, _ := passes(0, 0)
	if held != l.blocks || none != 0 {
		t.Fatalf("%d blocks held, and %d; want %d and 0", held, none, l.blocks)
	}
	for c := range once {
		if len(once[c]) != l.blocks || !slices.EqualFunc(once[c], twice[c], slices.Equal[[]complex64]) {
			t.Errorf("channel %d: %d and %d blocks of %d, or other ones", c+1, len(once[c]), len(twice[c]), l.blocks)
		}
		if len(alone[c]) != l.blocks {
			t.Fatalf("channel %d by itself: %d blocks", c+1, len(alone[c]))
		}
		for b := range alone[c] {
			for j, x := range alone[c][b] {
				if d := complex128(x - once[c][b][j]); cmplx.Abs(d) > 1e-6*cmplx.Abs(complex128(x))+1e-12 {
					t.Fatalf("channel %d by itself, block %d, bin %d: %g, not %g", c+1, b, j, x, once[c][b][j])
				}
			}
		}
	}
}

// As many channels are read together as there is room for.
func TestTogether(t *testing.T) {
	for _, c := range []struct {
		rate, channels, want int
		seconds              int64
	}{
		{192000, 2, 2, 60}, {192000, 2, 1, 89}, {48000, 2, 1, 3600}, {48000, 8, 2, 60}, {48000, 8, 8, 20}, {48000, 8, 5, 30}, {48000, 1, 1, 86400},
	} {
		l := kit.Must(newLayout(c.rate, c.seconds*int64(c.rate), Options{}.filled()))(t)
		if got := l.together(c.channels); got != c.want {
			t.Errorf("%d s of %d channels at %d Hz: %d together", c.seconds, c.channels, c.rate, got)
		}
	}
}

// Where the limit lies.
func TestHolds(t *testing.T) {
	for _, c := range []struct {
		rate, channels int
		seconds        int64
		want           bool
	}{
		{48000, 2, 77, true}, {48000, 2, 79, false}, {48000, 1, 90, true}, {48000, 1, 91, false}, {96000, 2, 60, true}, {192000, 2, 30, true}, {192000, 2, 60, false},
		{192000, 1, 90, true}, {48000, 8, 60, false}, {96000, 2, 89, false},
	} {
		l := kit.Must(newLayout(c.rate, c.seconds*int64(c.rate), Options{}.filled()))(t)
		if got := l.holds(c.channels); got != c.want {
			t.Errorf("%d s of %d channels at %d Hz: held %v", c.seconds, c.channels, c.rate, got)
		}
	}
}
