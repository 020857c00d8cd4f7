package capture

import (
	"context"
	"slices"

	"humdiff/fft/fault"
)

// Part is n of a source's channels, the first of them that of index from. A file's
// other channels aren't decoded. It panics where the source has no such channels.
func Part(src Source, from, n int) Source {
	switch {
	case from < 0 || n < 1 || from+n > src.Channels():
		panic("capture: a part beyond the channels")
	case n == src.Channels():
		return src
	}
	if f, ok := src.(*File); ok {
		return f.part(from, n)
	}
	of := make([]int, n)
	for i := range of {
		of[i] = from + i
	}
	return Pick(src, of...)
}

// Only is the same span of one of the channels it delivers, counted from 1 as in
// the file. It has to be the same file still, with the same samples.
func (f *File) Only(channel int) (*File, error) {
	i := channel - f.info.FirstChannel
	if i < 0 || i >= f.channels {
		return nil, fault.In(f.info.Path, fault.New("channels count from 1", "there is no channel %d among those read", channel))
	}
	return f.part(i, 1), nil
}

// part is the same span of n of the channels that f delivers. It has to be the same
// file still, with the same samples.
func (f *File) part(from, n int) *File {
	p := *f
	p.channels = n
	p.info.FirstChannel += from
	return &p
}

// Pick is some of a source's channels, by index, in the order given. It panics where the
// source has no such channel.
func Pick(src Source, of ...int) Source {
	if slices.ContainsFunc(of, func(c int) bool { return c < 0 || c >= src.Channels() }) {
		panic("capture: a channel beyond the source's")
	}
	return part{src, of}
}

// part is some channels of any source: all are read, and some left.
type part struct {
	Source
	of []int
}

func (p part) Channels() int { return len(p.of) }

func (p part) Read(ctx context.Context, do func(frames [][]float64) error) error {
	picked := make([][]float64, len(p.of))
	return p.Source.Read(ctx, func(frames [][]float64) error {
		for i, c := range p.of {
			picked[i] = frames[c]
		}
		return do(picked)
	})
}
