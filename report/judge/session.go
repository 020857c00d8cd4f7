package judge

import (
	"slices"
	"time"

	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/report/model"
)

// Why a run isn't used, where the session doesn't say so itself.
const (
	UnusedClipped = "clipped" // samples, runs, first_s: as the warning
	unusedSilent  = "silent"  // nothing was recorded
)

// Session judges a session of which the sitting is stated and what was measured in
// its runs is filled in, and fills in the rest: what the repeats of each cable come
// to, which cables can be told apart, whether the claims hold, and what could still
// explain it all. Judged again it is the same. All runs have to be measured with the
// same settings.
func Session(s model.Session) model.Session {
	s.Passport = numbersAgain(s.Bench, s.Passport)
	b := newBench(s, false)
	out := b.state()
	out.Cells = b.cells()
	out.Exposures = b.exposures()
	out.Rankings = b.rankings()
	out.Findings = b.findings()
	out.Mechanisms = b.mechanisms()
	out.Audible = b.audible()
	out.Claims = b.claims()
	out.Objections = b.objections(out)
	out.Warnings = append([]model.Warning{}, s.Warnings...)
	out.MayPublish = mayPublishSession(out)
	return out
}

// bench is a session's runs in the order in which they were made, with all that is
// worked out once.
type bench struct {
	model.Session        // as stated
	runs          []*run // as listed
	order         []*run // as made
	set           mains.Set
	levels        map[levelOf]model.Estimate
	known         map[model.Quantity][]*cell
	moved         map[model.Quantity][]move
}

// run is one run with its place in the order in which they were made.
type run struct {
	*model.Run
	at int
}

// newBench is a session's; with all, what the user or a clipped sample leaves out is
// used as well.
func newBench(s model.Session, all bool) *bench {
	b := &bench{Session: s, levels: map[levelOf]model.Estimate{}, known: map[model.Quantity][]*cell{}, moved: map[model.Quantity][]move{}}
	b.Runs = slices.Clone(s.Runs)
	for i := range b.Runs {
		r := &b.Runs[i]
		r.Number = i + 1
		use(r, all)
		b.runs = append(b.runs, &run{Run: r})
	}
	b.sort()
	b.set = b.common()
	return b
}

// use says of a run whether it can be used, or why not.
func use(r *model.Run, all bool) {
	why := r.Unused
	r.Used, r.Failed, r.Unused = false, false, note.Note{}
	switch {
	case r.LeftOut != "" && !all:
	case r.Capture == nil:
		if r.Failed, r.Unused = true, why; why.Code == "" {
			r.Unused = note.New(model.NotMeasured)
		}
	case r.Capture.Health.Silent:
		r.Unused = note.New(unusedSilent)
	case r.Capture.Health.Clipped > 0 && !all:
		h := r.Capture.Health
		r.Unused = say(UnusedClipped, "samples", h.Clipped, "runs", h.ClippedRuns.Count, "first_s", h.ClippedRuns.FirstS.Float())
	default:
		r.Used = true
	}
}

// sort puts the runs in the order in which they were made: by their start times where
// all that are used have one, else as listed. A list made from file names says nothing
// of the order until somebody has confirmed it.
func (b *bench) sort() {
	b.ByTime, b.OrderUnknown = true, false
	for _, r := range b.runs {
		b.ByTime = b.ByTime && (!r.Used || !r.Start.IsZero())
		b.OrderUnknown = b.OrderUnknown || r.Used && r.Start.IsZero() && r.startGuessed()
	}
	b.OrderUnknown = b.OrderUnknown && !b.ByTime
	b.order = slices.Clone(b.runs)
	if b.ByTime {
		slices.SortStableFunc(b.order, func(x, y *run) int { return x.Start.Compare(y.Start) })
	}
	for at, r := range b.order {
		r.at = at
	}
}

// startGuessed says that nobody has confirmed when a run was made.
func (r *run) startGuessed() bool { return slices.Contains(r.Guessed, model.StartKey) }

// first is when the first run began; zero where unknown, or not confirmed.
func (b *bench) first() (t time.Time) {
	for _, r := range b.runs {
		if r.startGuessed() {
			return time.Time{}
		}
		if !r.Start.IsZero() && (t.IsZero() || r.Start.Before(t)) {
			t = r.Start
		}
	}
	return t
}

// common is the one set of lines that all totals of the session are over: those that
// every capture has and that no tone hides in any. A capture without lines has no
// total.
func (b *bench) common() mains.Set {
	var all []*model.Capture
	for _, r := range b.each(func(r *run) bool { return len(r.Capture.Lines) > 0 }) {
		all = append(all, r.Capture)
	}
	set, _ := common(all...)
	return set
}

// each lists the used runs for which a question is answered with yes, as made.
func (b *bench) each(want func(*run) bool) []*run {
	var out []*run
	for _, r := range b.order {
		if r.Used && want(r) {
			out = append(out, r)
		}
	}
	return out
}

// of are the used runs of one condition, as made.
func (b *bench) of(condition string) []*run {
	return b.each(func(r *run) bool { return r.Condition == condition })
}

// tail is what either end of an interval leaves out, alpha what both do.
func (b *bench) tail() float64  { return (1 - b.Settings.Confidence) / 2 }
func (b *bench) alpha() float64 { return 1 - b.Settings.Confidence }

// state is the session as it is stated, and nothing found out but what its runs are
// good for.
func (b *bench) state() model.Session {
	out := b.Session
	out.Lines, out.LinesWithout = b.set.Lines, append([]int{}, b.set.Without...)
	for _, r := range b.runs {
		s := &out.Runs[r.Number-1]
		s.Guessed = append([]string{}, r.Guessed...)
		s.Against = []int{}
		if r.Used && r.WithLead() {
			s.Against = numbers(b.heldAgainst(r).quiets())
		}
		s.Capture, s.IdleCapture = Stripped(r.Capture), Stripped(r.IdleCapture)
	}
	return out
}

// Stripped is a capture without what only figures need; nil of nil.
func Stripped(c *model.Capture) *model.Capture {
	if c == nil {
		return nil
	}
	s := *c
	s.Trace, s.Cycle = model.NoTrace(), model.NoCycle()
	return &s
}

// numbers are those of some runs, each once, in ascending order.
func numbers(runs []*run) []int {
	out := make([]int, 0, len(runs))
	for _, r := range runs {
		out = append(out, r.Number)
	}
	slices.Sort(out)
	return slices.Compact(out)
}
