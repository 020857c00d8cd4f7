package capture

import (
	"context"
	"io"

	"humdiff/fft/fault"
)

// Samples is a Source over samples in memory, one slice a channel, full scale
// ±1. The slices are not copied. It panics where the channels differ in length.
func Samples(rate int, channels ...[]float64) Source {
	for _, c := range channels {
		if len(c) != len(channels[0]) {
			panic("capture: channels differ in length")
		}
	}
	return &memory{rate, channels}
}

type memory struct {
	rate     int
	channels [][]float64
}

func (m *memory) Rate() int     { return m.rate }
func (m *memory) Channels() int { return len(m.channels) }

func (m *memory) Frames() int64 {
	if len(m.channels) == 0 {
		return 0
	}
	return int64(len(m.channels[0]))
}

func (m *memory) Open(ctx context.Context) (Reader, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return &memoryReader{ctx: ctx, source: m}, nil
}

type memoryReader struct {
	ctx    context.Context
	source *memory
	pos    int
}

func (r *memoryReader) Read(dst [][]float64) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	want, err := dstFrames(dst, r.source.Channels())
	if err != nil || want == 0 {
		return 0, err
	}
	n := min(want, int(r.source.Frames())-r.pos)
	if n == 0 {
		return 0, io.EOF
	}
	for c := range dst {
		copy(dst[c][:n], r.source.channels[c][r.pos:])
	}
	r.pos += n
	return n, nil
}

func (r *memoryReader) Close() error { return nil }

// dstFrames is how many frames dst has room for; it checks dst's shape.
func dstFrames(dst [][]float64, channels int) (int, error) {
	if len(dst) != channels {
		return 0, fault.New("", "a read of %d channels from a source of %d", len(dst), channels)
	}
	if channels == 0 {
		return 0, io.EOF
	}
	for _, d := range dst {
		if len(d) != len(dst[0]) {
			return 0, fault.New("", "a read into channels of unequal length")
		}
	}
	return len(dst[0]), nil
}
