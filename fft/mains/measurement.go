package mains

import (
	"humdiff/fft"
	"humdiff/fft/health"
	"humdiff/fft/note"
)

// Powers in this package are mean squares relative to that of a full-scale
// sine: 1 is 0 dBFS (AES17). Densities are such powers per hertz, one-sided.

// Measurement is what one channel of one capture says about hum. It is a plain
// value: it knows nothing of files or of output.
type Measurement struct {
	Rate      float64 // samples a second
	Seconds   float64 // length measured
	UpTo      float64 // highest line frequency wanted, Hz
	Mains     Mains
	Lines     []Line  // harmonics 1, 2, 3 … without gaps; empty where no nominal frequency is known
	Hum       Level   // the sum over Lines, noise taken off, without those left out
	LeftOut   []int   // harmonics not in Hum, ascending: hidden ones, and those without a floor
	Suspects  []int   // of LeftOut those that may be hum, but likelier are tones at a multiple of 1 kHz
	HumWith   Level   // the sum with them; Hum's where there are none
	Above     Level   // hum above UpTo: the lines found there together; not in Hum. Not detected, and without a limit, where none is
	OnShare   float64 // of the time in which hum is there: 1 where it doesn't come and go, NaN where that can't be told
	HumOn     Level   // the same sum while it is there; Hum's where it doesn't come and go
	Present   []On    // when it is there; empty: throughout, or not told
	Finest    float64 // power of a sine of one step of the converter, where the noise doesn't dither it; else 0
	Cycle     *Cycle  // the averaged mains cycle; nil without a track
	Tones     []Tone  // not mains, strongest first
	AlsoFound []Comb  // the comb at the other nominal frequency, where one stands out
	Occupied  []Band  // what detected lines and tones occupy: no noise is read there
	Spectrum  fft.Spectrum
	Health    Health
	Warnings  []note.Note

	out []bool // blocks of the low band that averages leave out; nil: none
}

// Mains is the mains frequency by the recorder's own clock.
type Mains struct {
	Detected bool    // found in this capture
	Nominal  float64 // 50 or 60 Hz; 0 where neither found nor given
	Hz       float64 // mean over the capture; where not Detected, the frequency lines were sought around
	U95      float64 // half-width of Hz's 95 % interval; NaN where not detected
	Min, Max float64 // of the track; NaN without one
	Tracked  bool    // followed from block to block
	Evidence
	Doubt []string // why it may be no mains: see DoubtFarOff …; empty where nothing speaks against it
}

// Evidence is what speaks for a comb being a mains; NaN where the capture doesn't show it.
type Evidence struct {
	Clock        float64 // share of the power in the windows of its lines, up to 1 kHz, that follows one clock within 10 s
	ClockMost    float64 // what it is at the most, for noise, of the lines whose windows hold anything
	Scatter      float64 // of the strongest line's amplitude within 10 s, as a share of its mean
	ScatterLeast float64 // what it is at the least, for noise
	OneTone      float64 // share of what follows the clock that is one higher line and its multiples
	BreathHz     float64 // median change of f0 from one stretch of some two seconds to the next: a grid's is 0.5 mHz and more, a crystal's less
}

// What makes a mains doubtful.
const (
	DoubtFarOff = "far_off"  // where no public grid goes
	DoubtLone   = "lone"     // one line or two, off the nominal frequency
	DoubtTone   = "one_tone" // its lines are one tone, above the third, and overtones of that
	DoubtMoves  = "moves"    // its lines don't follow one clock
	DoubtBus    = "bus_tone" // a line on a multiple of 1 kHz makes nearly all
	DoubtSteady = "steady"   // its frequency stands still as a crystal holds it: see steadyWalk
	DoubtTwo    = "two_combs"
	DoubtEither = "ambiguous" // its lines lie on multiples of 50 and 60 Hz alike
)

// Comb is another comb than the mains.
type Comb struct {
	Nominal float64 // Hz, 50 or 60
	Hz      float64
	Lines   int   // that stand out, of those that it doesn't share with the mains
	Total   Level // of these, noise taken off, up to 1 kHz
	Evidence
}

// Level is a power with its 95 % interval, or the limit it lies below.
type Level struct {
	Detected bool
	Power    float64 // noise taken off; NaN where not detected
	Lo, Hi   float64 // ends of the 95 % interval; NaN where not detected
	Limit    float64 // upper limit, one-sided 97.5 %; NaN where detected
}

// Line is the hum at one multiple of the mains frequency.
type Line struct {
	Harmonic int
	Hz       float64
	Level
	Floor      float64 // noise density under the line, per Hz
	FloorDOF   float64 // degrees of freedom of Floor: its standard deviation is Floor·√(2/FloorDOF)
	Steadiness float64 // share of the line's power that keeps its phase to the track; NaN where unknown
	Hidden     bool    // a tone that is no hum lies on it or so near that it is not counted in the total
	Unsteady   bool    // spans scatter beyond their 1 % point
	Method     string  // "spans", "blocks" or "search": see MethodSpans …
	Share      Share   // what it brings to a sum of lines
	Rho        float64 // the line's power over the floor's in a band of 1/Seconds; NaN where not detected
}

// How a line was measured.
const (
	MethodSpans  = "spans"  // turned back by the track, averaged coherently within spans
	MethodBlocks = "blocks" // mean power of blocks, each at its own multiple of the track
	MethodSearch = "search" // no track: largest mean block power over a range of frequencies
)

// On is a stretch of time in which hum is there, and its level then.
type On struct {
	Span
	Level
}

// Tone is a steady tone that no mains line explains.
type Tone struct {
	Harmonic int // of the mains that it cannot be told from, a tone of a bus above the last measured line; 0: none
	Hz       float64
	Power    float64
}

// Band is a range of frequencies, Hz.
type Band struct{ Lo, Hi float64 }

// Cycle is the waveform of one mains cycle, averaged on the track and limited
// to the measured lines. Samples are spaced evenly over the cycle and start at
// the fundamental's upward zero crossing; full scale is ±1.
type Cycle struct {
	Hz      float64
	Samples []float64
	Crest   float64 // peak over rms
}

// Health is what a capture betrays about how it was recorded.
type Health struct {
	health.Facts // of the samples themselves
	Timeline     // how levels ran
	Jumps        []Jump
	Buzz         float64   // swing of the noise above 2 kHz at twice the mains, share of its mean; 0: none told
	Cut          float64   // Hz; where the spectrum breaks off below half the rate, 0: it doesn't
	Floors       []float64 // median density in FloorBands, NaN where the rate doesn't reach
}
