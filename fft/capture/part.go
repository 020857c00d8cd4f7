package capture

import "context"

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

// Pick is some of a source's channels, by index, in the order given. It panics where the
// source has no such channel.
func Pick(src Source, of ...int) Source {
	for _, c := range of {
		if c < 0 || c >= src.Channels() {
			panic("capture: a channel beyond the source's")
		}
	}
	return part{src, of}
}

// part is the same span of n of the channels that f delivers. It has to be the same
// file still, with the same samples.
func (f *File) part(from, n int) *File {
	f.mu.Lock()
	defer f.mu.Unlock()
	p := &File{info: f.info, layout: f.layout, channels: n, start: f.start, frames: f.frames, opened: f.opened, contents: f.contents}
	p.info.FirstChannel += from
	return p
}

// part is some channels of any source: all are read, and some left.
type part struct {
	Source
	of []int
}

func (p part) Channels() int { return len(p.of) }

func (p part) Open(ctx context.Context) (Reader, error) {
	r, err := p.Source.Open(ctx)
	if err != nil {
		return nil, err
	}
	return &partReader{Reader: r, part: p, all: make([][]float64, p.Source.Channels())}, nil
}

type partReader struct {
	Reader
	part part
	all  [][]float64 // what the source reads into
	left []float64   // what nobody wants
}

func (r *partReader) Read(dst [][]float64) (int, error) {
	want, err := dstFrames(dst, len(r.part.of))
	if err != nil || want == 0 {
		return 0, err
	}
	if len(r.left) < want {
		r.left = make([]float64, want)
	}
	for c := range r.all {
		r.all[c] = r.left[:want]
	}
	for i, c := range r.part.of {
		r.all[c] = dst[i]
	}
	return r.Reader.Read(r.all)
}
