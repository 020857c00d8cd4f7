package judge

import (
	"humdiff/report/model"
)

// Reasons why a result may be printed only as what it is, or not yet, that no warning
// gives.
const (
	RelativeLevels = "relative_levels" // no volts
	NothingFound   = "no_hum_found"    // limits alone
	NoLimits       = "no_limits"       // nor is there a limit
	ChangeOpen     = "change_open"     // db: hum was found on one side, and may have gone either way by as much
	NothingHeld    = "nothing_compared"
	BenchHolds     = "bench_upheld"   // the bench changed, by the session's own runs
	VoltageHolds   = "voltage_upheld" // the unplugged lead does as much
	SelectionHolds = "selection_upheld"
	RunsFailed     = "runs_failed"   // count, runs
	MainsOfRuns    = "mains_of_runs" // some runs are of 50 Hz, others of 60: hz and runs of the fewer
)

// What to record next.
const (
	NextLowerGain   = "next_lower_gain"   // record again at a lower gain
	NextSignal      = "next_signal"       // find out why nothing was recorded
	NextUnprocessed = "next_unprocessed"  // record without gate, automatic gain, volume control
	NextUnbroken    = "next_unbroken"     // record again without lost samples
	NextStateMains  = "next_state_mains"  // say which mains it is, or record with one alone
	NextOneMains    = "next_one_mains"    // record both on one mains
	NextTwoRuns     = "next_two_runs"     // record quiet and near, each by itself
	NextOneGain     = "next_one_gain"     // record both again at one gain
	NextPairByHand  = "next_pair_by_hand" // say which channels belong together
	NextTrueRate    = "next_true_rate"    // give the files the rate they were recorded at
	NextLonger      = "next_longer"       // record longer, or nearer
	NextConfirm     = "next_confirm"      // confirm what was guessed
	NextMeasure     = "next_measure"      // mend or leave out the runs that failed
	NextRuns        = "next_runs"         // record near runs with quiet ones around them
	NextSteady      = "next_steady"       // record on a bench that doesn't change
	NextDeliver     = "next_deliver"      // an exposure that raises the positive control
	NextNoLead      = "next_no_lead"      // find out what the unplugged lead does
	NextUseAll      = "next_use_all"      // use the runs that were left out, or record them again
)

// rule is what a code means for print: a state, and for NotYet what to record next.
type rule struct{ state, next string }

// rules is every code that stands in the way of print, be it a warning's, a finding's or
// the gate's. What isn't here doesn't.
var rules = map[string]rule{
	"clipped":           {model.NotYet, NextLowerGain},
	"flat_tops":         {model.NotYet, NextLowerGain},
	"silent":            {model.NotYet, NextSignal},
	"gated":             {model.NotYet, NextUnprocessed},
	"gain_moves":        {model.NotYet, NextUnprocessed},
	"digital_zero":      {model.NotYet, NextUnbroken},
	"stuck":             {model.NotYet, NextUnbroken},
	"repeated_block":    {model.NotYet, NextUnbroken},
	"phase_jumps":       {model.NotYet, NextUnbroken},
	"mains_ambiguous":   {model.NotYet, NextStateMains},
	"mains_doubtful":    {model.NotYet, NextStateMains},
	"two_combs":         {model.NotYet, NextStateMains},
	"rate_label":        {model.NotYet, NextTrueRate},
	"copy_by_samples":   {model.NotYet, NextTwoRuns},
	"copy_by_noise":     {model.NotYet, NextTwoRuns},
	MainsDiffer:         {model.NotYet, NextOneMains},
	LinesDiffer:         {model.NotYet, NextStateMains},
	SpansOverlap:        {model.NotYet, NextTwoRuns},
	model.SameRecording: {model.NotYet, NextTwoRuns},
	model.GainChanged:   {model.NotYet, NextOneGain},
	ChannelsSwapped:     {model.NotYet, NextPairByHand},
	ChangeOpen:          {model.NotYet, NextLonger},
	NothingHeld:         {model.NotYet, NextRuns},
	NoLimits:            {model.NotYet, NextStateMains},
	GateOtherComb:       {model.NotYet, NextStateMains},
	GateTone:            {model.NotYet, NextStateMains},
	GateSum:             {model.NotYet, NextTwoRuns},
	BenchHolds:          {model.NotYet, NextSteady},
	VoltageHolds:        {model.NotYet, NextNoLead},
	SelectionHolds:      {model.NotYet, NextUseAll},
	RunsFailed:          {model.NotYet, NextMeasure},
	MainsOfRuns:         {model.NotYet, NextOneMains},
	model.Guessed:       {model.NotYet, NextConfirm},
	model.WitnessDidNot: {model.NotYet, NextDeliver},
	model.DeadAsHigh:    {model.NotYet, NextNoLead},

	"mains_far_off":      {model.OnlyAs, ""},
	"mains_steady":       {model.OnlyAs, ""},
	model.PerhapsCopy:    {model.OnlyAs, ""},
	"rate_label_perhaps": {model.OnlyAs, ""},
	"other_cable":        {model.OnlyAs, ""},
	"band_cut":           {model.OnlyAs, ""},
	"track_broken":       {model.OnlyAs, ""},
	"hum_fades":          {model.OnlyAs, ""},
	"undithered":         {model.OnlyAs, ""},
	"few_codes":          {model.OnlyAs, ""},
	"floor_of_rounding":  {model.OnlyAs, ""},
	RatesDiffer:          {model.OnlyAs, ""},
	BitsDiffer:           {model.OnlyAs, ""},
	FormatsDiffer:        {model.OnlyAs, ""},
	ChannelsDiffer:       {model.OnlyAs, ""},
	MainsMoved:           {model.OnlyAs, ""},
	NearBelowQuiet:       {model.OnlyAs, ""},
	model.NoiseDiffers:   {model.OnlyAs, ""},
	ResidualHum:          {model.OnlyAs, ""},
	CalibrationDiffer:    {model.OnlyAs, ""},
	model.OnePlacement:   {model.OnlyAs, ""},
	RelativeLevels:       {model.OnlyAs, ""},
	NothingFound:         {model.OnlyAs, ""},
	model.NoDifference:   {model.OnlyAs, ""},
	GateLeftOut:          {model.OnlyAs, ""},
	GateHarmonic:         {model.OnlyAs, ""},
	GateLine:             {model.OnlyAs, ""},
}
