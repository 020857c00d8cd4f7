package model

// Verdicts on audibility. They compare with the median threshold of hearing in
// silence, under the assumptions that go with them.
const (
	AboveThreshold  = "above"       // by 10 dB and more
	BelowThreshold  = "below"       // by 10 dB and more, user's margin included
	NearThreshold   = "not_decided" // in between, or the intervals are too wide
	NotPlayed       = "not_played"  // no loudspeaker or headphone was given
	KindLoudspeaker = "loudspeaker"
	KindHeadphone   = "headphone"
)

// Playback is the chain that hum at the input would be played through, as
// stated; null and empty where it wasn't.
type Playback struct {
	ProgrammeVolts Num     `json:"programme_volts"` // rms at the input
	GainDB         Num     `json:"gain_db"`         // from the input to the loudspeaker or headphone
	Kind           string  `json:"kind"`            // loudspeaker, headphone or empty
	SensitivityDB  Num     `json:"sensitivity_db"`  // dB SPL at 2.83 V and 1 m; of a headphone, at 1 V
	DistanceMetres Num     `json:"distance_metres"`
	Loudspeakers   int     `json:"loudspeakers"`
	MarginDB       float64 `json:"margin_db"` // added for the room
}

// Audibility is hum at the input set against a programme and against the
// threshold of hearing. Lo is null where only an upper bound is known.
type Audibility struct {
	Playback         Playback      `json:"playback"`
	HumVolts         Estimate      `json:"hum_volts"`
	BelowProgrammeDB Estimate      `json:"below_programme_db"`
	Verdict          string        `json:"verdict"`
	Band             AudibleBand   `json:"band"` // the critical band that comes nearest to being heard
	AWeightedDB      Estimate      `json:"a_weighted_db"`
	Lines            []AudibleLine `json:"lines"`
	Unjudged         []int         `json:"unjudged"` // harmonics with neither level nor limit, or outside 20 Hz to 12.5 kHz
}

// AudibleLine is a line's sound pressure at the listener.
type AudibleLine struct {
	Harmonic    int      `json:"harmonic"`
	Hz          Num      `json:"hz"`
	Volts       Estimate `json:"volts"` // at the input
	SPLDB       Estimate `json:"spl_db"`
	ThresholdDB Num      `json:"threshold_db"` // ISO 389-7, median
	MarginDB    Estimate `json:"margin_db"`    // SPL less threshold
}

// AudibleBand is the lines within one critical band, added up.
type AudibleBand struct {
	Harmonics []int    `json:"harmonics"`
	MarginDB  Estimate `json:"margin_db"`
}
