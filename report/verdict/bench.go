package verdict

import (
	"fmt"
	"math"
	"slices"
	"time"

	"humdiff/fft/mains"
	"humdiff/report/level"
	"humdiff/report/result"
	"humdiff/report/session"
)

// bench is a session's runs in the order in which they were made.
type bench struct {
	in     Input
	runs   []run // as listed
	order  []int // indices into runs, as made
	byTime bool
	// unordered says that not even the list's order is known to be the runs'.
	unordered bool
	set       mains.Set               // the lines of all totals
	levels    map[levelOf]mains.Level // taken already
	known     map[result.Quantity][]*cell
	moved     map[result.Quantity][]move
}

// run is one run with what was measured.
type run struct {
	session.Run
	Got    Run
	number int // from 1, as listed
	at     int // place in the order in which runs were made
	used   bool
	why    string // a code or a sentence, where it isn't used
	failed bool
}

// Why a run isn't used, where the session doesn't say so itself.
const (
	whyClipped = "clipped"
	whySilent  = "silent"
)

func newBench(in Input) *bench {
	b := &bench{in: in, levels: map[levelOf]mains.Level{}, known: map[result.Quantity][]*cell{}, moved: map[result.Quantity][]move{}}
	for i, r := range in.Session.Runs {
		x := run{Run: r, number: i + 1}
		if i < len(in.Runs) {
			x.Got = in.Runs[i]
		}
		x.used, x.why, x.failed = usable(r, x.Got)
		b.runs = append(b.runs, x)
	}
	b.sort()
	b.set = b.common()
	return b
}

// common is the one set of lines that all totals of the session are over: those
// that every capture has and that no tone hides in any. A capture without lines
// has no total.
func (b *bench) common() mains.Set {
	var all []result.Capture
	for _, r := range b.each(func(r run) bool { return len(r.Got.Capture.Lines) > 0 }) {
		all = append(all, *r.Got.Capture)
	}
	set, _ := level.Common(all...)
	return set
}

// usable says whether a run can be used, or why not.
func usable(r session.Run, m Run) (used bool, why string, failed bool) {
	switch {
	case r.LeftOut != "":
		return false, r.LeftOut, false
	case m.Capture == nil:
		return false, m.Why, true
	case m.Capture.Health.Silent:
		return false, whySilent, false
	case m.Capture.Health.Clipped > 0:
		return false, whyClipped, false
	}
	return true, "", false
}

// sort puts the runs in the order in which they were made: by their start times
// where all that are used have one, else as listed. A list made from file names
// says nothing of the order until somebody has confirmed it.
func (b *bench) sort() {
	b.byTime = true
	for i, r := range b.runs {
		b.order = append(b.order, i)
		b.byTime = b.byTime && (!r.used || !r.Start.IsZero())
		b.unordered = b.unordered || r.used && r.Start.IsZero() && r.startGuessed()
	}
	b.unordered = b.unordered && !b.byTime
	if b.byTime {
		slices.SortStableFunc(b.order, func(i, j int) int { return b.runs[i].Start.Compare(b.runs[j].Start) })
	}
	for at, i := range b.order {
		b.runs[i].at = at
	}
}

// startGuessed says that nobody has confirmed when a run was made.
func (r run) startGuessed() bool { return slices.Contains(r.Guessed, session.StartKey) }

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

// each lists the used runs for which a question is answered with yes, as made.
func (b *bench) each(want func(run) bool) []run {
	var out []run
	for _, i := range b.order {
		if r := b.runs[i]; r.used && want(r) {
			out = append(out, r)
		}
	}
	return out
}

// levelOf names a level: a run's, or its idle channel's.
type levelOf struct {
	run  int
	idle bool
	of   result.Quantity
}

// level is the hum of a run, NaN where it has none.
func (b *bench) level(r run, idle bool, of result.Quantity) mains.Level {
	key := levelOf{r.number, idle, of}
	l, ok := b.levels[key]
	if !ok {
		c := r.Got.Capture
		if idle {
			c = r.Got.Idle
		}
		l = b.taken(*c, of)
		b.levels[key] = l
	}
	return l
}

func (b *bench) taken(c result.Capture, of result.Quantity) mains.Level {
	switch {
	case of.Harmonic > len(c.Lines), of.Harmonic > 0 && c.Lines[of.Harmonic-1].Hidden, len(c.Lines) < b.set.Lines:
		return nothing
	case of.Harmonic > 0:
		return level.OfLine(c.Lines[of.Harmonic-1].Line)
	case of.AWeighted:
		return level.Total(c, level.AWeighted(b.set))
	}
	return level.Total(c, b.set)
}

// where is the place a run belongs to.
func where(r session.Run) result.Where {
	return result.Where{Termination: termination(r.Termination), Exposure: r.Exposure, Loaded: said(r.Loaded), Bonded: said(r.Bonded)}
}

func termination(ohms float64) result.Termination {
	if math.IsInf(ohms, 1) {
		return result.Termination{Ohms: result.None, Open: true}
	}
	return result.Termination{Ohms: result.Of(ohms)}
}

