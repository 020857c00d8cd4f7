package assemble

import (
	"fmt"
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

// Options is what settings say about how captures were measured: the inverse of
// Settings, but for the scale. It fails on words that Settings never writes.
func Options(s result.Settings) (mains.Options, error) {
	opt := mains.Options{Wide: s.WideMains, UpTo: s.UpToHz}
	window, err := fft.WindowByName(s.Window)
	if err != nil {
		return opt, fmt.Errorf("its settings name a window %q that isn't known", s.Window)
	}
	opt.Window = window
	if s.Mains != "auto" {
		nominal, err := strconv.ParseFloat(s.Mains, 64)
		if err != nil || nominal != 50 && nominal != 60 {
			return opt, fmt.Errorf("its settings name a mains %q that isn't known", s.Mains)
		}
		opt.Nominal = nominal
	}
	if !(s.UpToHz > 0) {
		return opt, fmt.Errorf("its settings name no highest line")
	}
	return opt, nil
}
