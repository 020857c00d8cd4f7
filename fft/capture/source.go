package capture

import "context"

// Source is a capture that can be read, and read again: a span of chosen
// channels of a WAV file, or simulated samples.
type Source interface {
	// Rate is the sample rate in hertz.
	Rate() int
	// Channels is how many channels it has.
	Channels() int
	// Frames is how many frames (samples per channel) it has.
	Frames() int64
	// Read hands all frames to do in their order, up to Block at a time, one slice a
	// channel, full scale ±1. do may neither keep nor change them. Its error ends the
	// reading; other errors are ctx's or the source's.
	Read(ctx context.Context, do func(frames [][]float64) error) error
}

// Block is how many frames a Source hands out at most at a time.
const Block = 4096

// Each hands all frames of a source to do; progress, nil or not, is told how many that
// were so far. The error is the source's or ctx's.
func Each(ctx context.Context, src Source, progress func(done, total int64), do func(frames [][]float64)) error {
	done := int64(0)
	return src.Read(ctx, func(frames [][]float64) error {
		do(frames)
		if done += int64(len(frames[0])); progress != nil {
			progress(done, src.Frames())
		}
		return ctx.Err()
	})
}
