package health

import (
	"context"

	"humdiff/fft/capture"
)

// Of reads a capture of any length and says what its samples betray, by
// channel. The error is the source's or ctx's. mains.Measure gives the same
// facts from its own pass.
func Of(ctx context.Context, src capture.Source) ([]Facts, error) {
	m := NewMeters(src.Channels(), float64(src.Rate()))
	if err := capture.Each(ctx, src, nil, m.Add); err != nil {
		return nil, err
	}
	return m.Facts(), nil
}
