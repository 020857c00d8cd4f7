package figure

import (
	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Alone draws the spectrum of one capture that is compared with no other: its
// trace as a line, the lines that were found with their harmonics, the limits of
// the others as open marks.
func Alone(set model.Settings, c model.Capture) Figure {
	return Figure{Name: "spectrum", of: func(o Options) content {
		p := asNear(c)
		f := spectrumContent(set, p, o)
		f.FigureText = doc.AloneText(set, c, doc.Drawn{Unit: levelsFor(set, o).name(), Part: o.part(), BelowTrace: belowTrace(p), Limits: hasLimits(p)})
		f.key = aloneKey(p)
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

func aloneKey(p model.Pair) []entry {
	n := doc.CountLines(p)
	var key []entry
	if n.NearOnly > 0 {
		key = append(key, entry{doc.KeyAlone, func(c draw.Canvas, at vg.Point, st style) { nearMark(c, at, st, true) }})
	}
	if n.Neither > 0 {
		key = append(key, entry{doc.KeyLimit, func(c draw.Canvas, at vg.Point, st style) { nearMark(c, at, st, false) }})
	}
	return key
}
