package health

import (
	"context"
	"errors"
	"io"

	"humdiff/fft/capture"
)

// Of reads a capture of any length and says what its samples betray, by
// channel. The error is the source's or ctx's. mains.Measure gives the same
// facts from its own pass.
func Of(ctx context.Context, src capture.Source) (facts []Facts, err error) {
	r, err := src.Open(ctx)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	m := NewMeters(src.Channels(), float64(src.Rate()))
	buffer, frames := make([][]float64, src.Channels()), make([][]float64, src.Channels())
	for c := range buffer {
		buffer[c] = make([]float64, 8192)
	}
	for {
		n, err := r.Read(buffer)
		for c := range frames {
			frames[c] = buffer[c][:n]
		}
		m.Add(frames)
		if err == io.EOF {
			return m.Facts(), nil
		}
		if err != nil {
			return nil, err
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
}
