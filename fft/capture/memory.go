package capture

import "context"

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

func (m *memory) Read(ctx context.Context, do func(frames [][]float64) error) error {
	frames := make([][]float64, len(m.channels))
	for at, end := 0, int(m.Frames()); at < end && ctx.Err() == nil; at += Block {
		for c, x := range m.channels {
			frames[c] = x[at:min(at+Block, end)]
		}
		if err := do(frames); err != nil {
			return err
		}
	}
	return ctx.Err()
}
