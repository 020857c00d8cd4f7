package model

import (
	"math"

	"humdiff/fft/estimate"
)

// For whom a scale is.
const (
	ForAll   = "all"
	ForQuiet = "quiet"
	ForNear  = "near"
)

// Scale is what full scale is in volts, how well that is known, and from what.
type Scale struct {
	For            string `json:"for"`              // ForAll, ForQuiet or ForNear
	FullScaleVolts Num    `json:"full_scale_volts"` // rms of a full-scale sine at the input; null where only gains are known
	Said           string `json:"said"`             // as given
	GainDB         Num    `json:"gain_db"`          // as given, taken off full_scale_volts; null where none was

	// The half-width of the 95 % interval of the scale, in dB, from Parts; null
	// where volts are unknown. It holds no part whose uncertainty wasn't stated:
	// then Complete is false.
	U95DB    Num         `json:"u95_db"`
	Complete bool        `json:"complete"`
	Parts    []ScalePart `json:"parts"`

	Calibrations []Calibration `json:"calibrations"`
	DriftDB      Num           `json:"drift_db"` // full scale by the last calibration over that by the first; null without two
}

// ScalePart is one contribution to a scale's uncertainty.
type ScalePart struct {
	What  string `json:"what"`
	UDB   Num    `json:"u_db"`  // standard uncertainty; null: not stated
	DOF   Num    `json:"dof"`   // degrees of freedom; null: as good as infinite
	Basis string `json:"basis"` // how it was got
}

// Step is how much more voltage near's full scale is than quiet's.
type Step struct {
	DB       Num  `json:"db"`     // 0 on one scale; null where the two can't be compared
	U95DB    Num  `json:"u95_db"` // 0 on one scale: what is wrong with it is wrong in both
	Complete bool `json:"complete"`
}

// Calibration is a capture of a tone of known voltage, and what it says.
type Calibration struct {
	Side
	Address  string `json:"address"`   // as given
	Said     string `json:"said"`      // the tone's voltage as given
	Volts    Num    `json:"volts"`     // rms
	WithinDB Num    `json:"within_db"` // limits of the voltmeter, to either side; null: not stated
	GivenHz  Num    `json:"given_hz"`  // null: the strongest tone was taken

	Hz             Num      `json:"hz"` // by the recorder's clock
	Level          Estimate `json:"level" est:"level"`
	FullScaleVolts Num      `json:"full_scale_volts"` // by this capture alone

	OthersDB   Num `json:"others_db"`    // by how much all else in it raises what a voltmeter reads
	SecondHz   Num `json:"second_hz"`    // the strongest other tone; null: none
	SecondDB   Num `json:"second_db"`    // its level over the tone's
	Clipped    int `json:"clipped"`      // samples
	ClippedDB  Num `json:"clipped_db"`   // what clipping takes off the tone
	ScatterDB  Num `json:"scatter_db"`   // standard deviation of its level from block to block
	Blocks     int `json:"blocks"`       // how many
	PartialDB  Num `json:"partial_db"`   // how far its mean lies off its usual level
	HoldsFromS Num `json:"holds_from_s"` // where in the file it begins to hold that level
	HoldsToS   Num `json:"holds_to_s"`   // and ceases to
}

// ScaleOf is the scale of quiet or near, and whether volts are known on it.
func (s Settings) ScaleOf(side string) (Scale, bool) {
	for _, c := range s.Scales {
		if c.For == ForAll {
			c.FullScaleVolts = s.FullScaleVolts
		}
		if c.For == side || c.For == ForAll {
			return c, c.FullScaleVolts.Ok()
		}
	}
	return Scale{For: ForAll, FullScaleVolts: None, GainDB: None, U95DB: None, DriftDB: None}, false
}

// Volts reports whether volts are known, on one scale or two.
func (s Settings) Volts() bool {
	_, quiet := s.ScaleOf(ForQuiet)
	_, near := s.ScaleOf(ForNear)
	return quiet && near
}

// TwoScales reports whether quiet and near are on different scales.
func (s Settings) TwoScales() bool { return s.Step.DB.Ok() && s.Step.DB != 0 || len(s.Scales) > 1 }

// dBu0 is 0 dBu in dBV: 1 mW in 600 Ω, √0.6 V.
var dBu0 = 10 * math.Log10(0.6)

// InVolts is a level in dBFS as volts rms on this scale; unknown where volts are.
// The scale's uncertainty is added to an interval as a square, as the two are
// independent; what nothing was stated of counts as exact. To a bound it is added
// whole, which is more than enough: how far a bound lies from the level has no one value.
func (s Scale) InVolts(dbfs Estimate) Estimate {
	if !s.FullScaleVolts.Ok() {
		return estimate.None(WhyNoVolts)
	}
	return Widened(dbfs, s.U95DB.OrZero()).Map(func(db float64) float64 { return Digits(float64(s.FullScaleVolts)*math.Pow(10, db/20), 7) })
}

// AmplitudeInVolts is an amplitude, rms relative to full scale, as volts. Its ends
// come from two levels on this one scale, so the scale's uncertainty is added to
// each whole.
func (s Scale) AmplitudeInVolts(fs Estimate) Estimate {
	if !s.FullScaleVolts.Ok() {
		return estimate.None(WhyNoVolts)
	}
	full, off := float64(s.FullScaleVolts), math.Pow(10, s.U95DB.OrZero()/20)
	v, lo, hi := fs.Numbers()
	lo, hi = Digits(full*lo/off, 7), Digits(full*hi*off, 7)
	if fs.Measured() {
		phase, within, _ := fs.Phase()
		return estimate.Of(Digits(full*v, 7), lo, hi).At(phase, within)
	}
	return estimate.Between(lo, hi)
}

// DBV is volts rms in dBV, DBu in dBu.
func DBV(volts Estimate) Estimate {
	return volts.Map(func(v float64) float64 { return DB(v * v).Float() })
}

// DBu is volts rms in dBu: 0 dBu is √0.6 V.
func DBu(volts Estimate) Estimate {
	return volts.Map(func(v float64) float64 { return Places(DB(v*v).Float()-dBu0, 4) })
}

// Widened is a level in dB whose interval holds a further, independent
// uncertainty, added as a square; to a bound it is added whole.
func Widened(db Estimate, u95 float64) Estimate {
	if u95 == 0 {
		return db
	}
	v, lo, hi := db.Numbers()
	if !db.Measured() {
		return estimate.Between(lo-u95, hi+u95)
	}
	// An end on the wrong side, as that of a power less its noise can be, has no
	// distance of its own.
	return estimate.Of(v, v-math.Hypot(max(0, v-lo), u95), v+math.Hypot(max(0, hi-v), u95))
}
