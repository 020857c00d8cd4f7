package result

import "math"

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

	Hz             Num `json:"hz"` // by the recorder's clock
	DBFS           Num `json:"dbfs"`
	LoDBFS         Num `json:"lo_dbfs"`
	HiDBFS         Num `json:"hi_dbfs"`
	FullScaleVolts Num `json:"full_scale_volts"` // by this capture alone

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

// Voltage is a level as a voltage, rms; null where volts are unknown. 0 dBV is
// 1 V, 0 dBu is √0.6 V.
type Voltage struct {
	Volts Num `json:"volts"`
	DBV   Num `json:"dbv"`
	DBu   Num `json:"dbu"`
}

// Absolute is a level's ends as voltages, and the level in dBV and dBu. Its
// intervals hold the scale's uncertainty besides the recording's noise.
type Absolute struct {
	LoVolts    Num `json:"lo_volts"`
	HiVolts    Num `json:"hi_volts"`
	LimitVolts Num `json:"limit_volts"`
	DBV        Num `json:"dbv"`
	LoDBV      Num `json:"lo_dbv"`
	HiDBV      Num `json:"hi_dbv"`
	LimitDBV   Num `json:"limit_dbv"`
	DBu        Num `json:"dbu"`
	LoDBu      Num `json:"lo_dbu"`
	HiDBu      Num `json:"hi_dbu"`
	LimitDBu   Num `json:"limit_dbu"`
}

// NoAbsolute is Absolute where volts are unknown.
func NoAbsolute() Absolute {
	return Absolute{None, None, None, None, None, None, None, None, None, None, None}
}

// NoVoltage is Voltage where volts are unknown.
func NoVoltage() Voltage { return Voltage{None, None, None} }

// NoiseVolts is the noise of one capture as voltages.
type NoiseVolts struct {
	Flat Voltage `json:"flat"`
	A    Voltage `json:"a"`
	W468 Voltage `json:"w468"`
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
	// A result of before there were scales.
	return Scale{For: ForAll, FullScaleVolts: s.FullScaleVolts, Said: s.FullScaleSaid, GainDB: None, U95DB: None, DriftDB: None}, s.FullScaleVolts.Ok()
}

// Volts reports whether volts are known, on one scale or two.
func (s Settings) Volts() bool {
	_, quiet := s.ScaleOf(ForQuiet)
	_, near := s.ScaleOf(ForNear)
	return quiet && near
}

// TwoScales reports whether quiet and near are on different scales.
func (s Settings) TwoScales() bool { return s.Step.DB.Ok() && s.Step.DB != 0 || len(s.Scales) > 1 }

// OnNearScale is a pair with quiet's levels relative to near's full scale, as a
// figure needs that shows both on one axis: its settings then have one scale.
// What is in volts, and deltas, stay as they are.
func OnNearScale(set Settings, p Pair) (Settings, Pair) {
	up := -set.Step.DB
	if !up.Ok() || up == 0 {
		return set, p
	}
	near, _ := set.ScaleOf(ForNear)
	near.For = ForAll
	set.Scales, set.Step = []Scale{near}, Step{Complete: true}
	set.FullScaleVolts, set.FullScaleSaid = near.FullScaleVolts, near.Said
	p.Lines = append([]PairLine(nil), p.Lines...)
	for i := range p.Lines {
		q := &p.Lines[i].Quiet
		for _, v := range []*Num{&q.DBFS, &q.LoDBFS, &q.HiDBFS, &q.LimitDBFS, &q.FloorDBFSHz} {
			*v += up
		}
	}
	for _, v := range []*Num{&p.Hum.QuietDBFS, &p.Hum.Quiet.DBFS, &p.Hum.Quiet.LoDBFS, &p.Hum.Quiet.HiDBFS, &p.Hum.Quiet.LimitDBFS,
		&p.Noise.QuietDBFS, &p.Noise.QuietADBFS, &p.Noise.Quiet468DBFS} {
		*v += up
	}
	p.Tones.Quiet = append([]Tone(nil), p.Tones.Quiet...)
	for i := range p.Tones.Quiet {
		p.Tones.Quiet[i].DBFS += up
	}
	p.Trace.Quiet.LoDBFS, p.Trace.Quiet.HiDBFS = raised(p.Trace.Quiet.LoDBFS, up), raised(p.Trace.Quiet.HiDBFS, up)
	times := Num(math.Pow(10, float64(up)/20))
	p.Cycle.Quiet.Samples = append([]Num(nil), p.Cycle.Quiet.Samples...)
	for i := range p.Cycle.Quiet.Samples {
		p.Cycle.Quiet.Samples[i] *= times
	}
	return set, p
}

func raised(levels []Num, up Num) []Num {
	out := make([]Num, len(levels))
	for i, v := range levels {
		out[i] = v + up
	}
	return out
}
