package fft

import "fmt"

// Blocks cuts a stream of frames into overlapping blocks, windows and
// transforms them. Two blocks share one transform: two channels of the same
// block or, of a lone channel, two that follow each other.
type Blocks struct {
	n, hop  int
	window  []float64
	engine  Engine
	emit    func(channel int, bins []complex128)
	history [][]float64 // the last n samples of each channel, oldest first
	filled  int

	waiting      bool // a block of channel waitingFor lies in packed's real parts
	waitingFor   int
	packed       []complex128
	binsA, binsB []complex128
}

// NewBlocks cuts blocks of n samples, a power of two, every hop ≤ n samples, of
// the given number of channels, and hands the n/2+1 bins of each to emit, in
// order of time within a channel. emit must not keep bins.
func NewBlocks(n, hop, channels int, w Window, emit func(channel int, bins []complex128)) *Blocks {
	if hop < 1 || hop > n {
		panic(fmt.Sprintf("fft: hop of %d samples for blocks of %d: must be 1 to %d", hop, n, n))
	}
	b := &Blocks{n: n, hop: hop, window: w.Samples(n), engine: NewEngine(n), emit: emit}
	for range channels {
		b.history = append(b.history, make([]float64, n))
	}
	b.packed = make([]complex128, n)
	b.binsA, b.binsB = make([]complex128, n/2+1), make([]complex128, n/2+1)
	return b
}

// Push takes the next frames, one slice a channel, all of equal length.
func (b *Blocks) Push(frames [][]float64) {
	for at, left := 0, len(frames[0]); left > 0; {
		take := min(left, b.n-b.filled)
		for c, h := range b.history {
			copy(h[b.filled:], frames[c][at:at+take])
		}
		b.filled, at, left = b.filled+take, at+take, left-take
		if b.filled == b.n {
			b.cut()
		}
	}
}

// cut windows the full history of every channel and moves on by a hop.
func (b *Blocks) cut() {
	for c, h := range b.history {
		b.queue(c, h)
		copy(h, h[b.hop:])
	}
	b.filled -= b.hop
}

// queue windows a block; two make a transform.
func (b *Blocks) queue(channel int, samples []float64) {
	packed, window := b.packed[:len(samples)], b.window[:len(samples)]
	if !b.waiting {
		for i, x := range samples {
			packed[i] = complex(x*window[i], 0)
		}
		b.waiting, b.waitingFor = true, channel
		return
	}
	for i, x := range samples {
		packed[i] = complex(real(packed[i]), x*window[i])
	}
	b.engine.Pair(packed, b.binsA, b.binsB)
	b.waiting = false
	b.emit(b.waitingFor, b.binsA)
	b.emit(channel, b.binsB)
}

// Flush transforms a block still waiting for a partner.
func (b *Blocks) Flush() {
	if !b.waiting {
		return
	}
	b.engine.Pair(b.packed, b.binsA, b.binsB)
	b.waiting = false
	b.emit(b.waitingFor, b.binsA)
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
