package measure

import (
	"fmt"
	"strconv"

	"humdiff/fft"
	"humdiff/fft/mains"
	"humdiff/report/model"
)

// defaultUpTo is the measurement's own highest line where nothing was said.
const defaultUpTo = 5000 // Hz

// Settings states how captures are measured, and on which scale: none, one for
// all, or quiet's and near's. Two scales of which one alone has volts leave the
// step between them, and so every delta, unknown: see Between.
func Settings(opt Options, scales ...Scale) model.Settings {
	s := settingsOf(opt.Options)
	s.Weighting = opt.Weighting
	s.Reference = opt.Reference
	switch {
	case len(scales) == 1 && scales[0].Known():
		s.Scales = []model.Scale{scales[0].State(model.ForAll)}
		if s.FullScaleVolts = s.Scales[0].FullScaleVolts; s.FullScaleVolts.Ok() {
			s.FullScaleSaid = scales[0].said
		}
	case len(scales) == 2 && (scales[0].Known() || scales[1].Known()):
		quiet, near := scales[0], scales[1]
		s.Step, _ = Between(quiet, near) // else it is stated as unknown
		s.Scales = []model.Scale{quiet.State(model.ForQuiet), near.State(model.ForNear)}
		s.FullScaleSaid = "quiet: " + quiet.said + "; near: " + near.said
	}
	return s
}

// settingsOf is how captures are measured, on no scale.
func settingsOf(opt mains.Options) model.Settings {
	s := model.Settings{
		Mains:           "auto",
		UpToHz:          defaultUpTo,
		Window:          fft.Nuttall.Name,
		FullScaleVolts:  model.None,
		Confidence:      mains.Confidence,
		FalseAlarmShare: mains.FalseAlarms,
		WideMains:       opt.Wide,
		Scales:          []model.Scale{},
		Step:            model.Step{Complete: true},
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

// OptionsOf is what settings say about how captures were measured: the inverse of
// Settings, but for the scale. It fails on words that Settings never writes.
func OptionsOf(s model.Settings) (Options, error) {
	opt := Options{Options: mains.Options{Wide: s.WideMains, UpTo: s.UpToHz}, Weighting: s.Weighting, Reference: s.Reference}
	if s.Weighting != "" && s.Weighting != Weighting468 {
		return opt, fmt.Errorf("its settings name a weighting %q that isn't known", s.Weighting)
	}
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
