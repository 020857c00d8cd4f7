package model

import (
	"humdiff/fft/likeness"
	"humdiff/fft/note"
)

// Side says where samples come from.
type Side struct {
	File    string      `json:"file"`
	Channel int         `json:"channel"`
	Named   bool        `json:"channel_named"` // it was asked for; else every channel that carries a signal was
	StartS  float64     `json:"start_s"`
	EndS    float64     `json:"end_s"`
	RateHz  int         `json:"rate_hz"`
	Bits    int         `json:"bits"`
	Float   bool        `json:"float"` // samples are floating-point numbers
	SHA256  string      `json:"sha256"`
	Decoded string      `json:"samples_hash"` // of the channel's samples, whatever file holds them; empty: not worked out
	Notes   []note.Note `json:"-"`            // what was noticed of the file; they go into a result's warnings

	// Sketch is of the channel's noise, by which copies are found. No result keeps it.
	Sketch likeness.Sketch `json:"-"`
}

// Overlaps says whether two sides share samples.
func (s Side) Overlaps(other Side) bool {
	return s.SHA256 != "" && s.SHA256 == other.SHA256 && s.Channel == other.Channel && s.StartS < other.EndS && other.StartS < s.EndS
}

// Capture is one measured channel.
type Capture struct {
	Side
	Mains  Mains  `json:"mains"`
	Lines  []Line `json:"lines"` // harmonics 1, 2, 3 … without gaps
	Hum    Hum    `json:"hum"`
	HumA   Hum    `json:"hum_a"` // A-weighted
	Noise  Noise  `json:"noise"`
	Tones  []Tone `json:"tones"`
	Health Health `json:"health"`
	Trace  Trace  `json:"trace"`
	Cycle  Cycle  `json:"cycle"`

	UpToHz     float64 `json:"up_to_hz"`    // highest line wanted
	AroundHz   Num     `json:"around_hz"`   // where lines were sought if not around a mains found here
	FinestDBFS Num     `json:"finest_dbfs"` // a sine of one step of the converter, where noise doesn't dither it: nothing below is claimed

	QuasiPeak *QuasiPeak `json:"quasi_peak"` // nil: not asked for

	// Reference is the channel that the lines have ratios to; nil: none was named.
	Reference *Reference `json:"reference"`
}

// Mark is what copies of the capture are found by.
func (c Capture) Mark() likeness.Mark {
	return likeness.Mark{Hash: c.Decoded, Silent: c.Health.Silent, Sketch: c.Sketch}
}

// Line is the line of a harmonic; one of which nothing is known where it wasn't measured.
func (c Capture) Line(harmonic int) Line {
	if harmonic < 1 || harmonic > len(c.Lines) {
		return Line{Harmonic: harmonic, Hz: None, FloorDBFSHz: None, Coherence: None, Share: Share{None, None, None, None}}
	}
	return c.Lines[harmonic-1]
}

// Mains is the mains frequency in a capture, by the recorder's clock.
type Mains struct {
	Detected  bool `json:"detected"`
	NominalHz Num  `json:"nominal_hz"` // 50 or 60; null where neither found nor given
	Hz        Num  `json:"hz"`
	U95Hz     Num  `json:"u95_hz"`
	MinHz     Num  `json:"min_hz"`
	MaxHz     Num  `json:"max_hz"`

	Doubts    []string `json:"doubts"`      // codes of why it may be no mains; empty: none
	ClockK    Num      `json:"clock_share"` // share of the power at its lines that follows one clock
	Breath    Num      `json:"breath_hz"`   // median change between neighbouring blocks
	AlsoFound []Comb   `json:"also_found"`  // other combs
}

// Comb is another comb of lines than the mains'.
type Comb struct {
	NominalHz Num      `json:"nominal_hz"`
	Hz        Num      `json:"hz"`
	Lines     int      `json:"lines"`
	Total     Estimate `json:"" est:"level"`
}

// Line is one hum line in one capture.
type Line struct {
	Harmonic    int      `json:"harmonic"`
	Hz          Num      `json:"hz"`
	Level       Estimate `json:"" est:"level"` // dBFS; not found: at most the upper limit
	FloorDBFSHz Num      `json:"floor_dbfs_hz"`
	Coherence   Num      `json:"steadiness"` // share of its power that keeps its phase to the mains
	Unsteady    bool     `json:"unsteady"`   // spans scatter more than their noise allows (1 % point)
	Method      string   `json:"method"`
	Hidden      bool     `json:"hidden"` // a tone hides it: it is in no total
	Share       Share    `json:"share"`
	Ratio       *Ratio   `json:"ratio"` // to the reference's own line; nil: none
}

// Reference is a channel of the same file that records the field, and how well the
// capture's lines follow it.
type Reference struct {
	Channel  int    `json:"channel"`
	Why      string `json:"why"`       // code of why it isn't used; empty: it is
	ClockPPM Num    `json:"clock_ppm"` // by which the capture's channel runs faster; null: not told
	SteadyDB Num    `json:"steady_db"` // rms by which its ratios stray, as a share of them; null: less than noise shows
}

