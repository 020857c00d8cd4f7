package likeness

import (
	"context"
	"math"

	"humdiff/fft/capture"
	"humdiff/fft/note"
)

// Side is one of two captures that are held against each other.
type Side struct {
	Source capture.Source // one channel; read only where the marks agree
	Mark   Mark           // of that channel, as read through Source
	StartS float64        // where Source begins in its file: a dither counts from there
}

func (s Side) seconds() float64 { return float64(s.Source.Frames()) / float64(s.Source.Rate()) }

// Verdict is what two captures are.
type Verdict int

const (
	different  Verdict = iota // separate recordings, as far as their noise tells
	Same                      // one recording
	Ask                       // perhaps one recording: ask whoever made them
	cannotTell                // alike, or too short, for a reason that both explain: no accusation
)

// Answer is what Compare found. Lag, gain, speed and correlation are zero where
// samples were not correlated.
type Answer struct {
	Verdict     Verdict
	Why         note.Note // its code is one of the Why codes below
	LagS        float64   // what the second has at t seconds, the first has at t + LagS; of unlike speeds in the middle
	GainDB      float64   // of the second against the first
	Inverted    bool      // the second is upside down
	PPM         float64   // by which the second runs faster
	Correlation float64   // of the whitened noise, 0 … 1, median of 16 bands
	OverlapS    float64   // what the two share, at that lag
}

// Codes of Answer.Why, with their arguments.
const (
	// Every sample is the same, or with its sign turned, over the seconds compared.
	whySamples = "copy_by_samples" // seconds
	// So much of the noise is the same.
	whyNoise = "copy_by_noise" // correlation
	// A little of the noise is the same.
	whyPerhaps = "perhaps_copy" // correlation
	// Sketches or samples share no noise.
	whySeparate = "separate_noise" // correlation; NaN where the sketches settled it
	// Less than five seconds in one, or in what they share; or no noise: silence.
	whyShort = "too_short_to_compare" // seconds, least_s
	// Rounded to few bits from the file's start, the noise near the dither: a converter
	// that begins its dither alike each time gives separate recordings this likeness.
	whyDither = "same_dither" // correlation, bits
	// Programme or loud noise is in both: played into two recordings it gives this
	// likeness.
	whyProgramme = "same_programme" // correlation
)

const (
	sameFrom = 0.10 // correlation
	askFrom  = 0.05
	// mostCompared is how much is correlated, from the middle of what two share.
	mostCompared = 40.0 // s
)

// Compare says whether two captures are one recording. It reads the sources only
// where hashes differ and sketches agree. Errors are the sources' and ctx's.
//
// It may call no separate recordings copies: see the Why codes for what it leaves
// open. It can't tell steady noise below −120 dBFS/Hz that one clock played into both
// recordings from a copy.
func Compare(ctx context.Context, a, b Side) (Answer, error) {
	if a.Mark.sameSamples(b.Mark) {
		return Answer{Verdict: Same, Why: note.New(whySamples, "seconds", a.seconds()), Correlation: 1, OverlapS: a.seconds()}, nil
	}
	if a.Mark.Sketch.Seconds() < sketchOverlap || b.Mark.Sketch.Seconds() < sketchOverlap {
		return short(min(a.seconds(), b.seconds())), nil
	}
	found := agree(a.Mark.Sketch, b.Mark.Sketch)
	if !found.Agree {
		return separate(), nil
	}
	p, q, overlap, err := readBoth(ctx, a.Source, b.Source, found.LagS)
	switch {
	case err != nil:
		return Answer{}, err
	case p == nil && 2*overlap > min(a.seconds(), b.seconds()):
		return short(overlap), nil
	case p == nil: // the ends of two long captures
		return separate(), nil
	}
	return judge(p, q, compareNoise(p, q, found.LagS), overlap, a, b), nil
}

func separate() Answer {
	return Answer{Verdict: different, Why: note.New(whySeparate, "correlation", math.NaN())}
}

func short(seconds float64) Answer {
	return Answer{Verdict: cannotTell, Why: note.New(whyShort, "seconds", seconds, "least_s", leastOverlap), OverlapS: seconds}
}

// readBoth reads the middle of what two sources share at a lag; nothing where that is
// too little.
func readBoth(ctx context.Context, a, b capture.Source, lagS float64) (p, q *stretch, overlapS float64, err error) {
	rateA, rateB := float64(a.Rate()), float64(b.Rate())
	from := max(0, -lagS) // in b
	to := min(float64(b.Frames())/rateB, float64(a.Frames())/rateA-lagS)
	overlapS = max(to-from, 0)
	seconds := min(overlapS, mostCompared)
	if seconds < leastOverlap {
		return nil, nil, overlapS, nil
	}
	from += (overlapS - seconds) / 2
	high := min(noiseTo, 0.45*min(rateA, rateB))
	if p, err = readStretch(ctx, a, max(int64(math.Round((from+lagS)*rateA)), 0), int64(seconds*rateA), high); err != nil {
		return nil, nil, overlapS, err
	}
	q, err = readStretch(ctx, b, int64(math.Round(from*rateB)), int64(seconds*rateB), high)
	return p, q, overlapS, err
}
