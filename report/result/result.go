// Package result holds what the commands print as JSON and what every table,
// figure and page is drawn from. It is the contract with readers and programs:
// keys never vanish, numbers are finite or null, levels are rms.
package result

// Schemas of the two results.
const (
	CompareSchema = "humdiff/compare/1"
	MeasureSchema = "humdiff/measure/1"
)

// States of a line and of a delta.
const (
	Detected      = "detected"
	Undetected    = "undetected"
	Measured      = "measured"
	AtLeast       = "at_least"
	AtMost        = "at_most"
	NotMeasurable = "not_measurable"
)

// Compare is the result of comparing a quiet with a near capture.
type Compare struct {
	Schema   string    `json:"schema"`
	Tool     Tool      `json:"tool"`
	Settings Settings  `json:"settings"`
	Pairs    []Pair    `json:"pairs"`
	Warnings []Warning `json:"warnings"`
}

// Measure is the result of measuring captures one by one.
type Measure struct {
	Schema   string    `json:"schema"`
	Tool     Tool      `json:"tool"`
	Settings Settings  `json:"settings"`
	Captures []Capture `json:"captures"`
	Warnings []Warning `json:"warnings"`
}

// Tool names the program that made a result.
type Tool struct {
	Version string `json:"version"`
}

// Settings are what was asked for; with the captures they remake the result.
type Settings struct {
	Mains           string  `json:"mains"`             // "auto", "50" or "60"
	UpToHz          float64 `json:"up_to_hz"`          // highest line
	Window          string  `json:"window"`            // of the spectra
	FullScaleVolts  Num     `json:"full_scale_volts"`  // rms of a full-scale sine at the input, gain included; null: unknown, or two scales
	FullScaleSaid   string  `json:"full_scale_said"`   // as given, e.g. "2.0V less 40 dB of gain"; empty when unknown
	Confidence      float64 `json:"confidence"`        // of intervals, 0.95
	FalseAlarmShare float64 `json:"false_alarm_share"` // per capture, 0.01
	WideMains       bool    `json:"wide_mains"`        // searched over the generator ranges

	Scales []Scale `json:"scales"`     // what volts stand on: one for all, or quiet's and near's; empty: unknown
	Step   Step    `json:"scale_step"` // from quiet's scale to near's
}

// Warning is a capture.Warning with where it arose.
type Warning struct {
	Code    string `json:"code"`
	File    string `json:"file"`    // empty: concerns all
	Channel int    `json:"channel"` // 0: concerns the file
	Message string `json:"message"`
}

// Side is the capture one half of a pair was read from.
type Side struct {
	File    string  `json:"file"`
	Channel int     `json:"channel"`
	StartS  float64 `json:"start_s"`
	EndS    float64 `json:"end_s"`
	RateHz  int     `json:"rate_hz"`
	Bits    int     `json:"bits"`
	Float   bool    `json:"float"` // samples are floating-point numbers
	SHA256  string  `json:"sha256"`
}

// Pair is one channel, quiet and near.
type Pair struct {
	Quiet Side       `json:"quiet"`
	Near  Side       `json:"near"`
	Mains PairMains  `json:"mains"`
	Lines []PairLine `json:"lines"`
	Hum   PairHum    `json:"hum"`
	HumA  PairHum    `json:"hum_a"` // A-weighted
	Noise PairNoise  `json:"noise"`
	Tones PairTones  `json:"tones"`
	Trace PairTrace  `json:"trace"`
	Cycle PairCycle  `json:"cycle"`

	Health PairHealth `json:"health"`

	Audibility *Audibility `json:"audibility" jsonschema:"nullable"` // null where no programme and no playback was given

	// Residual is the input shorted at its connector: what the instrument adds by
	// itself, with lines sought around near's mains. null where none was given.
	Residual *Capture `json:"residual" jsonschema:"nullable"`
}

// Overlaps says whether two sides share samples.
func (s Side) Overlaps(other Side) bool {
	return s.SHA256 != "" && s.SHA256 == other.SHA256 && s.Channel == other.Channel && s.StartS < other.EndS && other.StartS < s.EndS
}

// PairHealth is what the samples say about both captures.
type PairHealth struct {
	Quiet Health `json:"quiet"`
	Near  Health `json:"near"`
}

// PairMains is the mains frequency in both captures.
type PairMains struct {
	NominalHz     Num  `json:"nominal_hz"` // of both; null where they differ
	QuietHz       Num  `json:"quiet_hz"`
	NearHz        Num  `json:"near_hz"`
	QuietDetected bool `json:"quiet_detected"`
	NearDetected  bool `json:"near_detected"`
	QuietU95Hz    Num  `json:"quiet_u95_hz"`
	NearU95Hz     Num  `json:"near_u95_hz"`

	QuietNominalHz Num `json:"quiet_nominal_hz"` // 50 or 60; null where neither found nor given
	NearNominalHz  Num `json:"near_nominal_hz"`
}

