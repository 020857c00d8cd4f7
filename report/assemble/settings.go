package assemble

import (
	"fmt"
	"strconv"

	"humdiff/fft"
	"humdiff/fft/mains"
	"humdiff/report/result"
	"humdiff/report/volts"
)

// defaultUpTo is the measurement's own highest line where nothing was said.
const defaultUpTo = 5000 // Hz

// Settings states how a result was measured, and on which scale: none, one for
// all, or quiet's and near's. Two scales of which one alone has volts leave the
// step between them, and so every delta, unknown: see volts.Between.
func Settings(opt mains.Options, scales ...volts.Scale) result.Settings {
	s := measured(opt)
	switch {
	case len(scales) == 1 && scales[0].Known():
		return withScale(s, scales[0])
	case len(scales) == 2 && (scales[0].Known() || scales[1].Known()):
		return withScales(s, scales[0], scales[1])
	}
	return s
}

func withScale(s result.Settings, scale volts.Scale) result.Settings {
	s.Scales = []result.Scale{scale.State(result.ForAll)}
	s.FullScaleVolts = s.Scales[0].FullScaleVolts
	if s.FullScaleVolts.Ok() {
		s.FullScaleSaid = scale.Said
	}
	return s
}

func withScales(s result.Settings, quiet, near volts.Scale) result.Settings {
	s.Step, _ = volts.Between(quiet, near)
	s.Scales = []result.Scale{quiet.State(result.ForQuiet), near.State(result.ForNear)}
	s.FullScaleSaid = "quiet: " + quiet.Said + "; near: " + near.Said
	return s
}

// measured is how a result was measured.
func measured(opt mains.Options) result.Settings {
	s := result.Settings{
		Mains:           "auto",
		UpToHz:          defaultUpTo,
		Window:          fft.Nuttall.Name,
		FullScaleVolts:  result.None,
		Confidence:      mains.Confidence,
		FalseAlarmShare: mains.FalseAlarms,
		WideMains:       opt.Wide,
		Scales:          []result.Scale{},
		Step:            result.Step{Complete: true},
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
