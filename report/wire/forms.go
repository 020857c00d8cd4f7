package wire

import (
	"math"
	"slices"

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

// Words for what is known: those of every form, in the order of estimate's states, and those
// of levels.
var (
	states      = []string{"unknown", "measured", "range", "at_least", "at_most"}
	deltaStates = append([]string{"not_measurable"}, states[1:]...)
	levelStates = []string{"detected", "undetected"}
)

// estimate is the keys that an estimate becomes.
func (m maker) estimate(x model.Estimate, form string) []node {
	v, lo, hi := x.Numbers()
	state := node{key: "state", kind: word, text: states[x.State()], enum: states}
	switch form {
	case levelForm:
		volts, _ := m.scale().InVolts(x).Value()
		limit := math.NaN()
		if state.text, state.enum = levelStates[0], levelStates; !x.Measured() {
			state.text, hi, limit = levelStates[1], limit, hi
		}
		return []node{state, floating("dbfs", v), floating("lo_dbfs", lo), floating("hi_dbfs", hi), floating("limit_dbfs", limit), floating("volts", volts)}
	case deltaForm:
		state.text, state.enum = deltaStates[x.State()], deltaStates
		return append([]node{state}, ends("db", x)...)
	case pickupForm:
		phase, within, _ := x.Phase()
		return slices.Concat([]node{state}, ends("volts", m.scale().AmplitudeInVolts(x)), ends("fs", x),
			[]node{floating("phase_deg", model.Digits(phase*degree, 6)), floating("phase_u95_deg", model.Digits(within*degree, 6))})
	case dbfsForm:
		return append(m.estimate(x, ""), ends("volts", m.scale().InVolts(x))...)
	}
	return []node{state, floating("value", v), floating("lo", lo), floating("hi", hi), m.word("why", x.Why())}
}

// ends are the keys of a value and its ends, in the unit that they end in.
func ends(unit string, x model.Estimate) []node {
	v, lo, hi := x.Numbers()
	return []node{floating(unit, v), floating("lo_"+unit, lo), floating("hi_"+unit, hi)}
}

// degree is a radian in degrees.
const degree = 180 / math.Pi

// estimate is what the keys of a form say.
func (m members) estimate(form string) model.Estimate {
	switch form {
	case levelForm:
		if m.text("state") == levelStates[0] {
			return estimate.Of(m.number("dbfs"), m.number("lo_dbfs"), m.number("hi_dbfs"))
		}
		return estimate.Between(m.number("lo_dbfs"), m.number("limit_dbfs"))
	case deltaForm:
		return m.stated("db", "lo_db", "hi_db")
	case pickupForm:
		return m.stated("fs", "lo_fs", "hi_fs").At(m.number("phase_deg")/degree, m.number("phase_u95_deg")/degree)
	}
	return m.stated("value", "lo", "hi")
}

func (m members) stated(value, lo, hi string) model.Estimate {
	switch estimate.State(max(0, slices.Index(states, m.text("state")))) {
	case estimate.Measured:
		return estimate.Of(m.number(value), m.number(lo), m.number(hi))
	case estimate.Range:
		return estimate.Between(m.number(lo), m.number(hi))
	case estimate.AtLeast:
		return estimate.Above(m.number(lo))
	case estimate.AtMost:
		return estimate.Below(m.number(hi))
	}
	return estimate.None(m.text("why"))
}
