package assemble

import (
	"context"
	"fmt"
	"math"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
)

// Calibrate gives the scale that a capture of a tone of known rms voltage
// shows; said is the voltage as it was given. The tone has to have come through
// the same gain as the captures that the scale is for. Errors name the file.
func Calibrate(ctx context.Context, tone capture.Address, said string) (capture.Scale, error) {
	volts, err := capture.ParseVolts(said)
	if err != nil {
		return capture.Scale{}, err
	}
	file, err := capture.Open(tone)
	if err != nil {
		return capture.Scale{}, err
	}
	hz, power, err := mains.ToneLevel(ctx, file)
	if err != nil {
		return capture.Scale{}, named(ctx, file, err)
	}
	return capture.Scale{
		Volts: volts / math.Sqrt(power),
		Said:  fmt.Sprintf("the %.1f Hz tone of %s is %s", hz, tone, said),
	}, nil
}