// PairLine is one hum line in both captures.
type PairLine struct {
	Harmonic int    `json:"harmonic"`
	Hz       Num    `json:"hz"`
	Quiet    Line   `json:"quiet"`
	Near     Line   `json:"near"`
	Delta    Delta  `json:"delta"`
	Pickup   Pickup `json:"pickup"`
}

// Line is one hum line in one capture.
type Line struct {
	State       string `json:"state"` // Detected or Undetected
	DBFS        Num    `json:"dbfs"`
	LoDBFS      Num    `json:"lo_dbfs"`
	HiDBFS      Num    `json:"hi_dbfs"`
	LimitDBFS   Num    `json:"limit_dbfs"`
	FloorDBFSHz Num    `json:"floor_dbfs_hz"`
	FloorVolts  Num    `json:"floor_volts_rthz"` // V/√Hz
	Volts       Num    `json:"volts"`
	Steadiness  Num    `json:"steadiness"`
	Unsteady    bool   `json:"unsteady"` // spans scatter more than their noise allows (1 % point)
	Method      string `json:"method"`
	Hidden      bool   `json:"hidden"` // a tone hides it: it is in no total
	Share       Share  `json:"share"`  // what it brings to totals
	Absolute
}

// Share is what a line brings to a sum of lines, as powers relative to that of a
// full-scale sine (variance: of such a power). With it any total over any lines
// can be calculated again: see level.Total.
type Share struct {
	Excess   Num `json:"excess"`   // mean power less noise
	Noise    Num `json:"noise"`    // that was taken off
	Variance Num `json:"variance"` // of excess
	Model    Num `json:"model"`    // by which excess may be off for other reasons than noise
}

// Delta is near minus quiet. AtLeast has LoDB only, AtMost HiDB only.
type Delta struct {
	State string `json:"state"`
	DB    Num    `json:"db"`
	LoDB  Num    `json:"lo_db"`
	HiDB  Num    `json:"hi_db"`
}

// Pickup is the range of voltage that bringing the lead near added: in volts
// where the scale is known, and always relative to full scale (0 dBFS = 1).
type Pickup struct {
	LoVolts Num `json:"lo_volts"`
	HiVolts Num `json:"hi_volts"`
	LoFS    Num `json:"lo_fs"`
	HiFS    Num `json:"hi_fs"`
}

// PairHum is the hum total over one fixed set of lines.
type PairHum struct {
	QuietDBFS Num     `json:"quiet_dbfs"`
	NearDBFS  Num     `json:"near_dbfs"`
	Quiet     HumSide `json:"quiet"`
	Near      HumSide `json:"near"`
	Delta     Delta   `json:"delta"`
	Pickup    Pickup  `json:"pickup"`
	Lines     int     `json:"lines"` // how many harmonics are in the sum
	UpToHz    float64 `json:"up_to_hz"`
	LeftOut   []int   `json:"left_out"` // harmonics hidden by tones, on either side: not in the sum
}

// HumSide is the hum total of one capture.
type HumSide struct {
	State     string `json:"state"`
	DBFS      Num    `json:"dbfs"`
	LoDBFS    Num    `json:"lo_dbfs"`
	HiDBFS    Num    `json:"hi_dbfs"`
	LimitDBFS Num    `json:"limit_dbfs"`
	Volts     Num    `json:"volts"`
	Absolute
}

// PairNoise is the noise without hum lines and listed tones, in both captures.
type PairNoise struct {
	BandHz       [2]float64 `json:"band_hz"`
	QuietDBFS    Num        `json:"quiet_dbfs"`
	NearDBFS     Num        `json:"near_dbfs"`
	QuietADBFS   Num        `json:"quiet_a_dbfs"`
	NearADBFS    Num        `json:"near_a_dbfs"`
	Quiet468DBFS Num        `json:"quiet_468_dbfs"` // ITU-R BS.468-4 curve, 0 dB at 1 kHz
	Near468DBFS  Num        `json:"near_468_dbfs"`
	Detector468  string     `json:"detector_468"` // "rms": not the standard's quasi-peak

	Quiet NoiseVolts `json:"quiet"`
	Near  NoiseVolts `json:"near"`
}

// PairTones are the tones that no mains line explains.
type PairTones struct {
	Quiet []Tone `json:"quiet"`
	Near  []Tone `json:"near"`
}

// Tone is a steady tone.
type Tone struct {
	Hz   float64 `json:"hz"`
	DBFS Num     `json:"dbfs"`
	// Harmonic is the mains harmonic, above the last one measured, that the tone
	// can't be told from; 0: none.
	Harmonic int `json:"harmonic"`
	Voltage
}

// PairTrace is the averaged spectrum of both captures, reduced for drawing.
type PairTrace struct {
	Quiet Trace `json:"quiet"`
	Near  Trace `json:"near"`
}

