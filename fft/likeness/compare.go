package likeness

import (
	"context"
	"math"

	"humdiff/fft/capture"
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
	different Verdict = iota // separate recordings as far as their noise tells, too short, or alike by one converter's dither: nothing is said
	Same                     // one recording
	Ask                      // perhaps one recording: ask whoever made them
)

// Answer is what Compare found. Lag, gain, speed and correlation are zero where
// samples were not correlated, the gain also where a codec changed the noise.
type Answer struct {
	Verdict     Verdict
	LagS        float64 // what the second has at t seconds, the first has at t + LagS; of unlike speeds in the middle
	GainDB      float64 // of the second against the first
	Inverted    bool    // the second is upside down
	PPM         float64 // by which the second runs faster
	Correlation float64 // of the whitened noise, 0 … 1, median of 16 bands
	OverlapS    float64 // what the two share, at that lag
}

const (
	sameFrom = 0.10 // correlation
	askFrom  = 0.05
	// mostCompared is how much is correlated, from the middle of what two share.
	mostCompared = 40.0 // s
)

// Compare says whether two captures are one recording. It reads the sources only
// where hashes differ and sketches agree. Errors are the sources' and ctx's.
//
// It may call no separate recordings copies: where what was played into two would be as
// alike, it asks. It can't tell steady noise below −120 dBFS/Hz that one clock played into
// both recordings from a copy.
func Compare(ctx context.Context, a, b Side) (Answer, error) {
	if a.Mark.sameSamples(b.Mark) {
		return Answer{Verdict: Same, Correlation: 1, OverlapS: a.seconds()}, nil
	}
	found := agree(a.Mark.Sketch, b.Mark.Sketch)
	if !found.Agree {
		return Answer{}, nil
	}
	p, q, overlap, err := readBoth(ctx, a.Source, b.Source, found.LagS)
	if err != nil || p == nil {
		return Answer{}, err
	}
	return judge(p, q, compareNoise(p, q, found.LagS), overlap, a, b), nil
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
