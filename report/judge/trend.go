package judge

import "humdiff/report/model"

// TrendWarnings are those of channels that were followed step by step.
func TrendWarnings(set model.Settings, captures []model.TrendCapture, measuring []model.Warning) []model.Warning {
	l := list{}
	l.once(scaleWarnings(set)...)
	l.once(measuring...)
	for _, c := range captures {
		l.calibrated(set, model.ForAll, c.Side)
	}
	return l.all()
}

// CheckWarnings are those of files that were looked at.
func CheckWarnings(files []model.CheckedFile, measuring []model.Warning) []model.Warning {
	l := list{}
	l.once(measuring...)
	for _, f := range files {
		for _, c := range f.Channels {
			side := model.Side{File: f.File, Channel: c.Channel, Bits: int(f.Bits), Float: f.Float}
			l.depth(model.Capture{Side: side, Health: c.Health})
		}
	}
	return l.all()
}
