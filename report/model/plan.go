package model

// Plan says what to record: how long, how often, in which order.
type Plan struct {
	Head
	Length   *PlanLength `json:"length"`  // absent where no floor was given
	Repeats  PlanRepeats `json:"repeats"` // of each cable
	Order    *PlanOrder  `json:"order"`   // absent where no cables were named
	Tones    *PlanTones  `json:"tones"`   // to play as a known source; absent where none were asked for
	Warnings []Warning   `json:"warnings"`
}

// PlanLength is how long to record, for a line that can be followed: its mains
// is known from a stronger line.
type PlanLength struct {
	See             PlanLevel  `json:"see"`      // the line to be seen; null where none was given
	Floor           PlanLevel  `json:"floor"`    // per hertz, volts per √Hz
	FloorOf         string     `json:"floor_of"` // the file that it was measured in; empty: it was stated
	FloorChannel    int        `json:"floor_channel"`
	FloorHarmonic   int        `json:"floor_harmonic"` // the line beside which it was measured
	Lines           int        `json:"lines"`          // that are looked for together
	FalseAlarmShare float64    `json:"false_alarm_share"`
	Times           []PlanTime `json:"times"` // to see it; none where no line was given
	Alone           []PlanTime `json:"alone"` // to see it where no line is stronger: at most so long, for one of the first three harmonics
	Reach           []PlanTime `json:"reach"` // what recordings of some lengths see
}

// PlanLevel is a level in what is known of it.
type PlanLevel struct {
	DBFS  Num `json:"dbfs"`
	Volts Num `json:"volts"`
}

// PlanTime is a length of recording, and the line that this share of recordings
// finds. Where the share is 0.975 that is also the highest detection limit of one
// that doesn't find it.
type PlanTime struct {
	Share   float64   `json:"share"`
	Seconds Num       `json:"seconds"` // null: longer than six hours
	Line    PlanLevel `json:"line"`
}

// Where a number of repeats comes from.
const (
	RepeatsGiven   = "given"
	RepeatsPower   = "power"   // for a power of 80 %, rounded up to an even number
	RepeatsUnknown = "unknown" // six, as nothing is known
)

// PlanRepeats is how many repeats to make of each cable. For a difference by Student's
// two-sided test at the level alpha, which is 0.05 over the number of pairs of cables;
// for sameness by two one-sided tests of each pair, each at 0.05.
type PlanRepeats struct {
	DifferenceDB Num         `json:"difference_db"` // to be told apart; null: not given
	WithinDB     Num         `json:"within_db"`     // a margin for two cables to be shown the same, where they are; null: not given
	SpreadDB     Num         `json:"spread_db"`     // standard deviation of single repeats
	Pairs        int         `json:"pairs"`
	Alpha        float64     `json:"alpha"`
	Powers       []PlanPower `json:"powers"`
	Chosen       int         `json:"chosen"`
	Why          string      `json:"why"`
	Power        Num         `json:"power"` // that the chosen number has
}

// PlanPower is the repeats that a power takes; 0: more than anybody makes.
type PlanPower struct {
	Power   float64 `json:"power"`
	Repeats int     `json:"repeats"`
}

// PlanOrder is the order in which to record.
type PlanOrder struct {
	Title     string    `json:"title"`
	Seed      uint64    `json:"seed"`
	Blind     bool      `json:"blind"` // cables are letters
	KeySHA256 string    `json:"key_sha256"`
	Witness   string    `json:"witness"`
	Seconds   float64   `json:"seconds"` // of each capture
	Cables    []string  `json:"cables"`
	Exposures []string  `json:"exposures"`
	Runs      []PlanRun `json:"runs"`
}

// PlanRun is one capture to be made. Runs of one block are made without touching
// the cable.
type PlanRun struct {
	Number      int    `json:"number"`
	Block       int    `json:"block"`
	Condition   string `json:"condition"` // calibration, residual, quiet, near or dead
	Cable       string `json:"cable"`
	Termination Num    `json:"termination_ohms"` // null: open, or not stated
	Open        bool   `json:"open"`
	Exposure    string `json:"exposure"`
	Repeat      int    `json:"repeat"`
	Replaced    bool   `json:"replaced"` // the lead is taken away and put back before it
	Plug        int    `json:"plug"`     // 1 or 2; 0: the lead is away
	File        string `json:"file"`
}

// PlanTones is the signal of a known source, and what it shows.
type PlanTones struct {
	File           string     `json:"file"`             // that it was written to
	FullScaleVolts Num        `json:"full_scale_volts"` // rms at the wire, of a full-scale sine at the output; null: not stated
	SourceOhms     Num        `json:"source_ohms"`      // that the cable is terminated in
	FloorVolts     Num        `json:"floor_volts_per_root_hz"`
	SeeFarads      Num        `json:"see_farads"` // to be seen; null: not asked
	Seconds        float64    `json:"seconds"`
	RateHz         float64    `json:"rate_hz"`
	Crest          float64    `json:"crest"` // peak over rms
	Tones          []PlanTone `json:"tones"`
	SeesFarads     Num        `json:"sees_farads"` // the least that the best tone shows; null: voltage or floor not known
}

// PlanTone is one tone of it.
type PlanTone struct {
	Hz         float64 `json:"hz"`
	DBFS       Num     `json:"dbfs"`
	Volts      Num     `json:"volts"`
	ClearHz    float64 `json:"clear_hz"`    // from the nearest line of 50 or 60 Hz
	LikeVolts  Num     `json:"like_volts"`  // at 50 Hz, that would couple as it does
	SeesFarads Num     `json:"sees_farads"` // the least that nine captures in ten show
}
