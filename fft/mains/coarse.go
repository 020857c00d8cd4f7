package mains

import (
	"math"

	"humdiff/fft/note"
)

// A converter without dither loses what stays below one code: hum of half a
// code may leave no trace, or a distorted one. Where noise is too low to dither,
// nothing below one code is claimed.

// codePower is the power of a sine of one code's amplitude where the capture is
// too coarse for its noise, else 0. Rounding spreads step²/12 over the band, in
// full-scale sines step²/6; noise that dithers brings as much itself.
func (o *observation) codePower(l layout) float64 {
	noise := o.middle * l.rate / 2
	if noise > 0.5*o.health.Step*o.health.Step/6 {
		return 0
	}
	return o.health.Step * o.health.Step
}

// noFiner takes back what a line says below one code: it is not found, and its
// limit is that code.
func noFiner(v Level, code float64) Level {
	switch {
	case code == 0 || v.Detected && v.Power >= code:
		return v
	case v.Detected:
		return limited(math.Max(v.Hi, code))
	}
	v.Limit = math.Max(v.Limit, code) // a limit that is not known stays so
	return v
}

func coarseWarning(code float64) note.Note {
	return note.New("undithered", "step_dbfs", 10*math.Log10(code))
}
