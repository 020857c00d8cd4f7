package assemble

import (
	"strconv"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/report/result"
)

// defaultUpTo is the measurement's own highest line where nothing was said.
const defaultUpTo = 5000 // Hz

// Settings states how a result was measured.
func Settings(opt mains.Options, scale capture.Scale) result.Settings {
	s := result.Settings{
		Mains:           "auto",
		UpToHz:          defaultUpTo,
		Window:          fft.Nuttall.Name,
		FullScaleVolts:  result.None,
		FullScaleSaid:   scale.Said,
		Confidence:      mains.Confidence,
		FalseAlarmShare: mains.FalseAlarms,
		WideMains:       opt.Wide,
	}
	if opt.Nominal != 0 {
		s.Mains = strconv.FormatFloat(opt.Nominal, 'g', -1, 64)
	}
	if opt.UpTo != 0 {
		s.UpToHz = opt.UpTo
	}
	if opt.Window.Name != "" {
		s.Window = opt.Window.Name
	}
	if scale.Volts != 0 {
		s.FullScaleVolts = result.Of(scale.Volts)
	}
	return s
}
