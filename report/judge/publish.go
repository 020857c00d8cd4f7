package judge

import (
	"slices"

	"humdiff/fft/estimate"
	"humdiff/fft/note"
	"humdiff/report/model"
)

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
	case d.Known(), d.Why() == whyOne: // that is a warning
	case d.Why() == WhyNotFound:
		p.because(NothingFound)
	case nothingKnown(of.Quiet, of.Hum.Quiet) && nothingKnown(of.Near, of.Hum.Near):
		p.because(NoLimits)
	default:
		p.because(NothingHeld)
	}
}

// nothingKnown says that neither hum nor a limit came of a capture that has a signal.
func nothingKnown(c model.Capture, hum model.Estimate) bool {
	return !c.Health.Silent && !c.Mains.Detected && !hum.Known()
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

// mayPublishSession says so of a session that was judged. Warnings count of captures
// that are used.
func mayPublishSession(s model.Session) model.MayPublish {
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
