package mains

import (
	"context"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
)

// Blocks read again are the same to the bit as those held from the first pass; where
// each channel is read by itself, to the rounding of the transforms, which it then shares with
// nobody; and those of held samples to these samples' rounding.
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
	twice, none := passes(0, 2*l.segmentBytes())
	alone, _ := passes(0, 0)
	again, _ := passes(0, againBytes)
	if !l.holdsSignal(2) {
		t.Fatal("no samples are held")
	}
	if held != l.blocks || none != 0 {
		t.Fatalf("%d blocks held, and %d; want %d and 0", held, none, l.blocks)
	}
	for c := range once {
		if len(once[c]) != l.blocks || !slices.EqualFunc(once[c], twice[c], slices.Equal[[]complex64]) {
			t.Errorf("channel %d: %d and %d blocks of %d, or other ones", c+1, len(once[c]), len(twice[c]), l.blocks)
		}
		likeBlocks(t, alone[c], once[c], 1e-6, 1e-12)
		// Rounding in steps of 2⁻³¹ of the largest sample, here below 0.5, is noise of 7e-11
		// rms, and 3e-9 in a bin: 8192 samples under a window whose mean square is 0.26.
		likeBlocks(t, again[c], once[c], 1e-6, 5*3e-9)
	}
}

// likeBlocks holds blocks together: their bins differ by a share, or by so much.
func likeBlocks(t *testing.T, got, want [][]complex64, share, most float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d blocks, not %d", len(got), len(want))
	}
	for b := range got {
		for j, x := range got[b] {
			if d := complex128(x - want[b][j]); cmplx.Abs(d) > share*cmplx.Abs(complex128(x))+most {
				t.Fatalf("block %d, bin %d: %g, not %g", b, j, x, want[b][j])
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
		{192000, 2, 2, 50}, {192000, 2, 1, 60}, {48000, 2, 1, 3600}, {48000, 8, 1, 60}, {48000, 8, 5, 20}, {48000, 8, 3, 30}, {48000, 1, 1, 86400},
	} {
		l := kit.Must(newLayout(c.rate, c.seconds*int64(c.rate), Options{}.filled()))(t)
		kit.Same(t, l.together(c.channels), c.want, "%d s of %d channels at %d Hz: together", c.seconds, c.channels, c.rate)
	}
}

// Where the limits lie: blocks are held, or samples, or nothing.
func TestHolds(t *testing.T) {
	const blocks, samples, nothing = "blocks", "samples", "nothing"
	for _, c := range []struct {
		rate, channels int
		seconds        int64
		want           string
	}{
		{48000, 2, 61, blocks}, {48000, 2, 63, samples}, {48000, 2, 70, nothing}, {48000, 1, 90, blocks}, {48000, 1, 91, nothing},
		{96000, 2, 30, blocks}, {96000, 2, 60, samples}, {192000, 2, 60, samples}, {192000, 2, 70, nothing}, {48000, 8, 60, nothing},
	} {
		l := kit.Must(newLayout(c.rate, c.seconds*int64(c.rate), Options{}.filled()))(t)
		got := nothing
		switch {
		case l.holds(c.channels):
			got = blocks
		case l.holdsSignal(c.channels):
			got = samples
		}
		kit.Same(t, got, c.want, "%d s of %d channels at %d Hz: held", c.seconds, c.channels, c.rate)
	}
}

// Hum above the highest line that is measured is hum too: noise isn't read
// there.
func TestNoNoiseIsReadOnLinesBeyondTheLast(t *testing.T) {
	var lines []bench.LineSpec
	for h := 1; h <= 300; h++ {
		lines = append(lines, bench.LineSpec{Harmonic: h, PowerDBFS: -90, Phase: float64(h * h)})
	}
	made := kit.Must(bench.Comb{Rate: 48000, Seconds: 10, Track: bench.Steady(50.01), FloorDBFSHz: -130, Lines: lines, Seed: 1}.Make())(t)
	all := kit.Must(Measure(t.Context(), made.Source(), Options{UpTo: 1000}))(t)
	m := all[0]
	in := func(hz float64) bool {
		for _, b := range m.Occupied {
			if b.Lo <= hz && hz <= b.Hi {
				return true
			}
		}
		return false
	}
	for h := 1; h <= 300; h++ {
		if hz := float64(h) * 50.01; !in(hz) {
			t.Errorf("harmonic %d at %.1f Hz counts as noise", h, hz)
		}
	}
	if in(50.01 * 100.5) {
		t.Error("no noise is left between lines")
	}
}

// The table's weights are those of the window's transform, to 1e-11 of the
// largest: a cubic in steps of h is off by at most 3/128·h⁴ times the fourth
// derivative, and that of a bandlimited function of height 1 is at most π⁴.
func TestKernelTable(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for _, w := range fft.Windows {
		l := kit.Must(newLayout(48000, 48000*20, Options{Window: w, UpTo: 5000}))(t)
		k := newKernel(l)
		for i := range 2000 {
			offset := r.Float64()
			switch i {
			case 0:
				offset = 0
			case 1:
				offset = 0.5
			case 2:
				offset = 1
			}
			middle := 0.25
			if offset >= 0.5 {
				middle = 0.75
			}
			got, want := k.weights(nil, offset), k.normal(offset, middle)
			for j := range want {
				if d := math.Abs(got[j]-want[j]) / k.whole[k.reach()]; !(d < 1e-11) {
					t.Fatalf("%s, %g bins above: weight %d is %g, want %g", w.Name, offset, j, got[j], want[j])
				}
			}
		}
	}
}
