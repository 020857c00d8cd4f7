package measure

import (
	"humdiff/fft/mains"
	"humdiff/report/model"
)

// Measured states what was measured of samples that no file holds.
func Measured(side model.Side, m mains.Measurement) model.Capture {
	return reader{}.channel(side, m).Capture
}
