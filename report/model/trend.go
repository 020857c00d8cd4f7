package model

import "slices"

// Trend is the result of following hum through captures step by step.
type Trend struct {
	Head
	Settings Settings       `json:"settings"`
	Captures []TrendCapture `json:"captures"`
	Warnings []Warning      `json:"warnings"`
}

// TrendCapture is one channel, followed.
type TrendCapture struct {
	Side
	Mains     Mains       `json:"mains"`
	StepS     Num         `json:"step_s"`    // length of a step; null without mains
	Lines     int         `json:"lines"`     // 1 … lines are in the sum, but for left_out
	LeftOut   []int       `json:"left_out"`  // hidden by tones
	Harmonics []int       `json:"harmonics"` // chosen, each by itself
	Steps     []TrendStep `json:"steps"`
	Spans     []TrendSpan `json:"spans"`
	Loudest   int         `json:"loudest"` // index in spans of the strongest in which hum stands still; -1: none
}

// TrendStep is one step. Seconds count from the file's start.
type TrendStep struct {
	StartS Num        `json:"start_s"`
	Hum    Estimate   `json:"hum" est:"level"`
	Lines  []Estimate `json:"lines" est:"level"` // of Harmonics, in their order
}

// States of a span.
const (
	Still  = "still"  // hum stands still, long enough to be compared
	Moving = "moving" // it changes
)

// TrendSpan is a piece of a capture.
type TrendSpan struct {
	State   string     `json:"state"`
	StartS  Num        `json:"start_s"`
	EndS    Num        `json:"end_s"`
	Address string     `json:"address"`           // of what can be compared in it; empty where nothing can
	Hum     Estimate   `json:"hum" est:"level"`   // mean
	Lines   []Estimate `json:"lines" est:"level"` // of Harmonics, in their order; likewise
	// Referred is the span by the reference; null without one, and where hum changes.
	Referred *TrendReferred `json:"referred"`
}

// TrendReferred is a span in which hum stands still, by the reference.
type TrendReferred struct {
	Why      string       `json:"why"`                // code of why it has no ratio, or nothing to compare; empty: it has
	SteadyDB Num          `json:"steady_db"`          // as of a Reference
	Ratios   []TrendRatio `json:"ratios"`             // of the trend's Harmonics, or else of the strongest line; those that have one
	Added    Estimate     `json:"added" est:"pickup"` // what came since the first span that has ratios; unknown in that
}

// TrendRatio is a line's ratio in a span.
type TrendRatio struct {
	Harmonic int `json:"harmonic"`
	Ratio
}

// FirstReferred is the index of the first span that has ratios, to which the others are
// compared; -1 where there is none.
func (c TrendCapture) FirstReferred() int {
	return slices.IndexFunc(c.Spans, func(x TrendSpan) bool { return x.Referred != nil && x.Referred.Why == "" })
}
