// Package plan says what to record before anything is: how long, to see hum of
// a given level on a given floor; how many repeats, to tell two cables apart; in
// which order. It measures nothing and its functions are pure. Of fft/mains it assumes what that
// package documents: spans of 10 s, and its false alarms.
package plan

import (
	"math"

	"gonum.org/v1/gonum/mathext"

	"humdiff/fft/chisq"
)

const (
	// span is the length over which a followed line is averaged coherently.
	span = 10.0

	// lossDB is what a line loses to overlap, wander and a floor known only from
	// its surroundings, against an ideal detector; by simulation.
	lossDB = 0.5

	// Longest recording that is suggested, seconds.
	Longest = 6 * 3600.0
	// Shortest recording that is.
	Shortest = 10.0
)

// Sought is a hum line to be seen.
type Sought struct {
	LineDB  float64 // its power, dB relative to anything
	FloorDB float64 // noise density per hertz beside it, dB relative to the same
	Lines   int     // how many lines are looked for: more need a higher threshold
	Share   float64 // of recordings that should show it, such as 0.9
	Alarms  float64 // false alarms of all lines together, such as 0.005
}

// Seconds is how long to record so that a line of hum that can be followed (its
// mains is known from a stronger line) is found in the wanted share of
// recordings. Infinite where Longest doesn't do.
func Seconds(s Sought) float64 { return shortest(s, Detected) }

// SecondsAlone is the same where no line is stronger: the mains' frequency has
// to be found from this one, a harmonic of the first three (a higher one by
// itself is never taken for mains). It is an upper bound: most do with half.
func SecondsAlone(s Sought) float64 { return math.Max(Seconds(s), shortest(s, detectedAlone)) }

// Of the search in fft/mains: its blocks' bins are at most 0.75 Hz wide, in which
// a line's noise comes from at most aloneHz, and alonePerSecond blocks are
// independent; of its looks at noise over the ranges of both mains, 4.4 Hz, a line
// has to stand out by more than one in e^11.2 = 4.4·110·0.75/0.005 would.
const (
	aloneHz        = 2.0
	alonePerSecond = 1.5
	aloneSurprise  = 11.2
)

// detectedAlone is Detected for a line from which the mains has to be found.
func detectedAlone(s Sought, seconds float64) float64 {
	m := math.Max(1, seconds*alonePerSecond)
	rho := math.Pow(10, (s.LineDB-s.FloorDB)/10) / aloneHz
	return chisq.Survival(2*mathext.GammaIncRegCompInv(m, math.Exp(-aloneSurprise)), 2*m, 2*m*rho)
}

// shortest is the shortest recording in which enough are detected.
func shortest(s Sought, detected func(Sought, float64) float64) float64 {
	if detected(s, Longest) < s.Share {
		return math.Inf(1)
	}
	lo, hi := Shortest/100, Longest
	for hi/lo > 1.001 {
		mid := math.Sqrt(lo * hi)
		if detected(s, mid) >= s.Share {
			hi = mid
		} else {
			lo = mid
		}
	}
	return math.Max(Shortest, hi)
}

// Detected is the share of recordings of a length in which the line is found.
// The mean power over m spans, over its noise, is noncentral chi-square with 2m
// degrees of freedom.
func Detected(s Sought, seconds float64) float64 {
	m := math.Max(1, math.Round(seconds/span))
	rho := math.Pow(10, (s.LineDB-s.FloorDB-lossDB)/10) * seconds / m
	return chisq.Survival(threshold(s, m), 2*m, 2*m*rho)
}

// threshold is the chi-square point that noise exceeds in half of a line's part
// of the false alarms: each line is tried in two ways.
func threshold(s Sought, m float64) float64 {
	p := s.Alarms / float64(s.Lines) / 2
	return 2 * mathext.GammaIncRegCompInv(m, p)
}

// Level is the lowest line that a recording of a length shows in the wanted
// share of recordings, dB relative to what FloorDB is.
func Level(s Sought, seconds float64) float64 {
	lo, hi := s.FloorDB-60, s.FloorDB+60
	for hi-lo > 1e-3 {
		s.LineDB = (lo + hi) / 2
		if Detected(s, seconds) >= s.Share {
			hi = s.LineDB
		} else {
			lo = s.LineDB
		}
	}
	return hi
}
