package figure

import (
	"math"
	"slices"

	"humdiff/report/model"
)

// oneScale puts quiet on near's scale, so that one axis holds both, and says by
// how much it moved; a pair on one scale stays as it is.
func oneScale(set model.Settings, p model.Pair) (model.Settings, model.Pair, model.Num) {
	step := set.Step.DB
	if !step.Ok() || step == 0 {
		return set, p, 0
	}
	near, _ := set.ScaleOf(model.ForNear)
	near.For = model.ForAll
	set.Scales, set.Step = []model.Scale{near}, model.Step{Complete: true}
	set.FullScaleVolts, set.FullScaleSaid = near.FullScaleVolts, near.Said
	p.Quiet = moved(p.Quiet, -float64(step))
	return set, p, step
}

// moved is a capture's drawn levels so many decibels higher.
func moved(c model.Capture, db float64) model.Capture {
	up := model.Num(db)
	c.Lines = slices.Clone(c.Lines)
	for i := range c.Lines {
		c.Lines[i].Level = c.Lines[i].Level.Shift(db)
		c.Lines[i].FloorDBFSHz += up
	}
	c.Tones = slices.Clone(c.Tones)
	for i := range c.Tones {
		c.Tones[i].DBFS += up
	}
	c.Trace.LoDBFS, c.Trace.HiDBFS = each(c.Trace.LoDBFS, func(v model.Num) model.Num { return v + up }), each(c.Trace.HiDBFS, func(v model.Num) model.Num { return v + up })
	times := model.Num(math.Pow(10, db/20))
	c.Cycle.Samples = each(c.Cycle.Samples, func(v model.Num) model.Num { return v * times })
	return c
}

func each(list []model.Num, f func(model.Num) model.Num) []model.Num {
	out := make([]model.Num, len(list))
	for i, v := range list {
		out[i] = f(v)
	}
	return out
}
