// Package mains finds the mains frequency in a capture, follows it, and
// measures hum lines at its multiples against the noise floor: levels with
// intervals where a line is seen, detection limits where none is.
//
// A capture is read once (one longer than a minute and a half, twice: the
// second time for the lines alone). The pass yields the averaged spectrum of
// the whole band and, from a decimated low band, blocks at closer overlap from
// whose bins a line's phasor is had at any frequency. Then: search (search.go),
// track (track.go), floor (floor.go), lines (meter.go on a track,
// seek.go without, level.go for what a reading says), tones
// (tones.go), one averaged cycle (cycle.go).
//
// It assumes that noise is Gaussian and steady over the capture, and that a
// line holds its phase to the mains within spans of ten seconds wherever its
// detection limit is quoted from spans.
package mains
