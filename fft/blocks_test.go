package fft

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"humdiff/fixtures/kit"

	"gonum.org/v1/gonum/dsp/fourier"
	"pgregory.net/rapid"
)

// collect pushes channels in pieces of the lengths that size gives and keeps
// every block's bins by channel.
func collect(channels [][]float64, n, hop int, w Window, size func() int) [][][]complex128 {
	got := make([][][]complex128, len(channels))
	b := NewBlocks(NewEngine, n, hop, len(channels), w, func(c int, bins []complex128) {
		got[c] = append(got[c], slices.Clone(bins))
	})
	for at := 0; at < len(channels[0]); {
		end := min(len(channels[0]), at+size())
		piece := make([][]float64, len(channels))
		for c := range channels {
			piece[c] = channels[c][at:end]
		}
		b.Push(piece)
		at = end
	}
	b.Flush()
	b.Flush() // a second one finds nothing waiting
	return got
}

// byHand cuts, windows and transforms one channel without any of this package
// but the window's samples.
func byHand(x []float64, n, hop int, w Window) (blocks [][]complex128) {
	window, f := w.Samples(n), fourier.NewFFT(n)
	for at := 0; at+n <= len(x); at += hop {
		block := make([]float64, n)
		for i := range block {
			block[i] = x[at+i] * window[i]
		}
		blocks = append(blocks, f.Coefficients(nil, block))
	}
	return blocks
}

func differ(got, want [][]complex128) string {
	if len(got) != len(want) {
		return fmt.Sprintf("%d blocks, want %d", len(got), len(want))
	}
	for b := range want {
		for j := range want[b] {
			if len(got[b]) != len(want[b]) || cmplx.Abs(got[b][j]-want[b][j]) > 1e-11 {
				return fmt.Sprintf("block %d bin %d: %v, want %v", b, j, got[b][j], want[b][j])
			}
		}
	}
	return ""
}

// Blocks cut from a stream that comes in odd pieces are those cut from the
// whole of it.
func TestBlocksAgainstHandCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := 1 << rapid.IntRange(2, 6).Draw(t, "log2 n")
		hop := rapid.IntRange(1, n).Draw(t, "hop")
		frames := rapid.IntRange(0, 6*n).Draw(t, "frames")
		w := rapid.SampledFrom(Windows).Draw(t, "window")
		var channels [][]float64
		for c := range rapid.IntRange(1, 3).Draw(t, "channels") {
			channels = append(channels, whiteNoise(uint64(c+1), frames))
		}
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed of sizes"), 0))
		most := rapid.IntRange(1, 3*n).Draw(t, "longest piece")
		got := collect(channels, n, hop, w, func() int { return 1 + r.IntN(most) })
		for c, x := range channels {
			if d := differ(got[c], byHand(x, n, hop, w)); d != "" {
				t.Fatalf("channel %d: %s", c+1, d)
			}
		}
	})
}

// The lone channel's odd last block waits for a partner until Flush; an empty
// piece changes nothing.
func TestFlushHandsOutTheLastBlock(t *testing.T) {
	const n, hop = 16, 4
	x := whiteNoise(1, n+2*hop)
	count := 0
	b := NewBlocks(NewEngine, n, hop, 1, Hann, func(int, []complex128) { count++ })
	b.Push([][]float64{x})
	b.Push([][]float64{{}})
	kit.Same(t, count, 2, "blocks before Flush")
	b.Flush()
	kit.Same(t, count, 3, "blocks after Flush")
}

func TestBlocksRefuseAHopBeyondTheBlock(t *testing.T) {
	for _, hop := range []int{-1, 0, 17} {
		func() {
			defer func() {
				want := fmt.Sprintf("fft: hop of %d samples for blocks of 16: must be 1 to 16", hop)
				if got := recover(); got != want {
					t.Errorf("hop %d: %v, want %s", hop, got, want)
				}
			}()
			NewBlocks(NewEngine, 16, hop, 1, Hann, nil)
		}()
	}
}

// FitHop: blocks lie within the frames, follow each other by at most step, and
// leave over less than a hop and less than a sample a block.
func TestFitHop(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 1<<18).Draw(t, "n")
		step := rapid.IntRange(1, n).Draw(t, "step")
		frames := rapid.Int64Range(0, 1<<rapid.IntRange(1, 40).Draw(t, "log2 frames")).Draw(t, "frames")
		hop, blocks := FitHop(frames, n, step)
		if frames < int64(n) {
			if blocks != 0 {
				t.Fatalf("%d blocks in too few frames", blocks)
			}
			return
		}
		over := frames - int64(n) - (int64(blocks)-1)*int64(hop)
		switch {
		case blocks < 1 || hop < 1 || hop > step:
			t.Fatalf("hop %d, %d blocks", hop, blocks)
		case over < 0:
			t.Fatalf("hop %d, %d blocks: %d frames too many", hop, blocks, -over)
		case blocks > 1 && (over >= int64(hop) || over >= int64(blocks)):
			t.Fatalf("hop %d, %d blocks: %d frames left over", hop, blocks, over)
		case blocks == 1 && over > 0:
			t.Fatalf("one block leaves %d frames over", over)
		}
	})
}

// What NewBlocks cuts at that hop is as many blocks as FitHop says, also where
// more blocks follow than a hop has samples.
func TestFitHopAgreesWithBlocks(t *testing.T) {
	for frames := range 400 {
		const n = 16
		hop, blocks := FitHop(int64(frames), n, 5)
		got := collect([][]float64{make([]float64, frames)}, n, hop, Hann, func() int { return 7 })
		kit.Same(t, len(got[0]), blocks, "%d frames: blocks every %d", frames, hop)
	}
}

// A channel in which nothing stands has no bins, whatever shares its transform.
func TestSilentBesideLoud(t *testing.T) {
	const n = 64
	loud, silence := make([]float64, 4*n), make([]float64, 4*n)
	for i := range loud {
		loud[i] = math.Sin(float64(i))
	}
	for _, engine := range []func(int) Engine{NewEngine, NewReferenceEngine} {
		averages := []*Welch{NewWelch(1, n, n, Hann), NewWelch(1, n, n, Hann)}
		into := NewBlocksInto(averages, engine)
		bins := NewBlocks(engine, n, n, 2, Hann, func(channel int, bins []complex128) {
			for j, x := range bins {
				if channel == 1 && x != 0 {
					t.Fatalf("bin %d of silence is %g", j, x)
				}
			}
		})
		for _, b := range []*Blocks{into, bins} {
			b.Push([][]float64{loud, silence})
			b.Flush()
		}
		if total := averages[1].Spectrum().Density; slices.Max(total) != 0 {
			t.Errorf("the average of silence is %g", slices.Max(total))
		}
	}
}
