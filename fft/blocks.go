package fft

import (
	"fmt"

	"humdiff/fft/lend"
	"humdiff/fft/vector"
)

// Blocks cuts a stream of frames into overlapping blocks, windows and
// transforms them. Two blocks share one transform: two channels of the same
// block or, of a lone channel, two that follow each other.
type Blocks struct {
	n, hop  int
	window  []float64
	take    func(first, second int) // transforms packed; second is none for a lone block
	done    func()                  // after the last block
	rings   [][]float64             // the last n samples of each channel, the oldest at place next
	next    int
	lacking int // samples to the next block

	packed  []complex128 // one channel's block in the real parts, another's in the imaginary
	held    []float64    // samples of the block that waits for its partner
	waiting int          // its channel, or none
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
		silentA, silentB := silent(b.packed)
		e.Pair(b.packed, A, B)
		if silentA {
			clear(A)
		}
		if silentB {
			clear(B)
		}
		emit(first, A)
		if second != none {
			emit(second, B)
		}
	}
	return b
}

// NewBlocksInto cuts blocks for averages of their powers alone, one a channel,
// all alike; that spares the bins. The averages have to be new, and are there after Flush;
// nothing may be pushed then.
func NewBlocksInto(averages []*Welch, engine func(n int) Engine) *Blocks {
	like := averages[0]
	b := newBlocks(like.n, like.hop, len(averages), like.window)
	e := engine(like.n)
	var spare []float64 // takes what belongs to no average
	into := func(channel int) []float64 {
		if channel != none && averages[channel].takes() {
			return averages[channel].sum
		}
		if spare == nil {
			spare = make([]float64, like.n/2+1)
		}
		return spare
	}
	b.take = func(first, second int) {
		A, B := into(first), into(second)
		silentA, silentB := silent(b.packed)
		if silentA {
			A = into(none)
		}
		if silentB {
			B = into(none)
		}
		e.Powers(b.packed, A, B)
	}
	b.done = func() {
		for _, w := range averages {
			w.sum = e.InOrder(w.sum)
		}
		b.done = func() {}
	}
	return b
}

// silent says that all real parts are zero, or all imaginary parts: such a block has no
// bins, and what a transform gives of it is the rounding of the other.
func silent(packed []complex128) (re, im bool) {
	re, im = true, true
	for i := 0; i < len(packed) && (re || im); i++ {
		re, im = re && real(packed[i]) == 0, im && imag(packed[i]) == 0
	}
	return re, im
}

func newBlocks(n, hop, channels int, w Window) *Blocks {
	if hop < 1 || hop > n {
		panic(fmt.Sprintf("fft: hop of %d samples for blocks of %d: must be 1 to %d", hop, n, n))
	}
	b := &Blocks{n: n, hop: hop, lacking: n, window: w.shared(n), packed: packs.Take(n), waiting: none, done: func() {}}
	for range channels {
		b.rings = append(b.rings, rings.Take(n))
	}
	return b
}

// What blocks are cut in is as long as they are, and lent: each place is written
// before it is read.
var (
	rings lend.Pool[float64]
	packs lend.Pool[complex128]
)

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
	for c := 0; c < len(b.rings); c++ {
		switch {
		case b.waiting != none:
			b.pack(b.held, b.held[b.n-b.next:], b.rings[c])
			b.take(b.waiting, c)
			b.waiting = none
		case c+1 < len(b.rings):
			b.pack(b.rings[c][b.next:], b.rings[c], b.rings[c+1])
			b.take(c, c+1)
			c++
		default:
			b.hold(c)
		}
	}
}

// pack windows two blocks, the one's older and newer samples and another's ring.
func (b *Blocks) pack(older, newer, ring []float64) {
	split := b.n - b.next
	vector.Pack(b.packed[:split], older, ring[b.next:], b.window[:split])
	vector.Pack(b.packed[split:], newer, ring[:b.next], b.window[split:])
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
// behind it.
func (b *Blocks) Flush() {
	if b.waiting != none {
		for i, x := range b.held {
			b.packed[i] = complex(x*b.window[i], 0)
		}
		b.take(b.waiting, none)
		b.waiting = none
	}
	b.done()
	for _, x := range append(b.rings, b.held) {
		rings.Give(x)
	}
	packs.Give(b.packed)
	b.rings, b.held, b.packed = nil, nil, nil
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
