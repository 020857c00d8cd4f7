package capture

import "context"

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