// Trace is an averaged spectrum reduced to columns evenly spaced in log
// frequency: the lowest and highest bin level of each. A level is the power in
// a bin's equivalent noise bandwidth, so a line's peak reads the line's level.
type Trace struct {
	BinHz   Num    `json:"bin_hz"`
	ENBWHz  Num    `json:"enbw_hz"` // equivalent noise bandwidth of a bin
	Window  string `json:"window"`
	Seconds Num    `json:"seconds"`
	Hz      []Num  `json:"hz"`
	LoDBFS  []Num  `json:"lo_dbfs"`
	HiDBFS  []Num  `json:"hi_dbfs"`
}

// PairCycle is one averaged mains cycle of both captures.
type PairCycle struct {
	Quiet Cycle `json:"quiet"`
	Near  Cycle `json:"near"`
}

// Cycle is one averaged mains cycle, full scale ±1; empty without a track.
type Cycle struct {
	Hz      Num   `json:"hz"`
	Crest   Num   `json:"crest"`
	Samples []Num `json:"samples"`
}

// Capture is one measured channel, in the result of measure.
type Capture struct {
	Side
	Mains  CaptureMains  `json:"mains"`
	Lines  []CaptureLine `json:"lines"`
	Hum    HumSide       `json:"hum"`
	HumA   HumSide       `json:"hum_a"` // A-weighted
	Noise  CaptureNoise  `json:"noise"`
	Tones  []Tone        `json:"tones"`
	Health Health        `json:"health"`
	Trace  Trace         `json:"trace"`
	Cycle  Cycle         `json:"cycle"`

	UpToHz     float64 `json:"up_to_hz"`    // highest line wanted
	AroundHz   Num     `json:"around_hz"`   // where lines were sought if not around a mains found here
	FinestDBFS Num     `json:"finest_dbfs"` // a sine of one step of the converter, where noise doesn't dither it: nothing below is claimed
}

// CaptureMains is the mains frequency found in a capture.
type CaptureMains struct {
	Detected  bool `json:"detected"`
	NominalHz Num  `json:"nominal_hz"`
	Hz        Num  `json:"hz"`
	U95Hz     Num  `json:"u95_hz"`
	MinHz     Num  `json:"min_hz"`
	MaxHz     Num  `json:"max_hz"`
}

// CaptureLine is a Line with its place.
type CaptureLine struct {
	Harmonic int `json:"harmonic"`
	Hz       Num `json:"hz"`
	Line
}

// CaptureNoise is the noise of one capture without hum lines and listed tones.
type CaptureNoise struct {
	BandHz      [2]float64 `json:"band_hz"`
	DBFS        Num        `json:"dbfs"`
	ADBFS       Num        `json:"a_dbfs"`
	W468DBFS    Num        `json:"w468_dbfs"`
	Detector468 string     `json:"detector_468"`
	Voltage     NoiseVolts `json:"voltage"`
}

// Health is what the samples say about a capture.
type Health struct {
	PeakDBFS    Num  `json:"peak_dbfs"` // largest sample, relative to full scale
	PeakSeconds Num  `json:"peak_seconds"`
	DC          Num  `json:"dc"` // mean, full scale is 1
	Clipped     int  `json:"clipped"`
	Silent      bool `json:"silent"`

	ClippedRuns Runs `json:"clipped_runs"`
	FlatTops    Runs `json:"flat_tops"` // cut off at one value below full scale
	Zeros       Runs `json:"zeros"`     // digital zero in a signal that otherwise moves
	Stuck       Runs `json:"stuck"`     // the same at any other value
	Repeats     Runs `json:"repeats"`   // blocks of samples that come twice
	Clicks      Runs `json:"clicks"`
	BitsUsed    int  `json:"bits_used"` // 0: floating point, or nothing recorded
	SameAs      int  `json:"same_as"`   // channel with the same samples; 0: none

	LowBursts  Runs  `json:"low_bursts"`     // low-frequency bursts, samples not counted
	LeftOutS   Num   `json:"left_out_s"`     // seconds of them left out of levels, floors and limits
	GatedS     Num   `json:"gated_s"`        // seconds in which all noise falls away
	GainDB     Num   `json:"gain_db"`        // by which all noise rises and falls together; 0: not told
	FadeDB     Num   `json:"fade_db"`        // by which hum rises steadily; 0: it doesn't
	EndsUnlike bool  `json:"ends_unlike"`    // first or last seconds unlike the rest
	PhaseJumps int   `json:"phase_jumps"`    // of the mains: lost or doubled samples
	BuzzDepth  Num   `json:"buzz_depth"`     // swing of the noise above 2 kHz at twice the mains; 0: not told
	CutHz      Num   `json:"cut_hz"`         // where the spectrum breaks off below half the rate; null: it doesn't
	FloorsHigh []Num `json:"floors_dbfs_hz"` // median density of 5–8, 8–12, 12–16 and 16–20 kHz; null beyond the rate
}

// Runs are stretches of samples.
type Runs struct {
	Count    int   `json:"count"`
	Samples  int64 `json:"samples"`
	LongestS Num   `json:"longest_s"`
	FirstS   Num   `json:"first_s"`
}
