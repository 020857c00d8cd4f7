package likeness

import "humdiff/fft"

// Mark is what a pass keeps of one channel.
type Mark struct {
	Hash   string `json:"samples_hash"` // of the decoded samples: equal only for equal samples
	Silent bool   `json:"silent"`       // digital silence, or one value throughout: equal hashes then say nothing
	Sketch Sketch `json:"sketch"`       // without data where the channel is too short, or holds no noise
}

// sameSamples says that two channels hold the same samples, and more than silence.
func (m Mark) sameSamples(other Mark) bool { return m.Hash == other.Hash && !m.Silent && !other.Silent }

// Pass takes the marks of a capture while it is read for another purpose.
type Pass struct {
	digests   []digest
	boxed     []*boxcar
	decimated []*fft.Decimator
	delay     float64 // s; of what comes out of them
	blocks    *fft.Blocks
	sketchers []*sketcher
	low       [][]float64
}

// NewPass is for so many channels of so many frames, at a rate in hertz.
func NewPass(rate int, frames int64, channels int) *Pass {
	plan := planSketch(rate, frames)
	p := &Pass{low: make([][]float64, channels)}
	for range channels {
		p.digests = append(p.digests, newDigest())
		p.sketchers = append(p.sketchers, newSketcher(plan))
		p.boxed = append(p.boxed, newBoxcar(rate))
		p.decimated = append(p.decimated, fft.NewDecimator(float64(rate)/float64(plan.boxed), plan.edge, plan.halvings))
	}
	p.delay = (float64(p.decimated[0].Delay()*plan.boxed) + float64(plan.boxed-1)/2) / float64(rate)
	p.blocks = fft.NewBlocks(fft.NewEngine, plan.n, plan.n/2, channels, fft.Nuttall, func(channel int, bins []complex128) {
		p.sketchers[channel].add(bins)
	})
	return p
}

// Push takes the next frames, one slice a channel, all of equal length, full scale
// ±1. It keeps and changes none of them.
func (p *Pass) Push(frames [][]float64) {
	for c, x := range frames {
		p.digests[c].push(x)
		p.low[c] = p.decimated[c].Push(p.boxed[c].push(x))
	}
	if len(p.low[0]) > 0 {
		p.blocks.Push(p.low)
	}
}

// Marks ends the pass: one mark a channel.
func (p *Pass) Marks() []Mark {
	p.blocks.Flush()
	marks := make([]Mark, len(p.digests))
	for c := range marks {
		marks[c] = Mark{p.digests[c].text(), !p.digests[c].moves, p.sketchers[c].sketch(p.delay)}
		if marks[c].Silent {
			marks[c].Sketch.Data = nil // the roundings of a transform
		}
	}
	return marks
}
