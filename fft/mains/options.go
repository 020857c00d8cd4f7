package mains

import "humdiff/fft"

// Options say how to measure. The zero value is the default.
type Options struct {
	Nominal  float64                 // 50 or 60; 0: whichever is found
	Wide     bool                    // search the generator ranges of IEC 61000-4-30 instead of ±2 %
	Around   float64                 // Hz; where lines are sought unless the capture's own mains is surely found
	UpTo     float64                 // Hz; highest line, 5000 by default
	Window   fft.Window              // fft.Nuttall by default
	Engine   func(n int) fft.Engine  // of the transforms; fft.NewEngine by default
	Progress func(done, total int64) // frames; may be nil
	Frames   func([][]float64)       // gets all frames in order, once, as they are read; may be nil
}

func (o Options) filled() Options {
	if o.UpTo == 0 {
		o.UpTo = 5000
	}
	if o.Window.Coeff == nil {
		o.Window = fft.Nuttall
	}
	if o.Engine == nil {
		o.Engine = fft.NewEngine
	}
	if o.Frames == nil {
		o.Frames = func([][]float64) {}
	}
	if o.Progress == nil {
		o.Progress = func(int64, int64) {}
	}
	return o
}

// False alarms a capture: half for the search, half for the lines, and as much
// again for tones, which claim nothing about mains.
const (
	searchFalseAlarm = 0.005
	surelyFalseAlarm = 1e-6 // where another capture has a mains
	linesFalseAlarm  = 0.005
	tonesFalseAlarm  = 0.005
	// aloneFalseAlarm is for lines of a capture without a mains of its own: there one has
	// to stand so high for any to count.
	aloneFalseAlarm = 1e-4
)

// FalseAlarms is the share of captures of noise alone in which mains or a line
// is found.
const FalseAlarms = searchFalseAlarm + linesFalseAlarm

// Method counts the changes of method that change what is measured: what was
// kept of a measurement by another method is measured anew. Raise it with every
// such change.
const Method = 13

// Confidence of intervals, and of one of their ends.
const (
	Confidence = 0.95
	tail       = (1 - Confidence) / 2
)
