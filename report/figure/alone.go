package figure

import (
	"humdiff/report/doc"
	"humdiff/report/model"
)

// Alone draws the spectrum of one capture that is compared with no other: its
// trace as a line, the lines that were found with their harmonics, the limits of
// the others as open marks.
func Alone(set model.Settings, c model.Capture) Figure {
	return Figure{Name: "spectrum", of: func(o Options) content {
		p := asNear(c)
		f := spectrumContent(set, p, o)
		f.FigureText = doc.AloneText(set, c, doc.Drawn{Unit: levelsFor(set, o).name(), Part: o.part(), BelowTrace: belowTrace(p), Limits: o.Limits && hasLimits(p)})
		f.key = f.key[2:]
		return f
	}}
}

// asNear is a capture as a pair of which only near was recorded: what isn't there
// has no level and no limit.
func asNear(c model.Capture) model.Pair {
	p := model.Pair{Near: c}
	p.Quiet.Mains.Hz, p.Quiet.Mains.NominalHz = model.None, model.None
	for _, l := range c.Lines {
		p.Lines = append(p.Lines, model.LineChange{Harmonic: l.Harmonic, Hz: l.Hz})
	}
	return p
}