func said(t session.Tri) string {
	switch t {
	case session.Yes:
		return result.Yes
	case session.No:
		return result.No
	}
	return ""
}

// sameTermination compares terminations; unknown ones are alike.
func sameTermination(a, b result.Termination) bool {
	return a.Open == b.Open && a.Ohms.Ok() == b.Ohms.Ok() && (!a.Ohms.Ok() || a.Ohms == b.Ohms)
}

func sameWhere(a, b result.Where) bool {
	return sameTermination(a.Termination, b.Termination) && a.Exposure == b.Exposure && a.Loaded == b.Loaded && a.Bonded == b.Bonded
}

// quietsOf are the quiet runs that belong to a run: of its cable, with the same
// termination and bond, for its exposure or for all.
func (b *bench) quietsOf(r run) []run {
	return b.each(func(q run) bool { return q.Condition == session.Quiet && b.sameBench(q, r) })
}

// quietsAround are those just before and after a run.
func (b *bench) quietsAround(r run) (before, after *run) {
	for _, q := range b.quietsOf(r) {
		if q.at < r.at {
			before = &q
		} else if after == nil {
			after = &q
		}
	}
	return before, after
}

// sameBench says that two runs differ in the lead alone.
func (b *bench) sameBench(q, r run) bool {
	return q.Cable == r.Cable && sameTermination(termination(q.Termination), termination(r.Termination)) &&
		(q.Exposure == "" || r.Exposure == "" || q.Exposure == r.Exposure) &&
		(q.Bonded == r.Bonded || q.Bonded == session.Unstated || r.Bonded == session.Unstated)
}

func numbers(runs []run) []int {
	out := make([]int, 0, len(runs))
	for _, r := range runs {
		out = append(out, r.number)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// state is the session as it is stated, before it is judged.
func (b *bench) state() result.Session {
	s := b.in.Session
	out := result.Session{
		Schema: result.SessionSchema, Tool: result.Tool{Version: b.in.Version}, Settings: b.in.Settings,
		File: s.Path, Title: s.Title, Blind: b.in.Blind, Bench: stateBench(s.Bench, b.in.Photos),
		Witness: s.Roles.Witness, Idle: s.Roles.Idle, ByTime: b.byTime, OrderUnknown: b.unordered,
		Lines: b.set.Lines, LinesWithout: append([]int{}, b.set.Without...), Runs: []result.SessionRun{},
	}
	for _, r := range b.runs {
		out.Runs = append(out.Runs, b.stateRun(r))
	}
	return out
}

func stateBench(s session.Bench, photos []result.Photo) result.Bench {
	return result.Bench{
		MainsVolts: result.Of(s.MainsVolts), MainsHz: mainsHz(s.MainsHz), FullScale: s.FullScale, Gain: s.Gain,
		Calibration: append([]string{}, s.Calibration...), InputOhms: result.Of(s.InputOhms), InputFarads: result.Of(s.InputFarads),
		Balanced: said(s.Balanced), SpacingMM: result.Of(s.SpacingMM), ParallelMM: result.Of(s.ParallelMM), Notes: s.Notes,
		Photos: append([]result.Photo{}, photos...),
	}
}

func mainsHz(hz float64) result.Num {
	if hz == 0 {
		return result.None
	}
	return result.Of(hz)
}

func (b *bench) stateRun(r run) result.SessionRun {
	w := where(r.Run)
	against := []int{}
	if r.used && (r.Condition == session.Near || r.Condition == session.Dead) {
		against = numbers(b.heldAgainst(r).quiets())
	}
	return result.SessionRun{
		Number: r.number, Line: r.Line, Cable: r.Cable, Termination: w.Termination, Exposure: r.Exposure,
		Condition: string(r.Condition), Repeat: r.Repeat, Replaced: r.Replaced, Plug: r.Plug, Loaded: w.Loaded,
		LoadAmps: result.Of(r.LoadAmps), Bonded: w.Bonded, Address: address(r.Run), Measured: r.Measured, Start: instant(r.Start),
		Note: r.Note, Guessed: append([]string{}, r.Guessed...), Used: r.used, LeftOut: r.why, Failed: r.failed, Against: against,
		Capture: Stripped(r.Got.Capture), IdleCapture: Stripped(r.Got.Idle),
	}
}

func address(r session.Run) string {
	if r.Measured != "" && r.Address.Path == "" {
		return ""
	}
	return fmt.Sprint(r.Address)
}

func instant(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339Nano)
}

// Stripped is a capture without what only figures need, as a session's result
// holds it; nil of nil.
func Stripped(c *result.Capture) *result.Capture {
	if c == nil {
		return nil
	}
	s := *c
	s.Trace = result.Trace{BinHz: result.None, ENBWHz: result.None, Seconds: result.None, Hz: []result.Num{}, LoDBFS: []result.Num{}, HiDBFS: []result.Num{}}
	s.Cycle = result.Cycle{Hz: result.None, Crest: result.None, Samples: []result.Num{}}
	return &s
}