// Why a reference isn't used.
const (
	ReferenceClipped = "reference_clipped"
	ReferenceWeak    = "reference_weak"  // no line of it stands 10 dB above its noise in a span
	ReferenceClock   = "reference_clock" // it runs on another clock
	ReferenceOther   = "reference_other" // its mains is another
	ReferenceShort   = "reference_short" // the span is too short to show how steady a ratio is
)

// Ratio is a line's complex ratio to the same line of the reference. Lo and Hi are the
// ends of its modulus's 95 % interval by noise, Lo below zero where that reaches past
// zero: the region is a disc.
type Ratio struct {
	Re      Num `json:"re"`
	Im      Num `json:"im"`
	Lo      Num `json:"lo"`
	Hi      Num `json:"hi"`
	Scatter Num `json:"scatter"` // rms by which another capture's may stray from it beyond noise, in its own unit
	Spans   int `json:"spans"`
	DBFS    Num `json:"reference_dbfs"` // of the reference's line
	U95DB   Num `json:"reference_u95_db"`
	// By how much that leads so many times the reference's fundamental, and its standard
	// uncertainty; of the fundamental, by noise.
	Turn  Num `json:"reference_deg"`
	TurnU Num `json:"reference_u_deg"`
}

// Counts says that the line can be added up: one that a tone hides can't, nor one
// beside which no floor could be read.
func (l Line) Counts() bool { return !l.Hidden && l.Share.Excess.Ok() && l.Share.Variance.Ok() }

// Share is what a line brings to a sum of lines, as powers relative to that of a
// full-scale sine (variance: of such a power). With it any total over any lines
// can be worked out again.
type Share struct {
	Excess   Num `json:"excess"`   // mean power less noise
	Noise    Num `json:"noise"`    // that was taken off
	Variance Num `json:"variance"` // of excess
	Model    Num `json:"model"`    // by which excess may be off for other reasons than noise
}

// Hum is the hum total of one capture: the mean power over all of it.
type Hum struct {
	Level     Estimate `json:"" est:"level"` // dBFS
	Lines     int      `json:"lines"`        // harmonics 1 … Lines are in it, but for LeftOut
	LeftOut   []int    `json:"left_out"`
	AboveDBFS Num      `json:"above_dbfs"` // harmonics above the last in the sum; null: none found
	OnShare   Num      `json:"on_share"`   // of the time on which hum is there; null: it doesn't come and go
	Present   []Span   `json:"present"`    // when it is there; empty: throughout, or never
}

// Span is a piece of time in which hum is there, seconds from the file's start.
type Span struct {
	StartS Num      `json:"start_s"`
	EndS   Num      `json:"end_s"`
	Level  Estimate `json:"" est:"level"`
}

// Noise is a capture's noise without hum lines and listed tones.
type Noise struct {
	BandHz [2]float64 `json:"band_hz"`
	DBFS   Num        `json:"dbfs"`
	ADBFS  Num        `json:"a_dbfs"`
}

// QuasiPeak is what the meter of ITU-R BS.468-4 reads of the whole signal, hum and tones
// included. A full-scale sine at 1 kHz reads 0 dBFS.
type QuasiPeak struct {
	HighestDBFS Num `json:"highest_dbfs"` // once it has settled, after 2 s; null: the capture is shorter
	MedianDBFS  Num `json:"median_dbfs"`  // of its readings every 10 ms
}

// Tone is a steady tone that no mains line explains.
type Tone struct {
	Hz   float64 `json:"hz"`
	DBFS Num     `json:"dbfs"`
	// Harmonic is the mains harmonic, above the last one measured, that the tone
	// can't be told from; 0: none.
	Harmonic int `json:"harmonic"`
}

// Trace is an averaged spectrum reduced to columns evenly spaced in log
// frequency: the mean, lowest and highest bin level of each. A level is the power
// in a bin's equivalent noise bandwidth, so a line's peak reads the line's level.
type Trace struct {
	BinHz    Num    `json:"bin_hz"`
	ENBWHz   Num    `json:"enbw_hz"` // equivalent noise bandwidth of a bin
	Window   string `json:"window"`
	Seconds  Num    `json:"seconds"`
	Hz       []Num  `json:"hz"`
	LoDBFS   []Num  `json:"lo_dbfs"`
	MeanDBFS []Num  `json:"mean_dbfs"` // of the powers
	HiDBFS   []Num  `json:"hi_dbfs"`
}

// NoTrace is the spectrum of what has none.
func NoTrace() Trace {
	return Trace{BinHz: None, ENBWHz: None, Seconds: None, Hz: []Num{}, LoDBFS: []Num{}, MeanDBFS: []Num{}, HiDBFS: []Num{}}
}

// Cycle is one averaged mains cycle, full scale ±1; empty without a track.
type Cycle struct {
	Hz      Num   `json:"hz"`
	Crest   Num   `json:"crest"`
	Samples []Num `json:"samples"`
}

// NoCycle is the mains cycle of what has none.
func NoCycle() Cycle { return Cycle{Hz: None, Crest: None, Samples: []Num{}} }

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
