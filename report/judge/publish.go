package judge

import (
	"slices"

	"humdiff/fft/estimate"
	"humdiff/fft/note"
	"humdiff/report/model"
)

// Reasons why a result may be printed only as what it is, or not yet, that no warning
// gives.
const (
	RelativeLevels = "relative_levels" // no volts
	NothingFound   = "no_hum_found"    // limits alone
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
	SameRecording:       {model.NotYet, NextTwoRuns},
	model.GainChanged:   {model.NotYet, NextOneGain},
	ChannelsSwapped:     {model.NotYet, NextPairByHand},
	ChangeOpen:          {model.NotYet, NextLonger},
	NothingHeld:         {model.NotYet, NextRuns},
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
	"perhaps_copy":       {model.OnlyAs, ""},
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
	GateLeftOut:          {model.OnlyAs, ""},
	GateHarmonic:         {model.OnlyAs, ""},
	GateLine:             {model.OnlyAs, ""},
}

// printing gathers reasons; what to record next comes behind them.
type printing struct {
	stated          bool // somebody has said which mains it is
	only, not, next []note.Note
}

func printingOf(set model.Settings) *printing {
	return &printing{stated: set.Mains == "50" || set.Mains == "60"}
}

// add takes a note's rule, each code once. A doubt of which mains it is, where somebody
// has said it, is to be printed with the result.
func (p *printing) add(notes ...note.Note) {
	for _, n := range notes {
		switch r := rules[n.Code]; {
		case r.state == model.OnlyAs, p.stated && r.next == NextStateMains:
			p.only = once(p.only, n)
		case r.state == model.NotYet:
			p.not, p.next = once(p.not, n), once(p.next, say(r.next))
		}
	}
}

func (p *printing) because(code string, args ...any) { p.add(note.New(code, there(args)...)) }

func once(list []note.Note, n note.Note) []note.Note {
	if slices.ContainsFunc(list, func(x note.Note) bool { return x.Code == n.Code }) {
		return list
	}
	return append(list, n)
}

func (p *printing) verdict() model.MayPublish {
	switch {
	case len(p.not) > 0:
		return model.MayPublish{State: model.NotYet, Why: append(p.not, p.next...)}
	case len(p.only) > 0:
		return model.MayPublish{State: model.OnlyAs, Why: p.only}
	}
	return model.MayPublish{State: model.Ready, Why: []note.Note{}}
}

// scale asks whether volts are known.
func (p *printing) scale(set model.Settings) {
	if !set.Volts() && !set.FullScaleVolts.Ok() {
		p.because(RelativeLevels)
	}
}

// MayPublishCompare says whether a comparison can be printed as it stands. Warnings count of
// quiet and near, not of the residual.
func MayPublishCompare(c model.Compare) model.MayPublish {
	p := printingOf(c.Settings)
	if len(c.Pairs) == 0 {
		p.because(NothingHeld)
	}
	for _, w := range c.Warnings {
		if w.File == "" || slices.ContainsFunc(c.Pairs, func(x model.Pair) bool { return concerns(w, x.Quiet.Side) || concerns(w, x.Near.Side) }) {
			p.add(w.Note)
		}
	}
	for _, pair := range c.Pairs {
		p.add(Gate(pair)...)
		p.change(pair)
	}
	p.because(model.OnePlacement)
	p.scale(c.Settings)
	return p.verdict()
}

// change is what a pair's delta leaves open.
func (p *printing) change(of model.Pair) {
	d := of.Hum.Delta
	lo, _ := d.Lower()
	hi, _ := d.Upper()
	switch {
	case d.State() == estimate.AtLeast && lo < 0:
		p.because(ChangeOpen, "db", -lo)
	case d.State() == estimate.AtMost && hi > 0:
		p.because(ChangeOpen, "db", hi)
	case d.Known():
	case d.Why() == WhyNotFound:
		p.because(NothingFound)
	default:
		p.because(NothingHeld)
	}
}

// MayPublishMeasure says so of captures measured one by one.
func MayPublishMeasure(m model.Measure) model.MayPublish {
	p := printingOf(m.Settings)
	for _, w := range m.Warnings {
		p.add(w.Note)
	}
	p.scale(m.Settings)
	return p.verdict()
}

// MayPublishTrend says so of channels followed step by step.
func MayPublishTrend(t model.Trend) model.MayPublish {
	return MayPublishMeasure(model.Measure{Settings: t.Settings, Warnings: t.Warnings})
}

// MayPublishSession says so of a session that was judged. Warnings count of captures
// that are used.
func MayPublishSession(s model.Session) model.MayPublish {
	p := printingOf(s.Settings)
	for _, w := range s.Warnings {
		if w.File == "" || slices.ContainsFunc(s.Runs, func(r model.Run) bool { return r.Used && concerns(w, r.Capture.Side) }) {
			p.add(w.Note)
		}
	}
	if len(s.Cells) == 0 {
		p.because(NothingHeld)
	}
	p.runs(s.Runs)
	for _, f := range s.Findings {
		if f.Code == model.GainChanged {
			f.Code = model.NoiseDiffers // that is what it was read off
		}
		p.add(f.Note)
	}
	for _, o := range s.Objections {
		if o.State == model.Upheld {
			p.because(o.Code + "_upheld")
		}
	}
	p.scale(s.Settings)
	return p.verdict()
}

func concerns(w model.Warning, side model.Side) bool {
	return w.File == side.File && (w.Channel == 0 || w.Channel == side.Channel)
}

// runs asks whether all could be measured, and on one mains.
func (p *printing) runs(all []model.Run) {
	var failed, of50, of60 []int
	for _, r := range all {
		switch {
		case r.Failed:
			failed = append(failed, r.Number)
		case r.Used && r.Capture.Mains.NominalHz == 50:
			of50 = append(of50, r.Number)
		case r.Used && r.Capture.Mains.NominalHz == 60:
			of60 = append(of60, r.Number)
		}
	}
	if len(failed) > 0 {
		p.because(RunsFailed, "count", len(failed), "runs", failed)
	}
	switch {
	case len(of50) == 0 || len(of60) == 0:
	case len(of60) < len(of50):
		p.because(MainsOfRuns, "hz", 60, "runs", of60)
	default:
		p.because(MainsOfRuns, "hz", 50, "runs", of50)
	}
}
