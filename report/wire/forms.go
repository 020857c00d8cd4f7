package wire

import (
	"math"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// The forms of an Estimate:
//
//	level    state (detected, undetected), dbfs, lo_dbfs, hi_dbfs, limit_dbfs, volts
//	delta    state (measured, range, at_least, at_most, not_measurable), db, lo_db, hi_db
//	pickup   state, volts, lo_volts, hi_volts, fs, lo_fs, hi_fs (relative to full scale),
//	         phase_deg, phase_u95_deg (against the reference's own line; null without one)
//	dbfs     state, value, lo, hi, why, volts, lo_volts, hi_volts
//	(none)   state, value, lo, hi, why
//
// Volts are restated: reading passes over them.
const (
	levelForm  = "level"
	deltaForm  = "delta"
	pickupForm = "pickup"
	dbfsForm   = "dbfs"
)

// Words for what is known.
const (
	detected      = "detected"
	undetected    = "undetected"
	notMeasurable = "not_measurable"
	unknown       = "unknown"
)

var states = map[estimate.State]string{
	estimate.Measured: "measured", estimate.Range: "range", estimate.AtLeast: "at_least", estimate.AtMost: "at_most", estimate.Unknown: unknown,
}

// estimate is the keys that an estimate becomes.
func (e *encoder) estimate(x model.Estimate, form string) []pair {
	v, lo, hi := x.Numbers()
	switch form {
	case levelForm:
		volts, _ := e.scale().InVolts(x).Value()
		if x.Measured() {
			return []pair{word("state", detected), number("dbfs", v), number("lo_dbfs", lo), number("hi_dbfs", hi), number("limit_dbfs", math.NaN()), number("volts", volts)}
		}
		return []pair{word("state", undetected), number("dbfs", v), number("lo_dbfs", lo), number("hi_dbfs", math.NaN()), number("limit_dbfs", hi), number("volts", volts)}
	case deltaForm:
		state := states[x.State()]
		if state == unknown {
			state = notMeasurable
		}
		return []pair{word("state", state), number("db", v), number("lo_db", lo), number("hi_db", hi)}
	case pickupForm:
		phase, within := degrees(x)
		volts, loVolts, hiVolts := e.scale().AmplitudeInVolts(x).Numbers()
		return []pair{word("state", states[x.State()]), number("volts", volts), number("lo_volts", loVolts), number("hi_volts", hiVolts), number("fs", v), number("lo_fs", lo), number("hi_fs", hi),
			number("phase_deg", phase), number("phase_u95_deg", within)}
	}
	all := []pair{word("state", states[x.State()]), number("value", v), number("lo", lo), number("hi", hi), word("why", x.Why())}
	if form == dbfsForm {
		volts, loVolts, hiVolts := e.scale().InVolts(x).Numbers()
		all = append(all, number("volts", volts), number("lo_volts", loVolts), number("hi_volts", hiVolts))
	}
	return all
}

// degree is a radian in degrees.
const degree = 180 / math.Pi

// degrees are a phasor's phase and the half-width of its interval; NaN without one.
func degrees(x model.Estimate) (phase, within float64) {
	phase, within, _ = x.Phase()
	return model.Digits(phase*degree, 6), model.Digits(within*degree, 6)
}

// estimateOf is what the keys of a form say.
func estimateOf(form string, text func(key string) string, number func(key string) float64) model.Estimate {
	switch form {
	case levelForm:
		if text("state") == detected {
			return estimate.Of(number("dbfs"), number("lo_dbfs"), number("hi_dbfs"))
		}
		return estimate.Between(number("lo_dbfs"), number("limit_dbfs"))
	case deltaForm:
		return stated(text("state"), number("db"), number("lo_db"), number("hi_db"), "")
	case pickupForm:
		return stated(text("state"), number("fs"), number("lo_fs"), number("hi_fs"), "").At(number("phase_deg")/degree, number("phase_u95_deg")/degree)
	}
	return stated(text("state"), number("value"), number("lo"), number("hi"), text("why"))
}

func stated(state string, v, lo, hi float64, why string) model.Estimate {
	switch state {
	case states[estimate.Measured]:
		return estimate.Of(v, lo, hi)
	case states[estimate.Range]:
		return estimate.Between(lo, hi)
	case states[estimate.AtLeast]:
		return estimate.Above(lo)
	case states[estimate.AtMost]:
		return estimate.Below(hi)
	}
	return estimate.None(why)
}
