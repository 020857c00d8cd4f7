package fft

import (
	"fmt"
	"slices"

	"humdiff/fft/lend"
)

// Blocks cuts a stream of frames into overlapping blocks, windows and
// transforms them. Two blocks share one transform: two channels of the same
// block or, of a lone channel, two that follow each other.
type Blocks struct {
	n, hop  int
	window  Window
	engine  Engine
	give    func(one, other half) // what the engine makes of both
	done    func()                // after the last block
	rings   [][]float64           // the last n samples of each channel, the oldest at place next
	next    int
	lacking int // samples to the next block

	held    []float64 // samples of the block that waits for its partner
	waiting int       // its channel, or none
}

const none = -1

// silent says that all samples are zero: such a block has no bins, and what a transform
// gives of it is the rounding of the other.
func (h half) silent() bool {
	return !slices.ContainsFunc(h.x, func(x float64) bool { return x != 0 })
}

// NewBlocks cuts blocks of n samples, a power of two, every hop ≤ n samples, of
// the given number of channels, and hands the n/2+1 bins of each to emit, in
// order of time within a channel. emit may change bins but not keep them.
func NewBlocks(engine func(n int) Engine, n, hop, channels int, w Window, emit func(channel int, bins []complex128)) *Blocks {
	b := newBlocks(engine, n, hop, channels, w)
	A, B := make([]complex128, n/2+1), make([]complex128, n/2+1)
	give := func(h half, bins []complex128) {
		if h.silent() {
			clear(bins)
		}
		if h.channel != none {
			emit(h.channel, bins)
		}
	}
	b.give = func(one, other half) {
		b.engine.pair(A, B)
		give(one, A)
		give(other, B)
	}
	return b
}

// NewBlocksInto cuts blocks for averages of their powers alone, one a channel,
// all alike; that spares the bins. The averages have to be new, and are there after Flush;
// nothing may be pushed then.
func NewBlocksInto(averages []*Welch, engine func(n int) Engine) *Blocks {
	like := averages[0]
	b := newBlocks(engine, like.n, like.hop, len(averages), like.window)
	var spare []float64 // takes what belongs to no average
	into := func(h half) []float64 {
		if h.channel != none && averages[h.channel].takes() && !h.silent() {
			return averages[h.channel].sum
		}
		if spare == nil {
			spare = make([]float64, like.n/2+1)
		}
		return spare
	}
	b.give = func(one, other half) { b.engine.addPowers(into(one), into(other)) }
	b.done = func() {
		for _, w := range averages {
			w.sum = b.engine.inOrder(w.sum)
		}
	}
	return b
}

func newBlocks(engine func(n int) Engine, n, hop, channels int, w Window) *Blocks {
	if hop < 1 || hop > n {
		panic(fmt.Sprintf("fft: hop of %d samples for blocks of %d: must be 1 to %d", hop, n, n))
	}
	b := &Blocks{n: n, hop: hop, lacking: n, window: w, engine: engine(n), waiting: none, done: func() {}}
	for range channels {
		b.rings = append(b.rings, rings.Take(n))
	}
	return b
}

// rings are as long as blocks, and lent: each place is written before it is read.
var rings lend.Pool[float64]

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

// cut takes the last n samples of every channel; two blocks make a transform.
func (b *Blocks) cut() {
	block := func(c int) half { return half{c, b.rings[c], b.next} }
	for c := 0; c < len(b.rings); c++ {
		switch {
		case b.waiting != none:
			b.take(half{b.waiting, b.held, 0}, block(c))
			b.waiting = none
		case c+1 < len(b.rings):
			b.take(block(c), block(c+1))
			c++
		default:
			b.hold(c)
		}
	}
}

// take transforms two blocks.
func (b *Blocks) take(one, other half) {
	b.engine.load(one, other, b.window)
	b.give(one, other)
}

// hold keeps a channel's block for want of a partner.
func (b *Blocks) hold(channel int) {
	if b.held == nil {
		b.held = rings.Take(b.n)
	}
	copy(b.held[copy(b.held, b.rings[channel][b.next:]):], b.rings[channel][:b.next])
	b.waiting = channel
}

// Flush transforms a block still waiting for a partner. Nothing may be pushed
// behind it; a second one does nothing.
func (b *Blocks) Flush() {
	if b.rings == nil {
		return
	}
	if b.waiting != none {
		clear(b.rings[0])
		b.take(half{b.waiting, b.held, 0}, half{none, b.rings[0], 0})
	}
	b.done()
	for _, x := range append(b.rings, b.held) {
		rings.Give(x)
	}
	b.engine.release()
	b.rings = nil
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
