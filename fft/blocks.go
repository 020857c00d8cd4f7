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
	rings   [][]float64 // the last n samples of each channel, the oldest at place next
	next    int
	lacking int // samples to the next block

	waiting      bool // a block of channel waitingFor lies in packed's real parts
	waitingFor   int
	packed       []complex128
	binsA, binsB []complex128
}

// NewBlocks cuts blocks of n samples, a power of two, every hop ≤ n samples, of
// the given number of channels, and hands the n/2+1 bins of each to emit, in
// order of time within a channel. emit must not keep bins.
func NewBlocks(n, hop, channels int, w Window, emit func(channel int, bins []complex128)) *Blocks {
	return NewBlocksBy(NewEngine, n, hop, channels, w, emit)
}

// NewBlocksBy is NewBlocks with another engine.
func NewBlocksBy(engine func(n int) Engine, n, hop, channels int, w Window, emit func(channel int, bins []complex128)) *Blocks {
	if hop < 1 || hop > n {
		panic(fmt.Sprintf("fft: hop of %d samples for blocks of %d: must be 1 to %d", hop, n, n))
	}
	b := &Blocks{n: n, hop: hop, lacking: n, window: w.Samples(n), engine: engine(n), emit: emit}
	for range channels {
		b.rings = append(b.rings, make([]float64, n))
	}
	b.packed = make([]complex128, n)
	b.binsA, b.binsB = make([]complex128, n/2+1), make([]complex128, n/2+1)
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
	for c, ring := range b.rings {
		older := b.n - b.next
		if !b.waiting {
			packReal(b.packed[:older], ring[b.next:], b.window[:older])
			packReal(b.packed[older:], ring[:b.next], b.window[older:])
			b.waiting, b.waitingFor = true, c
			continue
		}
		packImag(b.packed[:older], ring[b.next:], b.window[:older])
		packImag(b.packed[older:], ring[:b.next], b.window[older:])
		b.transform()
		b.emit(c, b.binsB)
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

// transform hands out the block that waited, and leaves its partner's bins.
func (b *Blocks) transform() {
	b.engine.Pair(b.packed, b.binsA, b.binsB)
	b.waiting = false
	b.emit(b.waitingFor, b.binsA)
}

// Flush transforms a block still waiting for a partner.
func (b *Blocks) Flush() {
	if b.waiting {
		b.transform()
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
