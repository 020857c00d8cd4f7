// Package model holds what is known: captures, pairs of them and what changed,
// sessions, and what was asked for. It takes nothing in and puts nothing out: its
// values are plain, hold no text made for readers, and know nothing of files or
// output. Whatever is printed, drawn or judged is a function of them.
package model

import (
	"fmt"
	"slices"

	"humdiff/fft/estimate"
	"humdiff/fft/note"
)

// Estimate is a number with its doubt.
type Estimate = estimate.Estimate

// Note is a code with named arguments.
type Note = note.Note

// Schemas. One rises whenever keys of its kind come, go or change their meaning: an older
// result can't be compared key by key then.
const (
	CompareSchema   = "humdiff/compare/4"
	MeasureSchema   = "humdiff/measure/4"
	CheckSchema     = "humdiff/check/3"
	TrendSchema     = "humdiff/trend/3"
	SessionSchema   = "humdiff/session/4"
	CouplingSchema  = "humdiff/coupling/4"
	PassportSchema  = "humdiff/passport/3"
	AgreementSchema = "humdiff/agreement/2"
	PlanSchema      = "humdiff/plan/2"
	VerifySchema    = "humdiff/verify/2"
	BundleSchema    = "humdiff/bundle/2"
)

// Head is what every result begins with.
type Head struct {
	Schema      string     `json:"schema"`
	Tool        Tool       `json:"tool"`
	Fingerprint string     `json:"fingerprint" seal:"-"` // of captures, settings and result, this key left out
	MayPublish  MayPublish `json:"may_publish"`
}

// Tool names the program that made a result.
type Tool struct {
	Version string `json:"version" seal:"-"`
}

// States of MayPublish.
const (
	Ready  = "ready"
	OnlyAs = "only_as"
	NotYet = "not_yet"
)

// MayPublish says whether a result can be printed as it stands. Why are reasons,
// and for NotYet what to record next; their sentences, and the caption, are made
// in package doc.
type MayPublish struct {
	State string `json:"state"`
	Why   []Note `json:"why"`
}

// Compare is the result of comparing a quiet with a near capture.
type Compare struct {
	Head
	Settings Settings  `json:"settings"`
	Pairs    []Pair    `json:"pairs"`
	Warnings []Warning `json:"warnings"`
}

// Measure is the result of measuring captures one by one.
type Measure struct {
	Head
	Settings Settings  `json:"settings"`
	Captures []Capture `json:"captures"`
	Warnings []Warning `json:"warnings"`
}

// Warning is a note with where it arose.
type Warning struct {
	Note
	File    string `json:"file"`    // empty: concerns all
	Channel int    `json:"channel"` // 0: concerns the file
}

// Once is warnings in the order in which they arise, each once; never nil.
func Once(lists ...[]Warning) []Warning {
	said, seen := []Warning{}, map[string]bool{}
	for _, w := range slices.Concat(lists...) {
		if key := fmt.Sprintf("%q %d %v", w.File, w.Channel, w.Note); !seen[key] { // numbers that aren't there never equal themselves
			seen[key] = true
			said = append(said, w)
		}
	}
	return said
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
	Weighting       string  `json:"weighting"`         // "468": the whole signal was also read by the meter of ITU-R BS.468-4; empty: it wasn't
	Reference       int     `json:"reference"`         // channel that records the field; 0: none

	Asked  Asked   `json:"asked"`      // what was said of volts, from which the scales were worked out
	Scales []Scale `json:"scales"`     // what volts stand on: one for all, or quiet's and near's; empty: unknown
	Step   Step    `json:"scale_step"` // from quiet's scale to near's
}

// Top is the head of a result, as all results have one.
func (h *Head) Top() *Head { return h }

// Asked is what was said of volts, in the words it was given in; all empty:
// nothing. Of a session its bench says it.
type Asked struct {
	FullScale   string   `json:"full_scale"`  // such as "2.0V ±1%"
	Gain        string   `json:"gain"`        // such as "40dB"
	Calibration []string `json:"calibration"` // such as "tone.wav=1.0V ±0.5% at 1kHz"
	Channel     int      `json:"channel"`     // of calibrations that name none; 0: they have one
	Quiet       AskedOwn `json:"quiet"`
	Near        AskedOwn `json:"near"`
}

// AskedOwn is what was said of one capture's volts alone.
type AskedOwn struct {
	Gain        string   `json:"gain"`
	Calibration []string `json:"calibration"`
}
