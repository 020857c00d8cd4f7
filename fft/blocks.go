package fft

import "fmt"

// Blocks cuts a stream of frames into overlapping blocks, windows and
// transforms them. Two blocks share one transform: two channels of the same
// block or, of a lone channel, two that follow each other.
type Blocks struct {
	n, hop  int
	window  []float64
	take    func(first, second int) // transforms packed; second is none for a lone block
	rings   [][]float64             // the last n samples of each channel, the oldest at place next
	next    int
	lacking int // samples to the next block

	packed  []complex128 // one channel's block in the real parts, another's in the imaginary
	waiting int          // channel of the block that waits in packed for its partner, or none
}

const none = -1

// NewBlocks cuts blocks of n samples, a power of two, every hop ≤ n samples, of
// the given number of channels, and hands the n/2+1 bins of each to emit, in
// order of time within a channel. emit may change bins but not keep them.
func NewBlocks(n, hop, channels int, w Window, emit func(channel int, bins []complex128)) *Blocks {
	return NewBlocksBy(NewEngine, n, hop, channels, w, emit)
}

// NewBlocksBy is NewBlocks with an engine to choose.
func NewBlocksBy(engine func(n int) Engine, n, hop, channels int, w Window, emit func(channel int, bins []complex128)) *Blocks {
	b := newBlocks(n, hop, channels, w)
	e, A, B := engine(n), make([]complex128, n/2+1), make([]complex128, n/2+1)
	b.take = func(first, second int) {
		e.Pair(b.packed, A, B)
		emit(first, A)
		if second != none {
			emit(second, B)
		}
	}
	return b
}

// NewBlocksInto cuts blocks for averages of their powers alone, one a channel,
// all alike; that spares the bins.
func NewBlocksInto(averages []*Welch, engine func(n int) Engine) *Blocks {
	like := averages[0]
	b := newBlocks(like.n, like.hop, len(averages), like.window)
	e := engine(like.n)
	b.take = func(first, second int) {
		averages[first].blocks++
		if second == none {
			e.Powers(b.packed, averages[first].sum, make([]float64, like.n/2+1))
			return
		}
		averages[second].blocks++
		e.Powers(b.packed, averages[first].sum, averages[second].sum)
	}
	return b
}

func newBlocks(n, hop, channels int, w Window) *Blocks {
	if hop < 1 || hop > n {
		panic(fmt.Sprintf("fft: hop of %d samples for blocks of %d: must be 1 to %d", hop, n, n))
	}
	b := &Blocks{n: n, hop: hop, lacking: n, window: w.Samples(n), packed: make([]complex128, n), waiting: none}
	for range channels {
		b.rings = append(b.rings, make([]float64, n))
	}
	return b
}

// Push takes the next frames, one slice a channel, all of equal length.
func (b *Blocks) Push(frames [][]float64) {
	for at, left := 0, len(frames[0]); left > 0; {
		take := min(left, b.lacking, b.n-b.next)
		for c, ring := range b.rings {
			copy(ring[b.next:], frames[c][at:at+take])
		}
		at, left = at+take, left-take
		b.next, b.lacking = (b.next+take)%b.n, b.lacking-take
		if b.lacking == 0 {
			b.cut()
			b.lacking = b.hop
		}
	}
}

// cut windows the last n samples of every channel; two blocks make a transform.
func (b *Blocks) cut() {
	older := b.n - b.next
	for c, ring := range b.rings {
		if b.waiting == none {
			packReal(b.packed[:older], ring[b.next:], b.window[:older])
			packReal(b.packed[older:], ring[:b.next], b.window[older:])
			b.waiting = c
			continue
		}
		packImag(b.packed[:older], ring[b.next:], b.window[:older])
		packImag(b.packed[older:], ring[:b.next], b.window[older:])
		b.take(b.waiting, c)
		b.waiting = none
	}
}

// packReal makes windowed samples the real parts of a transform, and clears its
// imaginary parts.
func packReal(packed []complex128, samples, window []float64) {
	packed, window = packed[:len(samples)], window[:len(samples)]
	for i, x := range samples {
		packed[i] = complex(x*window[i], 0)
	}
}

// packImag makes windowed samples the imaginary parts.
func packImag(packed []complex128, samples, window []float64) {
	packed, window = packed[:len(samples)], window[:len(samples)]
	for i, x := range samples {
		packed[i] = complex(real(packed[i]), x*window[i])
	}
}

// Flush transforms a block still waiting for a partner.
func (b *Blocks) Flush() {
	if b.waiting != none {
		b.take(b.waiting, none)
		b.waiting = none
	}
}

// FitHop is a hop of at most step at which whole blocks of n samples cover
// frames samples to the end, and how many blocks they are; none where
// frames < n. As hops are whole samples, fewer than a hop may be left over, and
// fewer than one a block.
func FitHop(frames int64, n, step int) (hop, blocks int) {
	spare := frames - int64(n)
	if spare < 0 {
		return step, 0
	}
	if spare == 0 {
		return step, 1
	}
	gaps := (spare + int64(step) - 1) / int64(step)
	hop = int(spare / gaps)
	// In a long stream what rounding leaves over adds up to further blocks.
	return hop, int(spare/int64(hop)) + 1
}
