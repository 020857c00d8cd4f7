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
	benchHolds     = "bench_upheld"   // the bench changed, by the session's own runs
	voltageHolds   = "voltage_upheld" // the unplugged lead does as much
	selectionHolds = "selection_upheld"
	RunsFailed     = "runs_failed"   // count, runs
	MainsOfRuns    = "mains_of_runs" // some runs are of 50 Hz, others of 60: hz and runs of the fewer
)

// What to record next.
const (
	NextLowerGain   = "next_lower_gain"   // record again at a lower gain
	nextSignal      = "next_signal"       // find out why nothing was recorded
	nextUnprocessed = "next_unprocessed"  // record without gate, automatic gain, volume control
	nextUnbroken    = "next_unbroken"     // record again without lost samples
	NextStateMains  = "next_state_mains"  // say which mains it is, or record with one alone
	NextOneMains    = "next_one_mains"    // record both on one mains
	NextTwoRuns     = "next_two_runs"     // record quiet and near, each by itself
	NextOneGain     = "next_one_gain"     // record both again at one gain
	nextPairByHand  = "next_pair_by_hand" // say which channels belong together
	nextTrueRate    = "next_true_rate"    // give the files the rate they were recorded at
	NextLonger      = "next_longer"       // record longer, or nearer
	NextConfirm     = "next_confirm"      // confirm what was guessed
	NextMeasure     = "next_measure"      // mend or leave out the runs that failed
	NextRuns        = "next_runs"         // record near runs with quiet ones around them
	nextSteady      = "next_steady"       // record on a bench that doesn't change
	nextDeliver     = "next_deliver"      // an exposure that raises the positive control
	nextNoLead      = "next_no_lead"      // find out what the unplugged lead does
	nextReference   = "next_reference"    // put the antenna elsewhere
	nextUseAll      = "next_use_all"      // use the runs that were left out, or record them again
)

// rule is what a code means for print: a state, and for NotYet what to record next.
type rule struct{ state, next string }

// rules is every code that stands in the way of print, be it a warning's, a finding's or
// the gate's. What isn't here doesn't.
var rules = func() map[string]rule {
	all := map[string]rule{}
	for next, codes := range map[string][]string{
		NextLowerGain:   {"clipped", "flat_tops"},
		nextSignal:      {"silent"},
		nextUnprocessed: {"gated", "gain_moves"},
		nextUnbroken:    {"digital_zero", "stuck", "repeated_block", "phase_jumps"},
		NextStateMains:  {"mains_ambiguous", "mains_doubtful", "two_combs", LinesDiffer, NoLimits, GateOtherComb, GateTone},
		nextTrueRate:    {"rate_label"},
		NextTwoRuns:     {spansOverlap, model.SameRecording, GateSum},
		NextOneMains:    {MainsDiffer, MainsOfRuns},
		NextOneGain:     {model.GainChanged},
		nextPairByHand:  {channelsSwapped},
		NextLonger:      {ChangeOpen},
		NextRuns:        {NothingHeld},
		nextSteady:      {benchHolds, "bursts_kept"},
		nextNoLead:      {voltageHolds, model.DeadAsHigh},
		nextReference:   {model.ReferenceMoves},
		nextUseAll:      {selectionHolds},
		NextMeasure:     {RunsFailed},
		NextConfirm:     {model.Guessed},
		nextDeliver:     {model.WitnessDidNot},
	} {
		for _, code := range codes {
			all[code] = rule{model.NotYet, next}
		}
	}
	for _, code := range []string{
		"mains_far_off", model.PerhapsCopy, "rate_label_perhaps", "other_cable", "band_cut", "track_broken", "hum_fades",
		"undithered", "few_codes", "floor_of_rounding", RatesDiffer, BitsDiffer, formatsDiffer, ChannelsDiffer, MainsMoved,
		NearBelowQuiet, model.NoiseDiffers, residualHum, calibrationDiffer, model.OnePlacement, RelativeLevels, NothingFound,
		model.NoDifference, referenceMoved, GateLeftOut, GateHarmonic, GateLine,
	} {
		all[code] = rule{model.OnlyAs, ""}
	}
	return all
}()
