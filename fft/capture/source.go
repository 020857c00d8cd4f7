package capture

import (
	"context"
	"errors"
	"io"
)

// Source is a capture that can be read, and read again: a span of chosen
// channels of a WAV file, or simulated samples.
type Source interface {
	// Rate is the sample rate in hertz.
	Rate() int
	// Channels is how many channels a Reader delivers.
	Channels() int
	// Frames is how many frames (samples per channel) a Reader delivers.
	Frames() int64
	// Open starts reading at the span's first frame.
	Open(ctx context.Context) (Reader, error)
}

// Reader hands out a capture's samples in order.
type Reader interface {
	// Read fills dst[c][:n] for every channel c of the source and returns n,
	// the frames delivered; full scale is ±1. All dst[c] have equal length.
	// At the end it returns 0, io.EOF. It returns ctx's error once ctx is done.
	Read(dst [][]float64) (n int, err error)
	Close() error
}

// Each hands all frames of a source to do, some thousands at a time, in order; progress,
// nil or not, is told how many that were so far. The error is the source's or ctx's.
func Each(ctx context.Context, src Source, progress func(done, total int64), do func(frames [][]float64)) (err error) {
	r, err := src.Open(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	buffer, frames := make([][]float64, src.Channels()), make([][]float64, src.Channels())
	for c := range buffer {
		buffer[c] = make([]float64, 4096)
	}
	for done := int64(0); ; {
		n, err := r.Read(buffer)
		if n > 0 {
			for c := range frames {
				frames[c] = buffer[c][:n]
			}
			do(frames)
			if done += int64(n); progress != nil {
				progress(done, src.Frames())
			}
		}
		if err == io.EOF {
			return nil
		}
		if err = errors.Join(err, ctx.Err()); err != nil {
			return err
		}
	}
}
