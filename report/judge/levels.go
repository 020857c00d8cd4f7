package judge

import (
	"math"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// levelOf names a level: a run's, or its idle channel's.
type levelOf struct {
	run  int
	idle bool
	of   model.Quantity
}

// level is the hum of a run, unknown where it has none.
func (b *bench) level(r *run, idle bool, of model.Quantity) model.Estimate {
	key := levelOf{r.Number, idle, of}
	l, ok := b.levels[key]
	if !ok {
		c := r.Capture
		if idle {
			c = r.IdleCapture
		}
		l = b.taken(*c, of)
		b.levels[key] = l
	}
	return l
}

func (b *bench) taken(c model.Capture, of model.Quantity) (none model.Estimate) {
	switch {
	case of.Harmonic > len(c.Lines), of.Harmonic > 0 && c.Lines[of.Harmonic-1].Hidden, len(c.Lines) < b.set.Lines:
		return none
	case of.Harmonic > 0:
		return c.Lines[of.Harmonic-1].Level
	case of.AWeighted:
		return total(c, aWeighted(b.set))
	}
	return total(c, b.set)
}

// scaleU is the standard uncertainty of the scale, dB; what nothing was stated of counts as
// exact.
func (b *bench) scaleU() float64 {
	scale, _ := b.Settings.ScaleOf(model.ForAll)
	return scale.U95DB.OrZero() / 1.96
}

// inVolts is a level in dBFS as volts; a lower end that may be zero is zero.
func (b *bench) inVolts(e ends) model.Estimate {
	full := b.Settings.FullScaleVolts.Float()
	volts := func(db float64) float64 { return model.Digits(full*amplitude(db), 7) }
	e = ends{volts(e.lo), volts(e.mid), volts(e.hi)}
	switch {
	case !math.IsNaN(e.mid) && !math.IsInf(e.mid, 0):
		return estimate.Of(e.mid, e.lo, model.Of(e.hi).Float())
	case e.lo == 0 && math.IsInf(e.hi, 1):
		return estimate.None("") // from zero to anything is nothing known
	}
	return estimate.Between(e.lo, e.hi)
}
